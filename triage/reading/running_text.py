"""Version and day of a release out of running text, where no version line gives them."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from triage.domain.notes import Role, Status
from triage.reading.assembly import Draft, Named, Stated

if TYPE_CHECKING:
    from triage.reading.tools import Read

_NAMED = re.compile(
    r"(?:\b(?:versions?|release|firmware|software|update|build|fw|sw|package|install(?:ed)?|v)\b\W{0,3})\Z",
    re.I,
)
_NOT_FOR = frozenset((Role.USER, Role.REQUIREMENT, Role.DUPLICATE))
_HEAD = 6  # statements at the top, where a bare version is the release's
_SPOKEN = ("release", "named")
_ASSUMED_UNIT = Named("", "")


def from_running_text(draft: Draft, found: Read) -> None:
    """Fill in what the draft lacks; it is marked as taken for granted."""
    if not draft.stated and draft.status is not Status.UNRELEASED:
        version = _version(draft, found)
        if version:
            draft.stated.append(
                Stated(version, _ASSUMED_UNIT, (-1, 0, 0), whole=False, line=1, statement=0)
            )
            draft.assumed.append(f"the version {version} is taken from running text")
    if draft.date is None and draft.version:
        own = set(draft.members)
        for number, facts in enumerate(found.facts):
            if own and number > max(own):
                break
            day = next((d.day for d, part, _ in facts.days if part == "release"), None)
            if day is not None and (not own or number >= draft.first):
                draft.date = day
                break


def _version(draft: Draft, found: Read) -> str:
    """The first version spoken of as a release's, else behind a word for one, else near the top."""
    second = third = ""
    for number, (statement, facts) in enumerate(zip(found.statements, found.facts, strict=True)):
        if statement.role in _NOT_FOR:
            continue
        for candidate, part, _ in facts.versions:
            dotted = "." in candidate.words.strip(".")
            if part in _SPOKEN and dotted:
                return candidate.words
            if not third and dotted and number < _HEAD and part not in ("required", "affected"):
                third = candidate.words
            if not second and dotted and _NAMED.search(statement.text[: candidate.start]):
                second = candidate.words
    return second or third
