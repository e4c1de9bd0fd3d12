"""Settings pasted as text, in any layout that keeps a name and its value together."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import NamedTuple

from triage.domain.snapshots import ValueKind
from triage.settings.setting_values import ValueFaultError, measure_called, read_value


class Pair(NamedTuple):
    """A name and its value as written; `line` counts from 1, 0 when there are no lines."""

    name: str
    value: str
    line: int = 0


class Unread(NamedTuple):
    """A line that holds no setting that could be told."""

    text: str
    line: int


_BULLET = re.compile(r"^\s*(?:[-*•·◦▪]|\d+[.)]|\[[ xX]?\])\s+")
_SPLITS = (
    re.compile(r"\s*[:=]\s*\t+\s*|\t+"),
    re.compile(r"\s*(?:\.{3,}|…+|_{3,}|-{3,})\s*"),
    re.compile(r"\s+=\s+|=|\s*:\s+|:(?=\S)|\s*->\s*|\s*→\s*"),
    re.compile(r"\s+[–—-]\s+"),
    re.compile(r"\s*;\s*"),
    re.compile(r"\s{2,}"),
)
_RULE = re.compile(r"^[\s|:+=_*#-]+$")
_IN_NAME = re.compile(r"^(.*\S)\s*[(\[]\s*([^()\[\]]{1,12})\s*[)\]]$")


def pairs_in(text: str) -> tuple[list[Pair], list[Unread]]:
    """The settings in a text, and the lines that hold none; headings are no settings."""
    lines = [(n, _cleaned(line)) for n, line in enumerate(text.splitlines(), start=1)]
    lines = [(n, line) for n, line in lines if line and not _RULE.match(line)]
    found = [(n, line, _split(line)) for n, line in lines]
    if not any(pair for _, _, pair in found):
        return _stacked(lines)
    pairs, unread = [], []
    for n, line, pair in found:
        if pair:
            pairs.append(with_unit(Pair(*pair, n)))
        elif not _heading(line):
            unread.append(Unread(line, n))
    return pairs, unread


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
    return _by_value(line)


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


def _stacked(lines: list[tuple[int, str]]) -> tuple[list[Pair], list[Unread]]:
    """Name and value on lines of their own, as copied from a screen."""
    named: Callable[[str], bool] = lambda text: bool(re.search(r"[^\W\d_]", text))  # noqa: E731
    rows = list(zip(lines[::2], lines[1::2], strict=False))
    valued = sum(_is_value(value) for _, (_, value) in rows)
    if len(lines) % 2 or not rows or valued * 2 < len(rows):
        return [], [Unread(line, n) for n, line in lines]
    return [with_unit(Pair(name, value, n)) for (n, name), (_, value) in rows if named(name)], []
