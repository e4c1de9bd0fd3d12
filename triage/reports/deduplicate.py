"""Near-duplicate reports, counted once by the rule in report_likeness.toml.

A report joins the first group whose opening report it resembles, in the order of the record. So
one that is added never makes fewer groups, nor a group smaller.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache

from pydantic import Field

from triage.domain.base import Frozen
from triage.domain.reports import FieldReport, ReportGroup
from triage.kit.versions import compare
from triage.reference.loader import load_table


class Likeness(Frozen):
    """The rule, each figure with its reason."""

    words: float = Field(ge=0, le=100)
    words_reason: str
    days: int = Field(ge=0)
    days_reason: str
    place: float = Field(ge=0, le=100)
    place_reason: str
    wordless_reason: str


@cache
def likeness() -> Likeness:
    """The rule shipped with the package."""
    return load_table("report_likeness.toml", Likeness)


def grouped(
    reports: Iterable[FieldReport], rule: Likeness | None = None
) -> tuple[ReportGroup, ...]:
    """The reports with near-duplicates together, in the order of the record."""
    rule = rule or likeness()
    buckets: dict[tuple[str, ...], list[int]] = {}
    versions: list[str] = []
    groups: list[list[FieldReport]] = []
    reasons: list[str] = []
    for report in reports:
        version = next((v for v in versions if compare(v, report.version) == 0), report.version)
        if version not in versions:
            versions.append(version)
        key = (version, report.component, _plain(report.unit), report.seen)
        bucket = buckets.setdefault(key, [])
        for at in bucket:
            if reason := why_alike(groups[at][0], report, rule):
                groups[at].append(report)
                reasons[at] = reasons[at] or reason
                break
        else:
            bucket.append(len(groups))
            groups.append([report])
            reasons.append("")
    return tuple(
        ReportGroup(
            counted=max(group, key=lambda report: report.users), reports=tuple(group), reason=reason
        )
        for group, reason in zip(groups, reasons, strict=True)
    )


def why_alike(one: FieldReport, other: FieldReport, rule: Likeness) -> str:
    """Why two reports of one release, thing and outcome are one report, '' when they are two."""
    from rapidfuzz import fuzz

    if one.function and other.function and one.function != other.function:
        return ""
    apart = abs((one.day - other.day).days)
    here, there = _plain(one.where), _plain(other.where)
    same_place = bool(here and there) and fuzz.ratio(here, there) >= rule.place
    words, others = _plain(one.words), _plain(other.words)
    if not words and not others:
        if same_place:
            return "same place, no words"
        alone = not here and not there and apart == 0 and one.users == other.users
        return "same day and users, no place and no words" if alone else ""
    if not words or not others:
        return ""
    score = fuzz.token_sort_ratio(words, others, score_cutoff=rule.words)
    if not score or not (same_place or apart <= rule.days):
        return ""
    return f"words {score:.0f} % alike, " + ("same place" if same_place else f"{apart} days apart")


def _plain(text: str) -> str:
    return " ".join(text.casefold().split())
