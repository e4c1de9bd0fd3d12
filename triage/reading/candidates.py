"""Numbers that may be a fact: versions, days and values, found by form; what they are of is told
by small linear models, by the words around them.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import NamedTuple

from triage.domain.notes import StatedDate
from triage.reading.dates import find_dates
from triage.reading.linear import Linear


class Candidate(NamedTuple):
    """A number or word at characters [start, end) of a text; `day` of a date only."""

    start: int
    end: int
    words: str
    day: StatedDate | None = None


class Surround(NamedTuple):
    """What the linear models are told of the statement a candidate stands in."""

    role: str
    heading: str
    label: str
    place: int  # how many statements of the same role stand before it, at most 9


class FactModels(NamedTuple):
    """Whose version (release, unit, required, affected, named, none), which day (release,
    deadline, other), which value (from, to, none)."""

    versions: Linear
    days: Linear
    values: Linear


_STAGE = r"(?:alpha|beta|rc|pre(?:view|release)?|dev|nightly|snapshot|hotfix|test|final)"
VERSION = re.compile(
    rf"""(?<![\w./])(?:
      [vVrR]?\.?\d{{1,6}}(?:\.(?:\d{{1,8}}|[xX]\b)){{1,5}}
        (?:[-+_.~]?{_STAGE}[-._]?\d{{0,4}}(?![A-Za-z])|[-+~_](?!\d{{1,2}}-)[0-9A-Za-z]{{1,20}}|[a-z]\d{{0,3}}(?![A-Za-z0-9]))?
        (?:\s(?:alpha|beta|rc)\s?[-.\#]?\d{{0,3}}(?![A-Za-z0-9])|\srelease\scandidate\s?\d{{0,3}})?
    | [A-Z]{{1,3}}-?\d{{1,4}}[a-z]?\d?(?![\w-])
    | \d{{1,8}}[a-z]?(?![\w%])
    )(?!\.?\d)(?!\s?(?:%|°))""",
    re.X | re.I,
)
_DOTTED = re.compile(r"\d{1,4}\.\d{1,2}\.\d{1,2}")  # 11.02.01 may be a day or a version
_BEFORE_WHOLE = re.compile(
    r"(?:\b(?:versions?|release|revision|rev|build|firmware|software|fw|sw|ver|v|update|issue|from|to"
    r"|package|app|nr|no)\b\.?\s{0,2}[#:]?\s?|^\W{0,3})\Z",
    re.I,
)
_UNIT = re.compile(
    r"\s?(?:[kcm]?m|[kmg]?hz|m?v|volts?|m?ah|ma|amps?|a|m?s|sec(?:onds?)?|min(?:utes?)?|h|hours?|days?"
    r"|[kmgt]b|deg(?:rees?)?|ft|feet|mph|kts?|k?g|inch(?:es)?|times|percent|m/s|km/h|x|fps|p|db[mi]?|°c?|c)\b"
    r"|\s?%|\s?°",
    re.I,
)
_MEASURE = (
    r"%|°C?|[a-zA-Zµ]{1,4}/[a-zA-Z]{1,2}|[kcmµ]?m|[kMG]?Hz|m?V(?:/cell|\sper\scell)?|m?Ah|[mk]?A|m?s"
    r"|seconds?|secs?|min(?:utes?)?|hours?|h|days?|[kMGT]B|[Mk]bit/s|degrees?|deg|ft|feet|mph|kts?"
    r"|knots?|k?g|inch(?:es)?|percent|fps|dBm?|metres?|meters?|km/h|volts?|steps?|levels?|x"
)
# What may be a value, the surest form first.
_VALUES = (
    re.compile(r"[\"'“”‘’„«](?P<value>[^\"'“”‘’„«»\n]{1,50})[\"'“”‘’»]"),
    re.compile(
        rf"(?P<value>(?<![\w.])[-+±]?\d+(?:[.,]\d+)*(?:\s?(?:to|-|–|…|\.\.)\s?[-+]?\d+(?:[.,]\d+)*)?"
        rf"(?:\s?(?:{_MEASURE})(?![\w]))?)",
        re.I,
    ),
    re.compile(
        r"\b(?P<value>on|off|enabled?|disabled?|auto(?:matic)?|manual|true|false|yes|no|none|never"
        r"|always|defaults?|factory\s(?:settings?|defaults?|state|values?)|unlimited|hover|land"
        r"|return(?:\sto\shome)?)\b",
        re.I,
    ),
    re.compile(r"\b(?P<value>[A-Z][\w/+-]*(?: [A-Z0-9][\w/+-]*){0,3}|[A-Za-z]+_[A-Za-z0-9_]+)"),
)
_TOKEN = re.compile(r"[^\W\d_]+(?:'[a-z]+)?|\d+(?:[.,]\d+)*|[^\w\s]|_")


def versions_in(text: str, *, loose: bool = False) -> list[Candidate]:
    """What has the form of a version; whole numbers only behind a word for one, or where `loose`.

    Measures are left out, and dates but for those that may be either.
    """
    taken = [(d.start, d.end) for d in find_dates(text) if not _DOTTED.fullmatch(d.date.text)]
    found = []
    for m in VERSION.finditer(text):
        words = m[0].strip()
        if any(a < m.end() and m.start() < b for a, b in taken):
            continue
        dotted = "." in words.rstrip(".")
        if not dotted:
            if not any(c.isdigit() for c in words):
                continue
            if words[0].isdigit() and not loose and not _BEFORE_WHOLE.search(text[: m.start()]):
                continue
        if _UNIT.match(text, m.end()) and not re.match(r"\s?[xX]\b", text[m.end() :]):
            continue
        found.append(
            Candidate(
                m.start(),
                m.end(),
                words.lstrip("vV.")
                if dotted or (words[0] in "vV" and words[1:2].isdigit())
                else words,
            )
        )
    return found


def days_in(text: str) -> list[Candidate]:
    """The dates of a text."""
    return [Candidate(d.start, d.end, d.date.text, d.date) for d in find_dates(text)]


def values_in(text: str) -> list[Candidate]:
    """What may be the value of a setting: numbers and units, quoted words, names, on and off."""
    taken: list[Candidate] = []
    for pattern in _VALUES:
        for m in pattern.finditer(text):
            start, end = m.span("value")
            alone = start == 0 and m["value"].isalpha()  # a sentence begins with a capital
            if not alone and all(end <= c.start or c.end <= start for c in taken):
                taken.append(Candidate(start, end, m["value"].strip()))
    return sorted(taken, key=lambda candidate: candidate.start)


def told(
    text: str, candidates: Sequence[Candidate], around: Surround, model: Linear
) -> list[tuple[Candidate, str, float]]:
    """What each candidate is, with the chance of that."""
    out = []
    for number, candidate in enumerate(candidates):
        chances = model.chances(features(text, candidates, number, around))
        best = max(chances, key=lambda name: chances[name])
        out.append((candidate, best, chances[best]))
    return out


def features(
    text: str, candidates: Sequence[Candidate], number: int, around: Surround
) -> list[str]:
    """What tells what a candidate is: the words near it, its form, its place among the others."""
    one = candidates[number]
    before = [_plain(t) for t in _TOKEN.findall(text[max(0, one.start - 80) : one.start])][-6:]
    behind = [_plain(t) for t in _TOKEN.findall(text[one.end : one.end + 80])][:6]
    form = re.sub(r"[A-Za-z]+", "a", re.sub(r"\d+", "9", one.words))
    heading = [_plain(t) for t in _TOKEN.findall(around.heading)][:6]
    label = [_plain(t) for t in _TOKEN.findall(around.label)][:5]
    last, following = (before[-1] if before else "^"), (behind[0] if behind else "$")
    same = sum(other.words == one.words for other in candidates[:number])
    return [
        f"role={around.role}",
        f"form={form}",
        f"form,role={form},{around.role}",
        f"at={min(number, 4)}/{min(len(candidates), 5)}",
        f"role,at={around.role},{min(number, 3)},{min(len(candidates), 4)}",
        f"place={around.role},{min(around.place, 4)}",
        f"again={min(same, 2)}",
        f"open={text.count('(', 0, one.start) > text.count(')', 0, one.start)}",
        f"alone={not before and not behind}",
        f"start={one.start == 0}",
        f"b1={last}",
        f"n1={following}",
        f"b2={' '.join(before[-2:])}",
        f"n2={' '.join(behind[:2])}",
        f"b3={' '.join(before[-3:])}",
        f"b1,n1={last},{following}",
        f"role,b1={around.role},{last}",
        f"role,n1={around.role},{following}",
        *(f"b:{word}" for word in before),
        *(f"n:{word}" for word in behind),
        *(f"h:{word}" for word in heading),
        *(f"l:{word}" for word in label),
        f"label={' '.join(label)}",
        f"label?{bool(label)}",
        *(f"t:{word}" for word in sorted({_plain(t) for t in _TOKEN.findall(text)})[:40]),
    ]


def _plain(token: str) -> str:
    return "#" if token[0].isdigit() else token.lower()
