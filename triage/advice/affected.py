"""Whether a version is among those that a statement names as affected."""

from __future__ import annotations

import re
from collections.abc import Sequence

from triage.kit.versions import compare

_BELOW = re.compile(r"(?:<|below|before|earlier than|older than|prior to)\s*(.+)", re.I)
_UP_TO = re.compile(
    r"(?:<=|up to|through|until)\s*(.+)|(.+?)\s+(?:and|or) (?:earlier|older|below)", re.I
)
_FROM = re.compile(r"(?:>=|since)\s*(.+)|(.+?)\s+(?:and|or) (?:later|newer|above)|(.+)\+", re.I)
_RANGE = re.compile(r"(?:from\s+)?(.+?)\s*(?:\bto\b|\.\.|–|—|\s-\s|-(?=\d+\.))\s*(.+)", re.I)


def affected(versions: Sequence[str], installed: str) -> bool | None:
    """Whether `installed` is one of the versions named; None when that can't be told.

    Versions are as written: '4.2.5', '4.2.x', '4.2.0 to 4.2.5', 'before 4.3', '4.1 and earlier'.
    """
    if not versions or not installed:
        return None
    found = [_among(" ".join(version.split()), installed) for version in versions]
    if any(found):
        return True
    return None if None in found else False


def _among(stated: str, installed: str) -> bool | None:
    if (line := re.fullmatch(r"(\d+(?:\.\d+)*)\.[x*]", stated, re.I)) is not None:
        parts = re.findall(r"\d+", installed)
        return [int(p) for p in parts[: line[1].count(".") + 1]] == [
            int(p) for p in line[1].split(".")
        ]
    if end := _UP_TO.fullmatch(stated):
        return _holds(installed, end[1] or end[2], (-1, 0))
    if below := _BELOW.fullmatch(stated):
        return _holds(installed, below[1], (-1,))
    if start := _FROM.fullmatch(stated):
        return _holds(installed, next(g for g in start.groups() if g), (0, 1))
    if both := _RANGE.fullmatch(stated):
        low, high = _holds(installed, both[1], (0, 1)), _holds(installed, both[2], (-1, 0))
        if low is not None and high is not None:
            return low and high
    exact = compare(installed, stated)
    return None if exact is None else exact == 0


def _holds(installed: str, other: str, signs: tuple[int, ...]) -> bool | None:
    sign = compare(installed, other)
    return None if sign is None else sign in signs
