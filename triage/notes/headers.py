"""Release headers: which line names a release, and its unit, version, date and status."""

from __future__ import annotations

import re
from typing import NamedTuple

from triage.domain.notes import Status
from triage.notes.clean import unmarked
from triage.notes.dates import FoundDate, find_dates
from triage.notes.rules import lexicon, pattern, word_set
from triage.notes.units import component_mentions, component_of
from triage.notes.versions import (
    DIGIT,
    STAGE,
    VERSION,
    WHOLE,
    WORD,
    blank_out,
    looks_dated_or_numbered,
    tidy_version,
)

_STATUS = (
    (
        Status.WITHDRAWN,
        r"yanked|withdrawn|recalled|pulled|revoked|do not (?:use|install)|retracted",
    ),
    (Status.UNRELEASED, r"unreleased|not (?:yet )?released|upcoming|in development|tbd|tba|wip"),
    (Status.ALPHA, r"alpha|nightly|dev(?:elopment)?|snapshot"),
    (Status.CANDIDATE, r"rc|release candidate|candidate"),
    (Status.BETA, r"beta|preview|pre-?release|pre|public test|early access"),
)
_STATUS_WORDS = tuple(
    (status, re.compile(rf"(?<![a-z])(?:{words})(?![a-z])", re.I)) for status, words in _STATUS
)
# Words that may stand around a version in a header; anything else there must look like a name.
_AROUND = word_set(lexicon().around)
_REFUSED = pattern(lexicon().not_in_header)
_TITLE = re.compile(
    r"\b(?:release notes?|change\s?-?log|changes|what'?s new|release history|version history"
    r"|firmware|news|update history|revision history)\b",
    re.I,
)
_SIGNATURE = re.compile(r"<[^<>\s@]{1,80}@[^<>\s]{1,80}>\s+(?=[A-Z][a-z]{2},\s)")
# The header of a Debian changelog: 'name (1.2-3) unstable; urgency=low'.
_PACKAGE = re.compile(
    r"\A([a-z0-9][a-z0-9+.-]{1,60}) \(([^()\s]{1,60})\) [\w ,-]{1,60}; urgency=.{1,40}\Z"
)
_SECTION_NUMBER = re.compile(r"\A\d{1,2}(?:\.\d{1,2}){0,2}[.)]?\s+(?=[A-Za-z(])")
_GLUED = re.compile(
    r"\A\W{0,3}(?P<head>(?:(?:version|release|rev(?:ision)?|ver|v)\.?\s{0,2})?\d{1,5}(?:\.\d{1,6}){1,4}"
    rf"(?:[-._]?{STAGE}\d{{0,3}})?(?:\s{{0,2}}\([^()]{{1,30}}\))?)\s{{0,2}}[:–—-]\s{{1,4}}(?=\S)",
    re.I,
)


class Header(NamedTuple):
    """A release header read: unit as written, component id, version, date and status."""

    unit: str
    component: str
    version: str
    date: FoundDate | None
    status: Status


def status_of(text: str) -> Status:
    """How far along the header says the release is."""
    for status, wording in _STATUS_WORDS:
        if wording.search(text):
            return status
    return Status.RELEASED


def _version_status(version: str) -> Status:
    suffix = re.search(r"[a-z].*", version, re.I)
    if not suffix:
        return Status.RELEASED
    letters = suffix.group().lower()
    if "rc" in letters or "candidate" in letters:
        return Status.CANDIDATE
    if "beta" in letters or "preview" in letters or re.fullmatch(r"b\d+", letters):
        return Status.BETA
    if "alpha" in letters or "dev" in letters or re.fullmatch(r"a\d+", letters):
        return Status.ALPHA
    return Status.RELEASED


def parse_header(raw: str, *, marked: bool) -> Header | None:
    """Read a line as a release header, or None.

    `marked` says that the layout itself makes it a heading; a bare line is held to a stricter form.
    """
    if len(raw) > 1200 or not looks_dated_or_numbered(raw):
        return None
    text = unmarked(raw).strip(" *#=~_>|-–—:").strip()
    if not 1 < len(text) <= (140 if marked else 100):
        return None
    if not marked and text.endswith((".", ";", ",", "!", "?")):
        return None
    if package := _PACKAGE.match(text):
        unit, number = package.groups()
        return Header(unit, component_of(unit), number, None, _version_status(number))
    dates = find_dates(text)
    rest = text
    for date in dates:
        rest = blank_out(rest, date.start, date.end)
    found = VERSION.search(rest) or WHOLE.search(rest)
    if found is None and (version := _calendar_version(dates)):
        dates = [date for date in dates if date is not version]
        rest = rest[: version.start] + text[version.start : version.end] + rest[version.end :]
        found = VERSION.search(rest)
    if found is None:
        return _without_version(text, rest, dates, marked=marked)
    if not marked and dates and dates[0].start == 0 and text[dates[0].end :].startswith(":"):
        return None  # a dated entry: what stands behind the date is told, not titled
    if _SECTION_NUMBER.match(rest) and not _names_release(rest, found):
        return None
    before = rest[: found.start()]
    after = rest[found.end() :]
    if not (_fits(before, 7, marked=marked) and _fits(after, 4, marked=marked, behind=True)):
        return None
    unit = _unit(before) or (_unit(after) if _unit(after) and not before.strip() else "")
    number = tidy_version(found["version"])
    status = _version_status(number)
    if status is Status.RELEASED or status_of(before + " " + after) is Status.WITHDRAWN:
        status = status_of(before + " | " + after)
    return Header(unit, component_of(unit or before), number, dates[0] if dates else None, status)


def signature_date(text: str) -> FoundDate | None:
    """The date of a changelog's closing line, 'Name <mail>  Mon, 02 Sep 2024 10:00:00 +0200'."""
    found = _SIGNATURE.search(text) if "@" in text else None
    dates = find_dates(text[found.end() :]) if found else []
    return dates[0] if dates else None


def _calendar_version(dates: list[FoundDate]) -> FoundDate | None:
    """The 'date' that is rather a version: 2024.3.1 not written in full, or one of two."""
    for date in dates:
        full = re.fullmatch(r"\d{4}\.\d\d\.\d\d|\d\d\.\d\d\.\d{4}", date.date.text)
        if (
            "." in date.date.text
            and date.form in ("form1", "dotted2")
            and (not full or len(dates) > 1)
        ):
            return date
    return None


def _names_release(rest: str, found: re.Match[str]) -> bool:
    """Whether '2.1 Words' is a release and not section 2.1: three parts, or only known words."""
    if found.start() > 3:
        return True
    parts = found["version"].count(".")
    words = [word for word in WORD.findall(rest[found.end() :]) if word.strip(".-'")]
    known = all(word.lower() in _AROUND or word[0] in "\"'" for word in words)
    return known or parts >= 2


def _without_version(
    text: str, rest: str, dates: list[FoundDate], *, marked: bool
) -> Header | None:
    words = [word for word in WORD.findall(rest) if any(char.isalpha() for char in word)]
    if re.fullmatch(r"\W*(?:\[?unreleased\]?)\W*", rest, re.I):
        return Header("", "", "", dates[0] if dates else None, Status.UNRELEASED)
    if not dates or len(dates) > 1 or not all(word.lower() in _AROUND for word in words):
        return None
    if not marked and len(words) > 2:
        return None
    return Header("", "", "", dates[0], status_of(rest))


def _fits(part: str, most: int, *, marked: bool, behind: bool = False) -> bool:
    """Whether the words beside a version are such as stand in a header."""
    quoted = re.sub(
        r"[\"'“”‘’][^\"'“”‘’]{1,40}[\"'“”‘’]|\([^()]{0,60}\)|\[[^\[\]]{0,60}\]", " ", part
    )
    words = [w for w in WORD.findall(quoted) if any(char.isalpha() for char in w)]
    names = [w for w in words if w.lower().strip(".'") not in _AROUND]
    # 'Heading 1.2 - A name of several words': a dash sets a name apart from the version.
    named = behind and marked and _DASH.match(part) is not None
    if _REFUSED.search(" ".join(names)) or len(words) > (7 if named else most):
        return False
    if behind and names and not marked:
        return False
    if re.search(r"[.!?;]\s+\S", part) and not marked:
        return False
    mentions = {
        word.lower()
        for start, end, _ in component_mentions(quoted)
        for word in quoted[start:end].split()
    }
    strange = [w for w in names if not (w[0].isupper() or w[0].isdigit() or w.lower() in mentions)]
    if behind and marked:
        return named or (not strange and len(names) <= 4)
    return len(strange) <= (2 if marked else 0)


_LEADING = re.compile(
    r"\A(?:(?:release notes?|changelog|change log|what'?s new|new|changes|highlights|release"
    r"|version)"
    r"\s+(?:in|of|for|to)?\s*(?:the\s+)?)+",
    re.I,
)
_TRAILING = re.compile(
    r"(?:^|\s+)(?:release notes?|release|version|ver|v|rev|revision|build|update|firmware|software"
    r"|changelog|notes"
    r"|hello|welcome|is|now|available|released|date|dated|on|in|stable|beta|alpha|rc|candidate|the)\W*\Z",
    re.I,
)


def _unit(part: str) -> str:
    """The unit's name among the words before a version: no keywords, brackets or separators."""
    name = re.sub(r"[(\[][^()\[\]]{0,60}[)\]]", " ", part)
    name = _LEADING.sub("", " ".join(name.split()).strip(" -–—:,|/*#([\"'"))
    plain = all(word.lower() in _AROUND or word.isdigit() for word in name.split())
    if plain and not component_mentions(name):
        return ""
    for _ in range(6):
        shorter = _TRAILING.sub("", name).strip(" -–—:,|/*#([\"'")
        if shorter == name:
            break
        name = shorter
    return name if any(char.isalpha() for char in name) else ""


def document_unit(text: str) -> str:
    """The unit that a document's title names ('Quillmere Deck release notes'), or ''."""
    words = unmarked(text).strip(" *#=:-")
    if len(words) > 100 or not _TITLE.search(words) or find_dates(words):
        return ""
    name = _unit(re.sub(r"\s*\bfirmware\b\s*$", " firmware", _TITLE_WORDS.sub(" ", words)))
    return name if name and name[0].isupper() and len(name.split()) <= 6 else ""


_TITLE_WORDS = re.compile(
    r"\b(?:release notes?|change\s?-?log|changes|what'?s new"
    r"|(?:release|version|update|revision) history|news|for|all)\b",
    re.I,
)


_DASH = re.compile(r"\s*[-–—:|]\s")
_BARE_TITLE = re.compile(
    r"\W*(?:(?:the )?release notes?|change\s?-?log|(?:release|version|update|revision) history)\W*",
    re.I,
)
_PRODUCT = re.compile(
    r"\A(?:product|model|device|unit)(?: name)?\s{0,3}:\s{0,3}(\S.{1,60})\Z", re.I
)


def names_nothing(text: str) -> bool:
    """Whether a heading says 'Release notes' and no more."""
    return bool(_BARE_TITLE.fullmatch(text))


def product_line(text: str) -> str:
    """The unit named by a line such as 'Product: Quillmere Visor goggles', or ''."""
    found = _PRODUCT.match(text) if ":" in text[:20] else None
    return found.group(1).strip() if found else ""


def is_title(text: str) -> bool:
    """Whether a heading only says that these are release notes."""
    return bool(_TITLE.search(unmarked(text)))


def glued(text: str) -> int:
    """The length of a header that a change is glued to ('1.4.2: fixed ...'), 0 without one."""
    found = _GLUED.match(text) if "." in text[:20] and DIGIT.search(text[:16]) else None
    if not found or find_dates(text[found.end() :][:30]):
        return 0
    rest = text[found.end() :]
    return found.end() if len(rest.split()) >= 2 and parse_header(found["head"], marked=True) else 0
