"""Version numbers in a text, and values of version tables ('Aircraft firmware: v01.00.0500')."""

from __future__ import annotations

import re

from triage.notes.dates import FoundDate, find_dates
from triage.notes.rules import word_set
from triage.notes.units import component_mentions

STAGE = r"(?:alpha|beta|rc|pre(?:view|release)?|dev|nightly|snapshot|hotfix|stable)"
VERSION = re.compile(
    rf"""(?<![\w.])(?:rev|ver|[vr])?\.?
    (?P<version>
      \d{{1,6}}(?:\.(?:\d{{1,8}}|x\b)){{1,5}}
      (?:
        [-+_.~]?{STAGE}[-._]?\d{{0,4}}(?![A-Za-z])
      | [-+~_](?!\d{{1,2}}-)[0-9A-Za-z]{{1,20}}(?:[-+.~_][0-9A-Za-z]{{1,20}}){{0,4}}
      | [abc]\d{{1,3}}(?![0-9A-Za-z])
      | [a-z](?![A-Za-z0-9])
      )?
      (?:\s{{1,2}}(?:(?:alpha|beta|rc)\s?[-.#]?\d{{0,3}}|release\scandidate\s?\d{{0,3}})(?![A-Za-z0-9]))?
    )(?![\w%°]|\.\d|/\d|\s?(?:[kcm]?m|[kmg]?hz|m?v|volts?|m?ah|ma|amps?|m?s|sec(?:onds?)?|min(?:utes?)?|h
      |[kmg]b|deg(?:rees?)?|ft|feet|mph|kts?|k?g|inch(?:es)?|times|percent|m/s|km/h)\b)""",
    re.X | re.I,
)
WHOLE = re.compile(
    rf"""(?:\b(?:version|release|revision|rev|build|firmware|ver|v)\b\.?\s{{0,2}}\#?\s?|(?<![\w.])[vV])
    (?P<version>\d{{1,8}}[a-z]?(?:[-_.]?{STAGE}[-._]?\d{{0,3}})?)(?![\w%]|[.,]\d)""",
    re.X | re.I,
)
_CANDIDATE = re.compile(r"\s*release\s+candidate\s*", re.I)
# A platform before a version ('aOS v5.3.2 / Larkos v5.3.4'): a name by its capitals.
_PLATFORM = re.compile(r"\b(?:[A-Z]|[a-z][A-Z])[A-Za-z]{1,9}\s(?=\s*v?\d)")
_ROW = re.compile(r"\A(?P<label>[^\W\d_][^:|]{1,60}?)\s{0,3}[:=]\s{0,3}(?P<value>\S.{0,80})\Z")
_ROW_LABEL = re.compile(
    r"\b(?:firmware|software|app|bootloader|fw)\b|版本|日期|固件"
    r"|\A(?:(?:release )?date|released?(?: on)?|(?:new |current |latest )?(?:version|build))\Z",
    re.I,
)
_VALUE_WORDS = word_set(
    "v version versions and or later newer above higher up to the for n/a na none app"
    " unchanged no change fw firmware beta rc"
)
WORD = re.compile(r"[\w'’+&.-]+")
DIGIT = re.compile(r"\d[.\-/ ]?\d|\d")


def looks_dated_or_numbered(text: str) -> bool:
    """A cheap first look: can this line hold a version, a date, or say 'unreleased'?"""
    return bool(DIGIT.search(text)) or "nreleased" in text.lower()


def versions_in(text: str) -> list[tuple[int, int, str]]:
    """Version numbers in a text: (start, end, version without a leading v)."""
    return [(m.start(), m.end(), tidy_version(m["version"])) for m in VERSION.finditer(text)]


def tidy_version(version: str) -> str:
    """A version as written; '4.5 RC2' and '4.5 Release Candidate 2' become 4.5-RC2, 4.5-rc2."""
    return "-".join(_CANDIDATE.sub("-rc", version).split())


def version_row(text: str) -> tuple[str, str] | None:
    """Read 'Aircraft firmware: v01.00.0500' as (label, value); None for anything else."""
    found = _ROW.match(text)
    if not found:
        return None
    label, value = found["label"].strip(" *_`|"), found["value"].strip(" *_`|")
    if not (_ROW_LABEL.search(label) or component_mentions(label)) or len(label.split()) > 7:
        return None
    return (label, value) if is_version_value(value) else None


def is_version_value(value: str) -> bool:
    """Whether a value or table cell holds versions or a date and nothing else that tells."""
    rest = value
    dates = find_dates(value)
    for date in dates:
        rest = blank_out(rest, date.start, date.end)
    rest = _PLATFORM.sub(lambda name: " " * len(name[0]), rest)
    versions = list(VERSION.finditer(rest)) or list(WHOLE.finditer(rest))
    for match in versions:
        rest = blank_out(rest, match.start(), match.end())
    left = [w for w in WORD.findall(rest) if w.lower().strip(".") not in _VALUE_WORDS]
    return bool(dates or versions) and len(left) <= 1


def read_value(value: str) -> tuple[str, FoundDate | None]:
    """The first version and date in a version table's cell."""
    dates = find_dates(value)
    rest = value
    for date in dates:
        rest = blank_out(rest, date.start, date.end)
    found = VERSION.search(rest) or WHOLE.search(rest)
    return (tidy_version(found["version"]) if found else ""), dates[0] if dates else None


def blank_out(text: str, start: int, end: int) -> str:
    """The text with [start, end) blank, so that other offsets stay."""
    return text[:start] + " " * (end - start) + text[end:]
