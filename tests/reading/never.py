"""What must never be misread: small documents by a writer who had not seen the code, and checks."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

from triage.domain.notes import Notes, NoticeKind, Release
from triage.reference.coarse import coarse
from triage.training.facts_fit import same_version

DATA = Path(__file__).resolve().parent.parent / "data" / "reading" / "never.jsonl"
_MOST, _SOME = 0.6, 0.1  # of the letters not understood
_FUZZY = 1  # statements of a list that may be read as something else


class Case(NamedTuple):
    """One document with what must hold of its reading."""

    rule: str
    notes: str
    name: str
    expect: dict[str, Any]


def cases() -> list[Case]:
    """All documents."""
    rows = [json.loads(line) for line in DATA.read_text(encoding="utf-8").splitlines()]
    return [Case(r["rule"], r["notes"], f"notes.{r['ending']}", r["expect"]) for r in rows]


def holds(case: Case, read: Notes) -> bool:
    """Whether the reading is as it must be."""
    return _CHECKS[case.rule](read, case.expect)


def _newest(read: Notes) -> Release:
    return read.releases[0]


def _version_and_date(read: Notes, expect: dict[str, Any]) -> bool:
    for release in read.releases:
        day = release.date.day if release.date else None
        either = release.date.or_else if release.date else None
        if same_version(release.version, expect["version"]):
            days = {d.isoformat() for d in (day, either) if d}
            return expect["date"] in days if expect["date"] else not days
    return False


def _direction(read: Notes, expect: dict[str, Any]) -> bool:
    """Found as written, or at least never turned round."""
    said = {
        (coarse(n.component), n.comparison.value, n.version.lower().lstrip("v"))
        for release in read.releases
        for n in release.requirements
    }
    comparisons = {comparison for _, comparison, _ in said}
    return bool(said) and expect["comparison"] in comparisons


def _against(read: Notes, expect: dict[str, Any]) -> bool:
    found = any(
        notice.kind.against
        and (
            not notice.versions or any(same_version(v, expect["version"]) for v in notice.versions)
        )
        for release in read.releases
        if same_version(release.version, expect["version"]) or len(read.releases) == 1
        for notice in release.notices
    )
    return found == bool(expect["against"])


def _known_issues(read: Notes, expect: dict[str, Any]) -> bool:
    found = sum(len(release.known_issues) for release in read.releases)
    return bool(found >= 1 and abs(found - expect["known_issues"]) <= _FUZZY)


def _deadline(read: Notes, expect: dict[str, Any]) -> bool:
    return any(
        notice.kind
        in (NoticeKind.DEADLINE, NoticeKind.OTHER, NoticeKind.GROUNDED, NoticeKind.WARNED)
        and notice.day is not None
        and expect["deadline"] in {d.isoformat() for d in (notice.day.day, notice.day.or_else) if d}
        for release in read.releases
        for notice in release.notices
    )


def _odd_day(read: Notes, expect: dict[str, Any]) -> bool:
    return bool(read.remarks) or any(release.assumed for release in read.releases)


def _list_kept(read: Notes, expect: dict[str, Any]) -> bool:
    found = sum(
        len(r.items) + len(r.instructions) + len(r.known_issues) + len(r.notices)
        for r in read.releases
    )
    return bool(found >= expect["items"] - _FUZZY)


def _one_release(read: Notes, expect: dict[str, Any]) -> bool:
    filled = [r for r in read.releases if r.version or r.items]
    return len(filled) == expect["releases"] and same_version(filled[0].version, expect["version"])


def _other_product(read: Notes, expect: dict[str, Any]) -> bool:
    """For the unit they name, never for the operator's aircraft."""
    component = _newest(read).component
    return component == expect["component"] or coarse(component) == coarse(expect["component"])


def _not_english(read: Notes, expect: dict[str, Any]) -> bool:
    share = read.not_understood
    wanted = expect["not_understood"]
    if wanted == "most":
        return share >= _SOME * 3
    return share < _SOME * 2 if wanted == "none" else share >= _SOME / 2


def _affected(read: Notes, expect: dict[str, Any]) -> bool:
    said = " ".join(
        v
        for release in read.releases
        for versions in (
            *(i.versions for i in release.items),
            *(k.versions for k in release.known_issues),
            *(n.versions for n in release.notices),
        )
        for v in versions
    )
    digits = [v for text in expect["affected"] for v in text.split() if any(c.isdigit() for c in v)]
    return bool(said) and (not digits or any(v.strip("v") in said for v in digits))


_CHECKS: dict[str, Callable[[Notes, dict[str, Any]], bool]] = {
    "version-not-date": _version_and_date,
    "requirement-direction": _direction,
    "against": _against,
    "known-issues": _known_issues,
    "deadline": _deadline,
    "odd-day": _odd_day,
    "list-entry-kept": _list_kept,
    "one-release": _one_release,
    "other-product": _other_product,
    "not-english": _not_english,
    "against-affected": _affected,
}
