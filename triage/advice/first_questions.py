"""What an expert asks before any arithmetic: one row a question, in the order asked."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from triage.advice import tables
from triage.advice.affected import affected
from triage.advice.ground import Ground
from triage.advice.hazards import Case
from triage.advice.items_matrix import categories, severity_held
from triage.advice.words import count_of, day_text
from triage.domain.advice import Candidate, FirstAnswer, HazardKind, Pointer
from triage.domain.notes import Notice, NoticeKind, Release, Status
from triage.domain.outcomes import Outcome
from triage.kit.versions import compare

_UNTIL = re.compile(r"\buntil\b(?:[^.;]|\.(?=\d))*", re.I)
_THIS = re.compile(r"\bthis (?:release|version|update|firmware)\b[^,;]*\binstalled\b", re.I)


class Consequence(StrEnum):
    """What the answer 'yes' does to the advice."""

    STOPS = "stops"  # never to be installed
    PRESSES = "presses"  # staying is no choice
    BINDS = "binds"  # there is a day by which it has to be done
    TELLS = "tells"  # said, and weighed where it bears on the risk


@dataclass(frozen=True)
class Facts:
    """What the questions are asked of: one candidate beside all others of its unit."""

    case: Case
    ground: Ground
    offers: tuple[Candidate, ...]
    conflicts: tuple[str, ...] = ()


Said = tuple[str, tuple[Pointer, ...]]


class Question(NamedTuple):
    """A question; `test` gives the answer in words with what it rests on, None for no."""

    id: str
    asks: str
    effect: Consequence
    test: Callable[[Facts], Said | None]
    otherwise: str


def _point(notice: Notice) -> tuple[Pointer, ...]:
    return (Pointer(ref="notice", line=notice.place.line),)


def _notices(ground: Ground) -> Iterator[tuple[Release, Notice]]:
    for release in ground.notes.notes.releases:
        for notice in release.notices:
            yield release, notice


def _against(ground: Ground, release: Release) -> Iterator[Notice]:
    """Words against a release: those that name it, and those that stand under it and name none."""
    least = tables.priors().doubt.notice
    for under, notice in _notices(ground):
        if notice.kind.against and notice.chance >= least:
            named = affected(notice.versions, release.version)
            if _ends_with(notice, under, release.version):
                continue
            if named or (under is release and not notice.versions):
                yield notice


def _ends_with(notice: Notice, under: Release, version: str) -> bool:
    """Whether a word holds only until this version is installed."""
    until = _UNTIL.search(notice.text)
    if until is None:
        return False
    if _THIS.search(until[0]) and compare(under.version, version) == 0:
        return True
    return re.search(rf"(?<![\w.]){re.escape(version)}(?![\w]|\.\d)", until[0]) is not None


def _withdrawn(facts: Facts) -> Said | None:
    release = facts.case.release
    if release.status is Status.WITHDRAWN:
        return "the maker has withdrawn it", (Pointer(ref="release", line=release.place.line),)
    for notice in _against(facts.ground, release):
        word = "has withdrawn it" if notice.kind is NoticeKind.WITHDRAWN else "warns against it"
        return f"the maker {word}: {_short(notice.text)}", _point(notice)
    return None


def _unreleased(facts: Facts) -> Said | None:
    found = facts.case.release.status is Status.UNRELEASED
    return ("it is not released yet", ()) if found else None


def _impossible(facts: Facts) -> Said | None:
    found = next((p for p in facts.case.candidate.problems if p.blocks), None)
    if found is None:
        return None
    line = () if found.line is None else (Pointer(ref="requirement", line=found.line),)
    return found.text, line


def _replaced(facts: Facts) -> Said | None:
    """A later point release of the same line that mends it, and can be had."""
    mine = facts.case.candidate
    releases = facts.ground.notes.notes.releases
    here = releases[mine.release]
    for offer in facts.offers:
        later = releases[offer.release]
        if mine.release not in offer.path[:-1] or not _same_line(here.version, later.version):
            continue
        if later.status is not Status.RELEASED or any(p.blocks for p in offer.problems):
            continue
        if next(_against(facts.ground, later), None) is not None:
            continue
        if mends := _mends(facts, offer.release, here):
            return f"{later.version} mends it and takes its place", mends
    return None


def _same_line(version: str, later: str) -> bool:
    parts, others = version.split("."), later.split(".")
    return len(others) >= 3 and parts[:2] == others[:2] and compare(version, later) == -1


def _mends(facts: Facts, release: int, before: Release) -> tuple[Pointer, ...]:
    """Fixes of a point release that bear on the one before: what it spoilt, or what spoils more
    than a picture."""
    matrix = facts.ground.matrix
    found = []
    for row, entry in enumerate(matrix.entries):
        if entry.item.release != release or not matrix.strict.fix[0, row]:
            continue
        named = affected(entry.item.item.versions, before.version)
        flight = bool(matrix.cautious.flight[0, row])
        severity = entry.severity(flight)
        if named is not False and (named or flight or (severity is not None and severity <= 3)):
            found.append(entry.pointer)
    return tuple(found)


def _installed(facts: Facts) -> Said | None:
    return installed_named(facts.ground)


def installed_named(ground: Ground) -> Said | None:
    """What the notes say against the installed version itself; None when nothing."""
    version = ground.owner.installed
    if not version:
        return None
    least = tables.priors().doubt.notice
    for under, notice in _notices(ground):
        here = compare(under.version, version) == 0 and not notice.versions
        named = here or affected(notice.versions, version) is True
        named = named and not _ends_with(notice, under, version)
        if notice.kind.against and notice.chance >= least and named:
            word = "withdrew" if notice.kind is NoticeKind.WITHDRAWN else "warns against"
            return f"the maker {word} the installed version: {_short(notice.text)}", _point(notice)
    for release in ground.notes.notes.releases:
        if release.status is Status.WITHDRAWN and compare(release.version, version) == 0:
            line = (Pointer(ref="release", line=release.place.line),)
            return "the maker withdrew the installed version", line
    return _installed_issue(ground, version)


def _installed_issue(ground: Ground, version: str) -> Said | None:
    """A grave known issue that names the installed version, or stands under it."""
    releases = ground.notes.notes.releases
    for judged in ground.notes.issues:
        if isinstance(judged.issue, Notice) or judged.issue.chance < tables.priors().needs.held:
            continue
        under = compare(releases[judged.release].version, version) == 0
        named = affected(judged.issue.versions, version)
        if not named and not (under and not judged.issue.versions):
            continue
        severity = severity_held(categories(judged.outcome, Outcome.NUISANCE)[0])
        if severity is not None and severity <= 2:
            text = f"a grave known issue of the installed version: {_short(judged.issue.text)}"
            ref = getattr(judged.issue, "ref", "") or "issue"
            return text, (Pointer(ref=ref, line=judged.issue.place.line),)
    return None


def _together(facts: Facts) -> Said | None:
    return ("; ".join(facts.conflicts), ()) if facts.conflicts else None


def deadline_of(ground: Ground) -> tuple[dt.date, Notice] | None:
    """The first day by which the maker or the law asks for an update."""
    held = tables.priors().needs.held
    found = [
        (notice.day.day, notice)
        for _, notice in _notices(ground)
        if notice.kind is NoticeKind.DEADLINE
        and notice.chance >= held
        and notice.day is not None
        and notice.day.day is not None
    ]
    return min(found, key=lambda pair: pair[0]) if found else None


def _deadline(facts: Facts) -> Said | None:
    found = deadline_of(facts.ground)
    if found is None:
        return None
    day, notice = found
    jobs = sorted(job.day for job in facts.case.kit.jobs if job.day >= facts.ground.today)
    before = [job for job in jobs if job <= day]
    after = [job for job in jobs if job > day]
    parts = [f"by {day_text(day)}: {_short(notice.text)}"]
    parts += [f"{count_of(len(before), 'job')} before it"] if before else []
    parts += [f"next job after it on {day_text(after[0])}"] if after else []
    return "; ".join(parts), _point(notice)


def _staged(facts: Facts) -> Said | None:
    for release, notice in _notices(facts.ground):
        if notice.kind is NoticeKind.STAGED and release is facts.case.release:
            return f"it may not be offered to you yet: {_short(notice.text)}", _point(notice)
    return None


def _known(facts: Facts) -> Said | None:
    known = [s for s in facts.case.stated if s.kind is HazardKind.KNOWN_ISSUE]
    if not known:
        return None
    worst = min(known, key=lambda s: severity_held(s.chances) or 5)
    text = f"{count_of(len(known), 'known issue')}, the gravest: {_short(worst.evidence)}"
    return text, tuple(p for s in known for p in s.pointers)


def _assumed(facts: Facts) -> Said | None:
    found = list(facts.case.release.assumed)
    if unread := facts.ground.notes.notes.not_understood:
        found.append(f"{100 * unread:.0f} % of the text could not be read")
    return ("; ".join(found), ()) if found else None


QUESTIONS = (
    Question(
        "withdrawn", "Is it withdrawn or warned against?", Consequence.STOPS, _withdrawn, "no"
    ),
    Question("unreleased", "Is it out?", Consequence.STOPS, _unreleased, "yes"),
    Question("possible", "Can it be installed in this kit?", Consequence.STOPS, _impossible, "yes"),
    Question("replaced", "Is there a hot fix for it?", Consequence.STOPS, _replaced, "none"),
    Question(
        "installed",
        "Is the installed version withdrawn or gravely affected?",
        Consequence.PRESSES,
        _installed,
        "not by these notes",
    ),
    Question(
        "together",
        "Do the installed versions work together today?",
        Consequence.TELLS,
        _together,
        "nothing in these notes says otherwise",
    ),
    Question("deadline", "Is there a deadline?", Consequence.BINDS, _deadline, "none is stated"),
    Question(
        "staged", "Is it offered to everyone?", Consequence.TELLS, _staged, "no limit is stated"
    ),
    Question(
        "known", "What is known to be wrong with it?", Consequence.TELLS, _known, "nothing stated"
    ),
    Question(
        "assumed",
        "Whose notes, which version, which day?",
        Consequence.TELLS,
        _assumed,
        "all as the notes state",
    ),
)
"""Every first question; a new one is a new row."""


def stops(facts: Facts) -> Said | None:
    """The first answer that rules the candidate out."""
    return _first(facts, Consequence.STOPS)


def presses(facts: Facts) -> Said | None:
    """The first answer that leaves no choice to stay."""
    return _first(facts, Consequence.PRESSES)


def _first(facts: Facts, effect: Consequence) -> Said | None:
    answers = (q.test(facts) for q in QUESTIONS if q.effect is effect)
    return next((said for said in answers if said is not None), None)


def answers(facts: Facts, deciding: Sequence[str]) -> tuple[FirstAnswer, ...]:
    """Every question with its answer; `deciding` are the ids that settle the advice."""
    found = []
    for question in QUESTIONS:
        said = question.test(facts)
        found.append(
            FirstAnswer(
                id=question.id,
                asks=question.asks,
                answer=said[0] if said else question.otherwise,
                decides=said is not None and question.id in deciding,
                pointers=said[1] if said else (),
            )
        )
    return tuple(found)


def _short(text: str, most: int = 160) -> str:
    words = " ".join(text.split())
    return words if len(words) <= most else words[: most - 3].rsplit(" ", 1)[0] + "..."
