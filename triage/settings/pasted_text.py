"""Settings pasted as text, in any layout that keeps a name and its value together.

Every line ends up as a setting, as a heading, or as unread: none vanishes.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from triage.domain.snapshots import ValueKind
from triage.settings.setting_names import field_called
from triage.settings.setting_values import ValueFaultError, measure_called, read_value


class Pair(NamedTuple):
    """A name and its value as written; `line` counts from 1, 0 when there are no lines.

    `raw` is true for a parameter of a dump, whose bare number is in the firmware's own unit.
    """

    name: str
    value: str
    line: int = 0
    raw: bool = False


class Unread(NamedTuple):
    """A line that holds no setting that could be told; a `heading` only groups what follows."""

    text: str
    line: int
    heading: bool = False


_BULLET = re.compile(r"^\s*(?:[-*•·◦▪]|\d+[.)]|\[[ xX]?\])\s+")
_SPLITS = (
    re.compile(r"\s*[:=]\s*\t+\s*|\t+"),
    re.compile(r"\s*(?:\.{3,}|…+|_{3,}|-{3,})\s*"),
    re.compile(r"\s+=\s+|=|\s*:\s+|:(?=\S)|\s*->\s*|\s*→\s*"),
    re.compile(r"\s+[–—-]\s+"),
    re.compile(r"\s*;\s*"),
    re.compile(r"\s{2,}"),
)
_FEW = 5  # words of a choice that stands below its name (assumption)
_RULE = re.compile(r"^[\s|:+=_*#-]+$")
_IN_NAME = re.compile(r"^(.*\S)\s*[(\[]\s*([^()\[\]]{1,12})\s*[)\]]$")


def pairs_in(text: str) -> tuple[list[Pair], list[Unread]]:
    """The settings in a text, and the lines that hold none; headings are no settings.

    Both as `lines_in` tells them apart, without the headings.
    """
    pairs, others = lines_in(text)
    return pairs, [line for line in others if not line.heading]


def lines_in(text: str) -> tuple[list[Pair], list[Unread]]:
    """The settings in a text, and every other line that holds a word, headings marked as such."""
    lines = [(n, _cleaned(line)) for n, line in enumerate(text.splitlines(), start=1)]
    lines = [(n, line) for n, line in lines if line and not _RULE.match(line)]
    pairs: list[Pair] = []
    others: list[Unread] = []
    alone = not any(_split(line) for _, line in lines)
    at = 0
    while at < len(lines):
        n, line = lines[at]
        below = lines[at + 1][1] if at + 1 < len(lines) else ""
        stacked = _stacked(line, below, alone=alone)
        if not stacked and (pair := _split(line)):
            pairs.append(with_unit(Pair(*pair, n)))
        elif stacked:
            pairs.append(with_unit(Pair(line.rstrip(": "), below, n)))
            at += 1
        else:
            others.append(Unread(line, n, heading=not alone and _heading(line)))
        at += 1
    if alone and pairs and len(pairs) <= len(others):
        return [], [Unread(line, n) for n, line in lines]  # no list of settings at all
    return pairs, others


def with_unit(pair: Pair) -> Pair:
    """'Return altitude (m): 60' as 'Return altitude: 60 m'."""
    found = _IN_NAME.match(pair.name)
    if found and measure_called(found[2]):
        if re.fullmatch(r"[+\-−]?[\d.,]+", pair.value):
            return Pair(found[1], f"{pair.value} {found[2]}", pair.line)
        return Pair(found[1], pair.value, pair.line)
    return pair


def _cleaned(line: str) -> str:
    line = _BULLET.sub("", line.strip("﻿ \r\n"))
    if line.startswith("|") and line.endswith("|"):
        cells = [cell.strip() for cell in line.strip("|").split("|")]
        line = "\t".join(cells[:2]) if len(cells) >= 2 and any(cells[1:]) else cells[0]
        if [cell.casefold() for cell in cells[:2]] in (["setting", "value"], ["name", "value"]):
            return ""
    return line.replace("**", "").replace("`", "").strip()


def _split(line: str) -> tuple[str, str] | None:
    if line.endswith(":") or line.startswith("#") or re.fullmatch(r"\[.*\]", line):
        return None
    for rule in _SPLITS:
        name, value = _halves(rule, line)
        if name and value and re.search(r"[^\W\d_]", name):
            return name, value
    return None if field_called(line) else _by_name(line) or _by_value(line)


def _halves(rule: re.Pattern[str], line: str) -> tuple[str, str]:
    found = rule.search(line)
    if found is None:
        return line, ""
    return line[: found.start()].strip(), line[found.end() :].strip()


def _by_value(line: str) -> tuple[str, str] | None:
    """'Return altitude 60 m', 'Landing protection On': the value is what can be read as one."""
    words = line.split(" ")
    for at in range(1, len(words)):
        name, value = " ".join(words[:at]), " ".join(words[at:])
        if re.search(r"[^\W\d_]", name) and _is_value(value):
            return name, value
    return None


def _is_value(text: str) -> bool:
    try:
        return read_value(text).kind is not ValueKind.CHOICE
    except ValueFaultError:
        return True  # it is a value, though one to ask about


def _heading(line: str) -> bool:
    """A line that only groups what stands under it."""
    return (
        line.endswith(":")
        or line.startswith("#")
        or bool(re.fullmatch(r"\[.*\]", line))
        or (len(line.split()) <= 4 and not re.search(r"\d", line))
    )


def _stacked(name: str, below: str, *, alone: bool) -> bool:
    """Whether a name stands above its value, as copied from a screen.

    In a list that has such lines only, any line above a value is a name; else a known one.
    """
    if not below or not re.search(r"[^\W\d_]", name) or field_called(below) or _is_value(name):
        return False
    if field_called(name):
        return _is_value(below) or (_split(below) is None and len(below.split()) <= _FEW)
    return alone and _is_value(below)


def _by_name(line: str) -> tuple[str, str] | None:
    """'Signal loss action Return to home': the longest known name that the line begins with."""
    words = line.split(" ")
    for at in range(len(words) - 1, 0, -1):
        if field_called(" ".join(words[:at])):
            return " ".join(words[:at]), " ".join(words[at:])
    return None
