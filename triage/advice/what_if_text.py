"""What to look out for, what waiting buys, and what would turn the advice, in words."""

from __future__ import annotations

import datetime as dt

import numpy as np

from triage.advice import reliability_growth, tables
from triage.advice.evaluation import Evaluation
from triage.advice.what_if import (
    Matter,
    clean_users,
    first_days,
    flips_together,
    trouble_users,
    unsure_flips,
)
from triage.advice.words import count_of, day_text
from triage.domain.advice import Change, Verdict, Wait
from triage.domain.kinds import MEANING

_MANY = 200  # clean users: more than that nobody gathers by hand


def watch_for(subject: Evaluation) -> tuple[str, ...]:
    """What holds the release back, to be looked for in reports."""
    if subject.verdict is Verdict.UPDATE or subject.stopped:
        return ()
    case, risks = subject.case, subject.ruling.risks
    found = []
    for at, function in enumerate(tables.functions()):
        columns = [k for k in (2 * at, 2 * at + 1) if risks.present[0, k]]
        if columns and max(risks.level[0, k] for k in columns) >= 1:
            worst = min(int(case.severity[k]) for k in columns)
            found.append((worst, f"{function.name}: {function.outcome}"))
    return tuple(text for _, text in sorted(found, key=lambda pair: pair[0]))


def waits(subject: Evaluation, today: dt.date) -> tuple[Wait, ...]:
    """The two days that a wait can aim at: the news, and the mended release.

    Days still to come only, for a release that touches flight and is not ruled out.
    """
    if subject.verdict is Verdict.UPDATE or subject.stopped or not subject.ruling.grave[0]:
        return ()
    rule = tables.priors().surfacing
    came = today - dt.timedelta(days=subject.case.out)
    days = np.array([float(rule.news_days), float(rule.mended_days)])
    news = reliability_growth.weibull(rule.news_shape, rule.news_scale, days)[0]
    mended = (
        rule.mended_ever
        * (reliability_growth.weibull(rule.mended_shape, rule.mended_scale, days)[1])
    )
    rows = (
        Wait(
            buys="the news",
            day=came + dt.timedelta(days=rule.news_days),
            text=f"where trouble leads to a fix, its first public sign has come in about "
            f"{100 * news:.0f} of 100 cases",
        ),
        Wait(
            buys="the mended release",
            day=came + dt.timedelta(days=rule.mended_days),
            text=f"about {100 * mended:.0f} of 100 releases have had a fix release by then",
        ),
    )
    return tuple(row for row in rows if row.day > today)


def changes(subject: Evaluation, today: dt.date) -> tuple[Change, ...]:
    """The smallest changes of days, reports or needs that turn the advice."""
    matter = subject.matter
    if subject.verdict is Verdict.UPDATE:
        found = trouble_users(matter)
        if found is None:
            return ()
        users, at = found
        name = tables.functions()[at].name
        text = f"trouble reported by {count_of(users, 'user')} in {name} would turn this to waiting"
        return (Change(kind="looks", text=text),)
    turns = []
    by_days = subject.wait_days
    if by_days:
        day = day_text(today + dt.timedelta(days=by_days))
        text = f"by itself on {day}, if no trouble comes to notice until then"
        turns.append(Change(kind="days", text=text))
    sooner, _ = first_days(matter, more_clean=float(_MANY))
    if sooner is not None and (by_days is None or sooner < by_days):
        more = clean_users(matter, sooner, _MANY)
        when = "today" if not sooner else f"on {day_text(today + dt.timedelta(days=sooner))}"
        if more is not None:
            clean = count_of(more, "more clean user")
            turns.append(Change(kind="looks", text=f"{when} already, with {clean} on it"))
    if subject.case.losses:
        text = "if you can say why the release is not to blame for the reported loss"
        turns.append(Change(kind="looks", text=text))
    if by_days is None and subject.within_days is not None:
        ahead = subject.within_days
        since = "today" if not ahead else f"from {day_text(today + dt.timedelta(days=ahead))} on"
        text = f"something in it that you need: {since} moving would be within your policy"
        turns.append(Change(kind="need", text=text))
    return tuple(turns)


def unsure(matter: Matter) -> tuple[Change, ...]:
    """The unsure items that turn the advice: one by one, or together where no single one does."""
    flips = unsure_flips(matter)
    if not flips and flips_together(matter):
        doubtful = [e for e in matter.case.entries if e.item.unsure]
        text = (
            f"if none of {count_of(len(doubtful), 'unsure item')} bears on flight or compatibility"
        )
        return (Change(kind="items", text=text, pointers=tuple(e.pointer for e in doubtful)),)
    return tuple(
        Change(
            kind="item",
            text=(
                f"item {matter.case.entries[flip.row].item.item.ref}: if it "
                f"{'is' if flip.settled else 'is not'} {flip.kind.value} ({MEANING[flip.kind]})"
            ),
            pointers=(matter.case.entries[flip.row].pointer,),
        )
        for flip in flips
    )
