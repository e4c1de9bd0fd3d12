"""Which versions a statement is about: single ones, ranges, all before or after one.

Their form is fixed, so they are found by scanning; a version that is named as the cure, or as the
one to stay on, is none of them.
"""

from __future__ import annotations

import re

from triage.domain.notes import Role
from triage.reading.facts import Facts

_V = r"v?(\d+(?:\.[\dxX*]+){1,4}[a-z]?\d*|[A-Z]{1,2}\d{1,3}[a-z]?)"
_RANGE = re.compile(rf"{_V}\s?(?:-|–|—|to|through|thru|until|\.\.|bis)\s?{_V}")
_BELOW = re.compile(
    rf"(?:below|before|older than|earlier than|prior to|lower than|under|anything before|<)\s"
    rf"(?:version|firmware|release)?\s?{_V}",
    re.I,
)
_UP_TO = re.compile(
    rf"(?:up to(?: and including)?|through|until|<=|≤)\s?(?:version|firmware|release)?\s?{_V}"
    rf"|{_V}\s(?:and|or|&)\s(?:earlier|older|below|before|lower)",
    re.I,
)
_CURE = re.compile(
    r"(?:fixed|mended|solved|corrected|cured|gone|repaired|removed|addressed|resolved|install"
    r"|update|upgrade|updating|updated|move|back|return|revert|downgrade|stay|remain|keep|use|with"
    r"|until|wait|by|take|needs?|from)"
    r"(?:\s(?:in|to|on|for|with|at|by|version|firmware|release|you have|installed)){0,3}\s?\Z",
    re.I,
)
_STAY = re.compile(
    r"\b(?:stay|remain|keep using|safe to fly|not affected|unaffected|is fine|are fine)\b", re.I
)
_ONLY = re.compile(
    r"\b(?:only|just|solely)\b.{0,30}\Z"
    r"|\b(?:in|with|on|since|affect(?:s|ed|ing)|introduced in|came with|of)"
    r"\s(?:version|firmware|release)?\s?\Z",
    re.I,
)
_ABOUT_DEFECTS = (Role.KNOWN_ISSUE, Role.NOTICE)


_BACK = re.compile(
    r"\b(?:these|those|this|such|said|the two|either|both)\s(?:two\s|three\s)?"
    r"(?:versions?|releases?|firmwares?|builds?|packs?|aircraft|units?|batteries|ones?)\b"
    r"|\bwith (?:it|them|these|those)\b|\b(?:them|these two)\b",
    re.I,
)


def points_back(text: str) -> bool:
    """Whether a statement speaks of the versions of the one before ('these versions')."""
    return bool(_BACK.search(text))


def affected_in(text: str, role: Role, facts: Facts, own: str) -> tuple[str, ...]:
    """The versions affected, as the advice reads them: '4.2.5', '4.2.0 to 4.2.5', 'before 4.3',
    '4.1 and earlier'. `own` is the version of the release the statement stands under."""
    if role not in (*_ABOUT_DEFECTS, Role.CHANGE):
        return ()
    found: list[str] = []
    taken: list[tuple[int, int]] = []
    for pattern, form in (
        (_RANGE, "{0} to {1}"),
        (_UP_TO, "{0} and earlier"),
        (_BELOW, "before {0}"),
    ):
        for m in pattern.finditer(text):
            if any(a < m.end() and m.start() < b for a, b in taken):
                continue
            named = [group for group in m.groups() if group]
            taken.append(m.span())
            if not _CURE.search(text[: m.start()]) or pattern is not _RANGE:
                found.append(form.format(*named))
    for candidate, part, _ in facts.versions:
        inside = any(a <= candidate.start < b for a, b in taken)
        before = text[: candidate.start]
        if (
            inside
            or "." not in candidate.words
            or _STAY.search(text[candidate.end : candidate.end + 40])
        ):
            continue
        if (
            part == "affected"
            or (role in _ABOUT_DEFECTS and part != "required" and not _CURE.search(before))
            or (role is Role.CHANGE and candidate.words != own and _ONLY.search(before))
        ):
            found.append(candidate.words)
    return tuple(dict.fromkeys(found))
