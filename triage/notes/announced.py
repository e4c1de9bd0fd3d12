"""Notes written as a letter: the release is announced in a sentence instead of a header."""

from __future__ import annotations

import re

from triage.notes.dates import find_dates
from triage.notes.drafts import ReleaseDraft
from triage.notes.headers import Header, status_of
from triage.notes.units import component_mentions
from triage.notes.versions import versions_in

_NEWS = re.compile(
    r"\b(?:is out|(?:is )?(?:now )?available|has been released|(?:is|was) released|announc\w+"
    r"|releasing|we (?:have )?released|introduc\w+|rolling out|welcome to)\b",
    re.I,
)
_FIRST_ITEMS = 3  # an announcement stands at the beginning


def announce(release: ReleaseDraft) -> str:
    """Give a release without a header the version that its first sentences tell; a remark."""
    if release.title or release.header.version:
        return ""
    for item in release.items[:_FIRST_ITEMS]:
        versions = versions_in(item.text)
        if len(versions) != 1 or not _NEWS.search(item.text):
            continue
        start, _, version = versions[0]
        named = [mention for mention in component_mentions(item.text) if mention[1] <= start]
        unit, component = (
            ("", "") if not named else (item.text[named[-1][0] : named[-1][1]], named[-1][2])
        )
        dates = find_dates(item.text)
        release.header = Header(
            unit, component, version, dates[0] if dates else None, status_of(item.text)
        )
        release.place = item.places[0]
        return f"no release header was found; version {version} was read from a sentence"
    return ""
