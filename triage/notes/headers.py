"""Release headers: which line names a release, and its unit, version, date and status."""

from __future__ import annotations

import re
from functools import cache
from typing import NamedTuple

from triage.domain.notes import Status
from triage.notes.clean import unmarked
from triage.notes.dates import FoundDate, find_dates
from triage.notes.rules import lexicon, word_set
from triage.vocabulary import components

_STAGE = r"(?:alpha|beta|rc|pre(?:view|release)?|dev|nightly|snapshot|hotfix|stable)"
_VERSION = re.compile(
    rf"""(?<![\w.])[vVrR]?\.?
    (?P<version>
      \d{{1,6}}(?:\.(?:\d{{1,8}}|x\b)){{1,5}}
      (?:
        [-+_.~]?{_STAGE}[-._]?\d{{0,4}}(?![A-Za-z])
      | [-+~_](?!\d{{1,2}}-)[0-9A-Za-z]{{1,20}}(?:[-+.~_][0-9A-Za-z]{{1,20}}){{0,4}}
      | [abc]\d{{1,3}}(?![0-9A-Za-z])
      | [a-z](?![A-Za-z0-9])
      )?
      (?:\s{{1,2}}(?:(?:alpha|beta|rc)\s?[-.#]?\d{{0,3}}|release\scandidate\s?\d{{0,3}})(?![A-Za-z0-9]))?
    )(?![\w%°]|\.\d|/\d|\s?(?:[kcm]?m|[kmg]?hz|m?v|volts?|m?ah?|m?s|sec(?:onds?)?|min(?:utes?)?|h
      |[kmg]b|deg(?:rees?)?|ft|feet|mph|kts?|k?g|inch(?:es)?|times|percent|m/s|km/h)\b)""",
    re.X | re.I,
)
_WHOLE = re.compile(
    rf"""(?:\b(?:version|release|revision|rev|build|firmware|ver|v)\b\.?\s{{0,2}}\#?\s?|(?<![\w.])[vV])
    (?P<version>\d{{1,8}}[a-z]?(?:[-_.]?{_STAGE}[-._]?\d{{0,3}})?)(?![\w%]|[.,]\d)""",
    re.X | re.I,
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
_REFUSED = re.compile(
    r"\b(?:from|since|requires?|required|supports?|supported|with|migrat\w*|upgrad\w*|downgrad\w*"
    r"|compatib\w*|known issues?|fix\w*|add\w*|remov\w*|improv\w*|chang(?:e|es|ed) to|update[sd]? to"
    r"|bump\w*|until|before|after|between|than|below|above|via|using|when|if|how|why|please|see"
    r"|protocol|must|needs?|should|implement\w*|enabl\w*|disabl\w*|correct\w*|allow\w*)\b",
    re.I,
)
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
    rf"(?:[-._]?{_STAGE}\d{{0,3}})?(?:\s{{0,2}}\([^()]{{1,30}}\))?)\s{{0,2}}[:–—-]\s{{1,4}}(?=\S)",
    re.I,
)
_WORD = re.compile(r"[\w'’+&.-]+")
_DIGIT_PAIR = re.compile(r"\d[.\-/ ]?\d|\d")
_OS = re.compile(r"\b(android|ios|ipados|windows|win|macos|mac os|mac|osx|linux)\b", re.I)
_ROW = re.compile(r"\A(?P<label>[A-Za-z][^:|]{1,60}?)\s{0,3}[:=]\s{0,3}(?P<value>\S.{0,80})\Z")
_ROW_LABEL = re.compile(
    r"\b(?:firmware|software|app|version|date|released?|build|bootloader|fw)\b", re.I
)


class Header(NamedTuple):
    """A release header read: unit as written, component id, version, date and status."""

    unit: str
    component: str
    version: str
    date: FoundDate | None
    status: Status


def looks_dated_or_numbered(text: str) -> bool:
    """A cheap first look: can this line hold a version, a date, or say 'unreleased'?"""
    return bool(_DIGIT_PAIR.search(text)) or "nreleased" in text.lower()


@cache
def _component_words() -> tuple[re.Pattern[str], dict[str, str]]:
    ids = {
        synonym.lower(): entry.id
        for entry in components()
        for synonym in (entry.name, *entry.synonyms)
    }
    ids |= {word[:-1] + "ies": ids[word] for word in list(ids) if word.endswith("y")}
    alternatives = "|".join(re.escape(word) for word in sorted(ids, key=len, reverse=True))
    return re.compile(rf"(?<![\w-])({alternatives})(s|es)?(?![\w-])", re.I), ids


def component_mentions(text: str) -> list[tuple[int, int, str]]:
    """Component names in a text: (start, end, vocabulary id), the longest names first taken."""
    pattern, ids = _component_words()
    return [(m.start(), m.end(), ids[m.group(1).lower()]) for m in pattern.finditer(text)]


def component_of(name: str) -> str:
    """The component that a unit's name speaks of: its last one, not counting 'for X'; else ''."""
    mentions = component_mentions(re.split(r"\s(?:for|with|on)\s", name, maxsplit=1)[0])
    if not mentions:
        mentions = component_mentions(name)
    return mentions[-1][2] if mentions else ""


def versions_in(text: str) -> list[tuple[int, int, str]]:
    """Version numbers in a text: (start, end, version without a leading v)."""
    return [(m.start(), m.end(), tidy_version(m["version"])) for m in _VERSION.finditer(text)]


def tidy_version(version: str) -> str:
    """A version as written, a blank inside ('4.5 RC2') bridged by a hyphen."""
    return "-".join(version.split())


def status_of(text: str) -> Status:
    """How far along the header says the release is."""
    for status, pattern in _STATUS_WORDS:
        if pattern.search(text):
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


def _blank(text: str, start: int, end: int) -> str:
    return text[:start] + " " * (end - start) + text[end:]


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
        text, marked = f"{package[1].capitalize()} {package[2]}", True
    dates = find_dates(text)
    rest = text
    for date in dates:
        rest = _blank(rest, date.start, date.end)
    found = _VERSION.search(rest) or _WHOLE.search(rest)
    if found is None and (version := _calendar_version(dates)):
        dates = [date for date in dates if date is not version]
        rest = rest[: version.start] + text[version.start : version.end] + rest[version.end :]
        found = _VERSION.search(rest)
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
    """Whether '2.1 Words' is a release and not section 2.1: three parts, or no words but known ones."""
    if found.start() > 3:
        return True
    parts = found["version"].count(".")
    words = [word for word in _WORD.findall(rest[found.end() :]) if word.strip(".-'")]
    known = all(word.lower() in _AROUND or word[0] in "\"'" for word in words)
    return known or parts >= 2


def _without_version(
    text: str, rest: str, dates: list[FoundDate], *, marked: bool
) -> Header | None:
    words = [word for word in _WORD.findall(rest) if any(char.isalpha() for char in word)]
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
    words = [w for w in _WORD.findall(quoted) if any(char.isalpha() for char in w)]
    names = [w for w in words if w.lower().strip(".'") not in _AROUND]
    if _REFUSED.search(" ".join(names)) or len(words) > most:
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
        return len(strange) == 0 and len(names) <= 4
    return len(strange) <= (2 if marked else 0)


_LEADING = re.compile(
    r"\A(?:(?:release notes?|changelog|change log|what'?s new|new|changes|highlights|release|version)"
    r"\s+(?:in|of|for|to)?\s*(?:the\s+)?)+",
    re.I,
)
_TRAILING = re.compile(
    r"(?:^|\s+)(?:release notes?|release|version|ver|v|rev|revision|build|update|changelog|notes|hello|welcome"
    r"|is|now|available|released|date|dated|on|in|stable|beta|alpha|rc|candidate|the)\W*\Z",
    re.I,
)


def _unit(part: str) -> str:
    """The unit's name among the words before a version: no keywords, brackets or separators."""
    name = re.sub(r"[(\[][^()\[\]]{0,60}[)\]]", " ", part)
    name = re.sub(r"\s+(?:firmware|software)\W*\Z", "", name, flags=re.I)
    name = _LEADING.sub("", " ".join(name.split()).strip(" -–—:,|/*#([\"'"))
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
    r"\b(?:release notes?|change\s?-?log|changes|what'?s new|(?:release|version|update|revision) history"
    r"|news|for|all)\b",
    re.I,
)


def is_title(text: str) -> bool:
    """Whether a heading only says that these are release notes."""
    return bool(_TITLE.search(unmarked(text)))


def glued(text: str) -> int:
    """The length of a header that a change is glued to ('1.4.2: fixed ...'), 0 when there is none."""
    found = _GLUED.match(text) if "." in text[:20] and _DIGIT_PAIR.search(text[:16]) else None
    if not found or find_dates(text[found.end() :][:30]):
        return 0
    rest = text[found.end() :]
    return found.end() if len(rest.split()) >= 2 and parse_header(found["head"], marked=True) else 0


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
        rest = _blank(rest, date.start, date.end)
    versions = [m for m in _VERSION.finditer(rest)] or [m for m in _WHOLE.finditer(rest)]
    for match in versions:
        rest = _blank(rest, match.start(), match.end())
    words = _OS.sub(" ", rest)
    left = [w for w in _WORD.findall(words) if w.lower().strip(".") not in _VALUE_WORDS]
    return bool(dates or versions) and len(left) <= 1


_VALUE_WORDS = frozenset(
    "v version versions and or later newer above higher up to the for n/a na none app unchanged no"
    " change fw firmware beta rc".split()
)


def read_value(value: str) -> tuple[str, FoundDate | None]:
    """The first version and date in a version table's cell."""
    dates = find_dates(value)
    rest = value
    for date in dates:
        rest = _blank(rest, date.start, date.end)
    found = _VERSION.search(rest) or _WHOLE.search(rest)
    return (tidy_version(found["version"]) if found else ""), dates[0] if dates else None
