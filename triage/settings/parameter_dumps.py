"""Dumps of flight controllers: `set name = value`, and lists of parameters, tab, comma or blank.

The forms are those of open flight firmware: a command line's dump, and parameter files with a name
and a number a line, with or without the ids of system and component before them.
"""

from __future__ import annotations

import re

from triage.settings.pasted_text import Pair, Unread

_SET = re.compile(r"set\s+(\S+)\s*=\s*(.+)", re.IGNORECASE)
_SWITCHED = re.compile(r"(feature|beeper|beacon)\s+(-?)(\S+)", re.IGNORECASE)
_INDEXED = re.compile(
    r"(aux|serial|servo|smix|mmix|led|color|mode_color|rxrange|adjrange|vtxtable|vtx|map|mixer"
    r"|resource|timer|dma|name|board_name|manufacturer_id)\s+(.+)",
    re.IGNORECASE,
)
_PROFILE = re.compile(r"((?:rate|mixer_|battery_|control_)?profile)\s+(\d+)", re.IGNORECASE)
_STRUCTURE = re.compile(r"(?:#.*|//.*|batch\s+\w+|defaults\b.*|save|exit|diff.*|dump.*)", re.I)
_WITH_IDS = re.compile(r"\d+\s+\d+\s+([A-Z][A-Z0-9_]+)\s+(\S+)\s+\d+")
_NUMBERED = re.compile(r"([A-Z][A-Z0-9]*_[A-Z0-9_]+)[\s,;=]+([-+]?[\d.]+(?:[eE][-+]?\d+)?)")
_LEAST = 2  # lines of a form before a text is taken for it (assumption)
_SHARE = 0.5  # of the lines that are no comment


def is_dump(text: str) -> bool:
    """Whether a text is a flight controller's dump or parameter file."""
    lines = [line for raw in text.splitlines() if (line := raw.strip()) and line[0] not in "#/"]
    if sum(bool(_SET.fullmatch(line)) for line in lines) >= _LEAST:
        return True
    hits = sum(bool(_parameter(line)) for line in lines)
    return hits >= _LEAST and hits >= _SHARE * len(lines)


def from_dump(text: str) -> tuple[list[Pair], list[Unread]]:
    """The parameters, and the lines that are none; comments and commands count as headings.

    Parameters of a profile carry its name: 'rateprofile 1 roll_srate'.
    """
    pairs: list[Pair] = []
    others: list[Unread] = []
    within = ""
    for n, raw in enumerate(text.splitlines(), start=1):
        line = raw.strip()
        if not line:
            continue
        if profile := _PROFILE.fullmatch(line):
            within = f"{profile[1].casefold()} {profile[2]} "
            others.append(Unread(line, n, heading=True))
        elif found := _parameter(line) or _other(line):
            prefix = within if _SET.fullmatch(line) else ""
            pairs.append(Pair(f"{prefix}{found[0]}", found[1], n, raw=True))
        else:
            others.append(Unread(line, n, heading=bool(_STRUCTURE.fullmatch(line))))
    return pairs, others


def _parameter(line: str) -> tuple[str, str] | None:
    for form in (_SET, _WITH_IDS, _NUMBERED):
        if found := form.fullmatch(line):
            return found[1], found[2].strip()
    return None


def _other(line: str) -> tuple[str, str] | None:
    """`feature -GPS`, `aux 0 0 0 1700 2100`: all but the last part tells them apart."""
    if found := _SWITCHED.fullmatch(line):
        return f"{found[1]} {found[3]}", "off" if found[2] else "on"
    if found := _INDEXED.fullmatch(line):
        first, _, rest = found[2].partition(" ")
        return (f"{found[1]} {first}", rest) if rest else (found[1], first)
    return None
