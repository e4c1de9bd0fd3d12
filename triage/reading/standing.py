"""What a version line says of how far along its release is."""

from __future__ import annotations

import re

from triage.domain.notes import Status

# Keep a Changelog 1.1.0 marks a withdrawn release [YANKED]; the other words are common practice.
WITHDRAWN = re.compile(
    r"\byanked\b|\bwithdrawn\b|\bpulled\b|\brecalled\b|\bretracted\b|\bdo not (?:install|use)\b"
    r"|\btaken (?:down|back|offline)\b|\bno longer available\b|\brevoked\b|\bremoved from\b"
    r"|zurückgezogen|retirée?\b|撤回",
    re.I,
)
UNRELEASED = re.compile(r"\bunreleased\b|\bupcoming\b|\bnot (?:yet )?released\b", re.I)
# A stage counts behind a version or in brackets: 'Beta 75' and 'Alpha One' may be products.
_STAGES = (
    (Status.ALPHA, re.compile(r"[-._ ]?alpha", re.I)),
    (Status.CANDIDATE, re.compile(r"[-._ ]?(?:rc|release candidate)(?![a-z])", re.I)),
    (
        Status.BETA,
        re.compile(
            r"[-._ ]?(?:beta|preview|pre-?release|nightly|snapshot|dev\b|test(?:ing)?\b"
            r"|early access)",
            re.I,
        ),
    ),
)
_IN_BRACKETS = re.compile(r"[(\[]([^)\]]{1,40})[)\]]")
_STATED = re.compile(
    r"\b(?:public|open|closed) (?:beta|test|preview)\b|\bpre-?release\b|\bfor testers\b"
    r"|\btest build\b|\bnightly\b|\brelease candidate\b"
    r"|\bbeta (?:version|firmware|release|channel|build|programme?)\b",
    re.I,
)


def status_of(line: str, version: str) -> Status:
    """The status by a version line and the version in it."""
    at = line.lower().find(version.lower()) if version else -1
    tail = line[at + len(version) : at + len(version) + 16] if at >= 0 else ""
    if WITHDRAWN.search(line):
        return Status.WITHDRAWN
    if UNRELEASED.search(line):
        return Status.UNRELEASED
    for status, stage in _STAGES:
        if stage.search(version) or stage.match(tail):
            return status
        if any(stage.match(inside) for inside in _IN_BRACKETS.findall(line)):
            return status
    return Status.BETA if _STATED.search(line) else Status.RELEASED
