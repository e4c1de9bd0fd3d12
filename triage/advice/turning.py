"""What to look out for, and what would turn the advice, in words."""

from __future__ import annotations

import datetime as dt

from triage.advice import tables
from triage.advice.change import (
    Matter,
    clean_users,
    first_days,
    flips_together,
    trouble_users,
    unsure_flips,
)
from triage.advice.finding import Finding
from triage.advice.tell import day_text, plural
from triage.domain.advice import Change, Verdict
from triage.domain.kinds import MEANING


def watch_for(subject: Finding) -> tuple[str, ...]:
    """What holds the release back, to be looked for in reports."""
    if subject.verdict is Verdict.UPDATE or subject.blocking:
        return ()
    case, ruling = subject.case, subject.ruling
    found = []
    for at, function in enumerate(tables.functions()):
        columns = [k for k in (2 * at, 2 * at + 1) if ruling.risks.present[0, k]]
        if columns and max(ruling.risks.level[0, k] for k in columns) >= 1:
            worst = min(int(case.severity[k]) for k in columns)
            found.append((worst, f"{function.name}: {function.outcome}"))
    return tuple(text for _, text in sorted(found, key=lambda pair: pair[0]))


def changes(subject: Finding, today: dt.date) -> tuple[Change, ...]:
    """The smallest changes of days, looks or needs that turn the advice."""
    matter = subject.matter
    if subject.verdict is Verdict.UPDATE:
        found = trouble_users(matter)
        if found is None:
            return ()
        users, at = found
        name = tables.functions()[at].name
        text = f"trouble reported by {plural(users, 'user')} in {name} would turn this to waiting"
        return (Change(kind="looks", text=text),)
    turns = []
    by_days = subject.wait_days
    if by_days:
        day = day_text(today + dt.timedelta(days=by_days))
        text = f"by itself on {day}, if no trouble comes to notice until then"
        turns.append(Change(kind="days", text=text))
    most = float(tables.priors().search.users)
    sooner, _ = first_days(matter, more_clean=most)
    if sooner is not None and (by_days is None or sooner < by_days):
        more = clean_users(matter, sooner)
        when = "today" if not sooner else f"on {day_text(today + dt.timedelta(days=sooner))}"
        if more is not None:
            clean = plural(more, "more clean user")
            turns.append(Change(kind="looks", text=f"{when} already, with {clean} on it"))
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
        doubtful = [s for s in matter.case.stakes if s.item.unsure]
        text = f"if none of {plural(len(doubtful), 'unsure item')} bears on flight or compatibility"
        return (Change(kind="items", text=text, pointers=tuple(s.pointer for s in doubtful)),)
    return tuple(
        Change(
            kind="item",
            text=(
                f"item {matter.case.stakes[flip.row].item.item.ref}: if it "
                f"{'is' if flip.settled else 'is not'} {flip.kind.value} ({MEANING[flip.kind]})"
            ),
            pointers=(matter.case.stakes[flip.row].pointer,),
        )
        for flip in flips
    )
