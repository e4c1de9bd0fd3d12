"""The order of firmware versions as makers write them, or the plain reason why there is none.

The numbers decide where they differ: leading zeros and missing trailing zeros do not count. Where
they tie, stages come before the release (dev < alpha < beta < preview < rc < released) as in SemVer
2.0.0 clause 11, PEP 440 and MAVLink; patches come after it; SemVer build metadata does not count.
Where the standards disagree ('1.2.3-4' is before 1.2.3 by SemVer, after it by PEP 440 and Debian)
or a letter can mean two things ('4.1a': a build after 4.1, or its alpha), nothing is guessed.
"""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

from triage.domain.kit import Order
from triage.errors import ConfigError

Sign = Literal[-1, 0, 1]

_STAGES = {
    "dev": 0, "nightly": 0, "snapshot": 0,
    "alpha": 1, "a": 1,
    "beta": 2, "b": 2,
    "pre": 3, "preview": 3,
    "rc": 4, "c": 4, "candidate": 4,
}  # fmt: skip
_RELEASED = 5
_FINAL = "final|release|official|stable|ga"
_PATCH = "post|patch|hotfix|hf|sp|p|rev|r"
_MAVLINK = {0: "dev", 64: "alpha", 128: "beta", 192: "rc"}

# Longest first, so that no word is cut short by its own beginning.
_STAGE_WORDS = "|".join(sorted(_STAGES, key=len, reverse=True))
_HEAD = re.compile(
    r"(?P<name>(?:[^\W\d_]+[\s:/_-]+)*?)"
    r"(?:(?:version|ver|v|release|rel|firmware|fw|build|rev|r)[\s.:_-]*)*"
    r"(?P<numbers>\d+(?:[._]\d+)*)"
)
_DAY = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?!\d)|(\d{4})(\d{2})(\d{2})(?!\d)")
_DAY_LAST = re.compile(r"(\d{1,2})[./-](\d{1,2})[./-]((?:19|20)\d{2})(?!\d)")
_STAGE = re.compile(
    rf"(?P<mark>[-_.~\s]?)(?P<word>{_STAGE_WORDS})(?![^\W\d_])"
    r"(?:[-_.\s]?(?P<number>\d+))?(?P<more>(?:\.[0-9a-z]+)*)$"
)
_PATCHED = re.compile(rf"[-_.\s]?(?:{_PATCH})[-_.\s]?(?P<number>\d*)$")
_COMMITS = re.compile(r"-(?P<number>\d+)-g[0-9a-f]{6,}(?:-dirty)?$")
_BUILD = re.compile(r"\s*(?:\(\s*(?:build\s*)?(\d+)\s*\)|[-\s]build\s*(\d+))$")
_SAME = re.compile(
    r"(?:the )?same(?: version)?(?: as| with)?(?: that of)?(?: the| my)? (?P<unit>.+)"
)
_UNKNOWN = frozenset({"", "?", "-", "--", "unknown", "not known", "n/a", "na", "none"})


@dataclass(frozen=True)
class _Version:
    """A version taken apart; `tail` is what no rule reads, `groups` the numbers as written."""

    name: str
    groups: tuple[str, ...]
    stage: tuple[int, tuple[tuple[int, int, str], ...]] = (_RELEASED, ())
    letter: str = ""
    patch: int = -1
    build: int | None = None
    tail: str = ""
    days: tuple[dt.date | None, ...] = ()  # 03.09.2024 with the day first, with the month first

    @property
    def numbers(self) -> tuple[int, ...]:
        return tuple(int(group) for group in self.groups)

    @property
    def dated(self) -> bool:
        return 1990 <= self.numbers[0] <= 2100

    @property
    def counter(self) -> bool:
        """A bare build number, which no dotted version can be compared with."""
        return len(self.groups) == 1 and len(self.groups[0]) >= 5


def compare(a: str, b: str) -> Sign | None:
    """-1 when `a` is before `b`, 0 when they are the same, 1 when after, None: cannot compare."""
    return order(a, b).sign


@lru_cache(maxsize=16384)
def order(a: str, b: str) -> Order:
    """The order of two versions; `reason` says why when there is none."""
    one, other = _tidy(a), _tidy(b)
    for text in (one, other):
        if text in _UNKNOWN:
            return Order(sign=None, reason="a version is not known")
    if one == other:
        return Order(sign=0)
    for text in (one, other):
        if same_as(text):
            return Order(sign=None, reason=f"'{text}' names another unit, not a version")
        if _read(text) is None:
            return Order(sign=None, reason=f"'{text}' is not a version that can be read")
    left, right = _read(one), _read(other)
    assert left is not None and right is not None
    sign, reason = _weigh(left, right)
    return Order(sign=sign, reason=f"'{a.strip()}' and '{b.strip()}': {reason}" if reason else "")


def known(version: str) -> bool:
    """Whether the text is a version that can be read."""
    return _read(_tidy(version)) is not None


def same_as(version: str) -> str:
    """The unit that 'same as the aircraft' names, '' for any other text."""
    found = _SAME.fullmatch(_tidy(version))
    return found["unit"] if found else ""


def from_mavlink(packed: int) -> str:
    """MAVLink AUTOPILOT_VERSION.flight_sw_version (uint32) as text: 0x040507FF is '4.5.7'.

    Bytes from the highest: major, minor, patch, type (FIRMWARE_VERSION_TYPE); what the type byte
    has above its stage is kept as the stage's number. Error: ConfigError outside uint32.
    """
    if not 0 <= packed <= 0xFFFF_FFFF:
        raise ConfigError(f"{packed} is not a packed MAVLink version", mend="give a uint32")
    major, minor, patch, kind = packed.to_bytes(4, "big")
    if kind == 255:
        return f"{major}.{minor}.{patch}"
    start = kind // 64 * 64
    number = f".{kind - start}" if kind > start else ""
    return f"{major}.{minor}.{patch}-{_MAVLINK[start]}{number}"


def _tidy(version: str) -> str:
    return " ".join(version.split()).casefold()


@lru_cache(maxsize=4096)
def _read(text: str) -> _Version | None:
    if text.startswith("0x"):
        try:
            return _read(from_mavlink(int(text, 16)))
        except (ValueError, ConfigError):
            return None
    head = _HEAD.match(text)
    if not head or re.search(rf"\b(?:{_STAGE_WORDS})\b", head["name"]):
        return None
    name, start, end = head["name"].strip(" :/_-"), head.start("numbers"), head.end("numbers")
    groups = tuple(re.split(r"[._]", head["numbers"]))
    if (day := _DAY.match(text, start)) and day.end() >= end:
        parts = tuple(part for part in day.groups() if part)
        if 1990 <= int(parts[0]) <= 2100 and _day(*map(int, parts)):
            groups, end = parts, day.end()
    days: tuple[dt.date | None, ...] = ()
    if (last := _DAY_LAST.match(text, start)) and last.end() >= end:
        first, second, year = map(int, last.groups())
        days = (_day(year, second, first), _day(year, first, second))
        if "." not in last[0]:  # dashes and slashes are a date, and which one is not said
            return None
    version = _Version(name=name, groups=groups, days=days)
    return _read_tail(version, text[end:])


def _read_tail(version: _Version, text: str) -> _Version | None:
    tail = text.partition("+")[0].rstrip()
    if found := _BUILD.search(tail):
        version = replace(version, build=int(found[1] or found[2]))
        tail = tail[: found.start()].rstrip()
    tail = re.sub(rf"[-_.\s]?\b(?:{_FINAL})$", "", tail)
    if not tail:
        return version
    if re.fullmatch(r"[a-z]", tail):
        return replace(version, letter=tail)
    if found := _COMMITS.match(tail) or _PATCHED.match(tail):
        return replace(version, patch=int(found["number"] or 0))
    if found := _STAGE.match(tail):
        rank, more = _STAGES[found["word"]], found["more"].split(".")[1:]
        if not any(word.startswith(("dev", "post")) for word in more):  # orders differ by standard
            words = [*([found["number"]] if found["number"] else []), *more]
            return replace(version, stage=(rank, tuple(map(_identifier, words))))
    if re.search(r"\d[._]\d", tail) or re.match(r"[._]?[x*](?![a-z])", tail):
        return None  # two versions in one text, or 1.4.x
    return replace(version, tail=tail)


def _identifier(word: str) -> tuple[int, int, str]:
    """SemVer clause 11.4: numbers by value and before words, words by their letters."""
    return (0, int(word), "") if word.isdigit() else (1, 0, word)


def _day(year: int, month: int, day: int) -> dt.date | None:
    try:
        return dt.date(year, month, day)
    except ValueError:
        return None


def _sign(a: object, b: object) -> Sign:
    return 0 if a == b else -1 if a < b else 1  # type: ignore[operator]


def _weigh(a: _Version, b: _Version) -> tuple[Sign | None, str]:
    """Sign and, when there is none, the reason."""
    if a.name and b.name and a.name != b.name:
        return None, "they carry different names"
    if a.dated != b.dated:
        return None, "one is a date and the other is not"
    if a.counter != b.counter:
        return None, "one is a build number and the other is not"
    if any(a.days) and any(b.days):
        signs = {_sign(a.numbers, b.numbers)}
        signs |= {_sign(x, y) for x, y in zip(a.days, b.days, strict=True) if x and y}
        if len(signs) > 1:
            return None, "they may be dates, and day and month cannot be told apart"
    for version, fellow in ((a, b), (b, a)):
        n = len(version.numbers)
        if version.tail and a.tail != b.tail and version.numbers == _padded(fellow, n)[:n]:
            return None, f"no standard says where '{version.tail.strip()}' stands"
    if sign := _by_numbers(a, b):
        return (sign, "") if _steady(a, b) else (None, "one writes 05 where the other writes 5")
    return _by_tail(a, b)


def _padded(version: _Version, length: int) -> tuple[int, ...]:
    return version.numbers + (0,) * (length - len(version.numbers))


def _by_numbers(a: _Version, b: _Version) -> Sign:
    length = max(len(a.numbers), len(b.numbers))
    return _sign(_padded(a, length), _padded(b, length))


def _steady(a: _Version, b: _Version) -> bool:
    """False where 1.05 and 1.1 would be in the other order if read as decimals."""
    if len(a.groups) != 2 or len(b.groups) != 2 or int(a.groups[0]) != int(b.groups[0]):
        return True
    x, y = a.groups[1], b.groups[1]
    padded = x.startswith("0") or y.startswith("0")
    return not padded or _sign(x, y) == _sign(int(x), int(y))


def _by_tail(a: _Version, b: _Version) -> tuple[Sign | None, str]:
    if a.letter != b.letter and not (a.letter and b.letter):
        lettered, sign = (a, 1) if a.letter else (b, -1)
        if lettered.letter in _STAGES:
            return None, f"'{lettered.letter}' may be a later build or an early version"
        return (1 if sign == 1 else -1), ""
    key_a, key_b = (a.stage, a.letter, a.patch), (b.stage, b.letter, b.patch)
    if key_a == key_b and a.build is not None and b.build is not None:
        return _sign(a.build, b.build), ""
    return _sign(key_a, key_b), ""
