"""Requirement sentences ('needs app 5.3 or later') as structured requirements.

A sentence is read in three steps: what kind of demand it makes (needs, not with, first, with),
which units and versions it names, and which version belongs to which unit and how it compares.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from triage.domain.notes import Comparison, Place, Requirement
from triage.notes.rules import pattern, requirement_rules, word_set
from triage.notes.sentences import sentences, words_of
from triage.notes.units import component_mentions, component_of
from triage.notes.versions import versions_in

_DATA = requirement_rules()
_UPDATE = _DATA.updating


def _demand(alternatives: tuple[str, ...]) -> re.Pattern[str]:
    within = r"(?:[^.;]|\.(?=\d))"  # within a sentence; a point inside a version does not end it
    return pattern(
        text.replace("{update}", _UPDATE).replace("[^.;]", within) for text in alternatives
    )


_NEED = _demand(_DATA.demands.need)
_WEAK = _demand(_DATA.demands.weak)
_NOT = _demand(_DATA.demands.refuse)
_FIRST = _demand(_DATA.demands.first)
_WITH = _demand(_DATA.demands.together)
_CHANGE = _demand(_DATA.demands.change)
TRIGGERS = word_set(_DATA.words.trigger)
_NOT_WORDS = word_set(_DATA.words.refuse)
_FIRST_WORDS = word_set(_DATA.words.first)
_NEED_WORDS = word_set(_DATA.words.need)
_WITH_WORDS = word_set(_DATA.words.together)
_BACK_WORDS = word_set(_DATA.words.back)
_STOP_NAMES = word_set(_DATA.words.no_name)

_SIGNS = re.compile(r"\d\+|≥|>=")
_UPDATING = word_set("updat upgra flash insta firmw softw versi app apps start")
_LATER = re.compile(
    r"\s*(?:\)|version|firmware|\]|,)?\s*(?:\+|(?:or|and|/)\s+(?:any(?:thing)?\s+|a\s+)?"
    r"(?:later|newer|higher|above|greater|up\b|upwards?|onwards?|more recent)"
    r"|onwards?\b|upwards?\b)",
    re.I,
)
_EARLIER_AFTER = re.compile(
    r"\s*(?:or|and|/)\s+(?:any\s+)?(?:earlier|older|below|lower|prior|previous)", re.I
)
_EARLIER_BEFORE = re.compile(
    r"(?:\b(?:below|under|before|older than|earlier than|lower than|prior to|less than|predating)"
    r"|<)\s*(?:app |firmware )?(?:version |v)?\Z",
    re.I,
)
_LATER_BEFORE = re.compile(
    r"(?:\b(?:at least|minimum(?: \w+)?(?: version)?(?: of| is)?:?|min\.?|from|newer than"
    r"|later than|above|starting (?:with|from|at)|beginning with|since"
    r"|not (?:older|lower|earlier) than)"
    r"|>=?|≥)"
    r"\s*(?:version |v|firmware )?\Z",
    re.I,
)
_EXACT = re.compile(r"\b(?:exactly|precisely|only|same|identical|no other)\b", re.I)
_NUMBER_AFTER = re.compile(
    r"\s+(?:firmware |version |v)?(\d{1,4})(?=\s*(?:\+|or\b|and\b|[,.;)]|\Z))"
)
_NAME_BEFORE = re.compile(
    r"((?:\b(?:[A-Z][\w+-]*|[a-z][A-Z]\w*|\d{1,3})\s+){0,4}(?:[A-Z][\w+-]*|[a-z][A-Z]\w*))"
    r"(?:\s+(?:app|firmware|software|version|release|build|system|fw|v|ver\.?|to|at|on|running|of"
    r"|is|the|must|needs|be|updated|upgraded|or)\b|\s*[:(])*\s*(?:>=|≥|>)?\s*v?\Z"
)
_DIRECT = re.compile(
    r"\W*(?:\d{1,2}\W*)?(?:(?:firmware|is|are|can|will|may|must|should)\W*){0,2}\Z", re.I
)
# 'Before pairing' is no order of updates, 'before installing this version' is.
_ORDERED = re.compile(
    rf"\bfirst\b|\bafter\b|\b(?:before|prior to|ahead of)\b[^,;]{{0,40}}\b(?:{_UPDATE}|this)\b",
    re.I,
)
_TOO = re.compile(r"\b(?:both|also|too|as well|together|at the same time|alongside)\b", re.I)
_BOTH = re.compile(r"\b(?:both|together|same time)\b", re.I)
_SOFTWARE = re.compile(rf"\b(?:{_UPDATE}|firmware|version|software|app)\b", re.I)
_ABILITY = re.compile(
    r"\bcan (?:now )?be updated|\bnow (?:supports?|updates?)|\bwill update\b", re.I
)
_THEN = re.compile(r"\bthen\b", re.I)
_AFTER = re.compile(r"\bafter\b", re.I)
_BEFORE = re.compile(r"\b(?:before|prior to|ahead of)\b", re.I)
_NOT_NAME = re.compile(
    r"(?:with|on|for|by|to|use|combine|mix|install)\s+"
    r"(?:the\s+|any\s+|an?\s+|older\s+|previous\s+)*([A-Za-z][\w+' -]{1,50}?)"
    r"(?=\s*(?:[,.;:()]|\b(?:and|or|any ?more|firmware|since|because|in|with)\b|\Z))",
    re.I,
)


class _Named(NamedTuple):
    """A unit named in a sentence."""

    start: int
    end: int
    component: str
    name: str


def requirements_in(
    text: str, place: Place, *, component: str = "", unit: str = ""
) -> list[Requirement]:
    """The requirements that a statement makes; `component` and `unit` are the release's own.

    A version that no unit is named for ('update to 2.0 first') is one of the release's own unit.
    """
    if TRIGGERS.isdisjoint(words_of(text)) and not _SIGNS.search(text):
        return []
    found: list[Requirement] = []
    for start, end in sentences(text):
        sentence = text[start:end]
        if len(sentence) <= 600 and not _CHANGE.match(sentence):
            found += _in_sentence(sentence, place, component, unit)
    distinct = {(r.component or r.name, r.comparison, r.version): r for r in reversed(found)}
    return list(reversed(distinct.values()))


def _in_sentence(sentence: str, place: Place, own: str, unit: str) -> list[Requirement]:
    words = set(words_of(sentence))
    if not words.isdisjoint(_BACK_WORDS):
        return []
    numbered = any(char.isdigit() for char in sentence)
    if not numbered and words.isdisjoint(_NOT_WORDS):
        if words.isdisjoint(_FIRST_WORDS) and words.isdisjoint(_WITH_WORDS):
            return []
        if not any(word[:5] in _UPDATING for word in words):
            return []
    refused = None if words.isdisjoint(_NOT_WORDS) else _NOT.search(sentence)
    first = None if words.isdisjoint(_FIRST_WORDS) else _FIRST.search(sentence)
    signed = bool(_SIGNS.search(sentence))
    needed = _NEED.search(sentence) if signed or not words.isdisjoint(_NEED_WORDS) else None
    together = not words.isdisjoint(_WITH_WORDS) and _WITH.search(sentence)
    if not (refused or first or needed or together):
        return []
    named = _units(sentence)
    stated = _versions(sentence, named)
    if not stated:
        return _without_version(sentence, named, place, refused, first, needed)
    found = []
    weak = needed is not None and not refused and not first and _only_weak(sentence)
    for start, end, version in stated:
        who = _owner(sentence, named, start, end)
        if who is None:
            who = _Named(start, start, own, unit)
            if not (first or needed) or not _UPDATE_TO.search(sentence[:start]):
                continue
        how, later = _comparison(sentence, start, end, who.start, refused=bool(refused))
        if weak and not later and how is Comparison.AT_LEAST:
            continue
        if not (refused or needed or first) and not later:
            continue
        if _speaks_of_itself(sentence, start, refused=bool(refused)):
            continue
        ordered = first and not refused and _ORDERED.search(sentence)
        if ordered and how is Comparison.AT_LEAST and _is_first(sentence, who.start):
            how = Comparison.FIRST
        found.append(_requirement(who, how, version, sentence, place))
    return found


_UPDATE_TO = re.compile(
    rf"\b{_UPDATE} (?:first )?(?:to|from)\b|\bat least\b|\bminimum\b|\bfrom\b", re.I
)
_SELF = re.compile(
    r"\b(?:this (?:release|version|firmware|update)|release|since|introduced in|as of|in"
    r"|had|unlike)\s+"
    r"(?:version |v|firmware )?\Z|\bfrom (?:version )?v?[\d.]+ to (?:version )?v?\Z",
    re.I,
)


def _speaks_of_itself(sentence: str, start: int, *, refused: bool) -> bool:
    """Whether the version is the release's own ('since 2.1', 'Firmware 2.1 requires app 5')."""
    before = sentence[:start]
    if _SELF.search(before):
        return True
    if refused:
        return False
    after = sentence[start:]
    verb = re.search(r"\b(?:requires?|needs?|depends? on|works only|only works)\b", after, re.I)
    begins = len(before.split()) <= 4
    return bool(verb) and begins and bool(versions_in(after[verb.end() :])) if verb else False


def _only_weak(sentence: str) -> bool:
    """'Compatible with X 2.0' tells of a demand only when it says 'or later' or 'only'."""
    rest = _WEAK.sub(" ", sentence)
    return not _NEED.search(rest)


def _units(sentence: str) -> list[_Named]:
    """Units named: vocabulary names, together with the capitalised words and 'firmware' around."""
    found = []
    for start, end, component in component_mentions(sentence):
        lead = re.search(r"(?:\b[A-Z][\w+-]*(?:\s+\d{1,2})?\s+){1,4}\Z", sentence[:start])
        begin = start
        if lead:
            words = lead.group().split()
            while words and words[0].lower() in _STOP_NAMES:
                words.pop(0)
            if words:
                begin = (
                    sentence.rfind(words[0], 0, start)
                    if len(words) == 1
                    else sentence.find(" ".join(words), lead.start())
                )
                begin = begin if 0 <= begin < start else start
        found.append(_Named(begin, end, component, sentence[begin:end]))
    return found


def _versions(sentence: str, named: list[_Named]) -> list[tuple[int, int, str]]:
    versions = versions_in(sentence)
    taken = {start for start, _, _ in versions}
    whole = [
        (m.start(1), m.end(1), m.group(1))
        for unit in named
        if (m := _NUMBER_AFTER.match(sentence, unit.end)) and m.start(1) not in taken
    ]
    for m in re.finditer(
        r"\b(?:system|[A-Za-z]*OS)\s+(\d{1,2})\b(?!\.\d)|\bversion\s+(\d{1,4})\b(?![.\d])",
        sentence,
    ):
        group = 1 if m.group(1) else 2
        whole.append((m.start(group), m.end(group), m.group(group)))
    return sorted({*versions, *whole})


def _owner(sentence: str, named: list[_Named], start: int, end: int) -> _Named | None:
    """The unit that a version belongs to: the name just before it, else 'version 2 of the X'."""
    free = _NAME_BEFORE.search(sentence[:start])
    before = [unit for unit in named if unit.end <= start and start - unit.end <= 60]
    after = [unit for unit in named if 0 <= unit.start - end <= 40]
    of = re.match(
        r"\s*(?:or (?:later|newer|higher|above)|\+)?\s*(?:of|for|on|in) (?:the |your )?",
        sentence[end:],
        re.I,
    )
    if of and after and after[0].start - end <= of.end() + 25:
        return after[0]
    if free:
        words = free.group(1).split()
        while words and words[0].lower() in _STOP_NAMES:
            words.pop(0)
        name = " ".join(words)
        if name and not (before and before[-1].start >= start - len(free.group())):
            return _Named(free.start(1), free.end(1), component_of(name), name)
    if before:
        between = sentence[before[-1].end : start]
        if not versions_in(between) and not re.search(r"[;]", between):
            return before[-1]
    if after and not before and re.match(r"[^.;,]{0,25}\Z", sentence[end : after[0].start]):
        return after[0]
    return None


def _comparison(
    sentence: str, start: int, end: int, unit: int, *, refused: bool
) -> tuple[Comparison, bool]:
    """How the version compares, and if 'or later' is said; the unit's name starts at `unit`."""
    after = sentence[end:]
    fronts = {sentence[:start], sentence[: min(unit, start)]}  # 'app from 2.1', 'from app 2.1'
    below = bool(_EARLIER_AFTER.match(after) or any(_EARLIER_BEFORE.search(f) for f in fronts))
    later = bool(_LATER.match(after) or any(_LATER_BEFORE.search(f) for f in fronts))
    if refused:
        if below:
            return Comparison.AT_LEAST, later
        return (Comparison.BELOW if later else Comparison.NOT_WITH), later
    if below:
        return Comparison.BELOW, later
    exact = not later and _EXACT.search(sentence[:start])
    return (Comparison.EXACTLY if exact else Comparison.AT_LEAST), later


def _is_first(sentence: str, start: int) -> bool:
    """Whether the unit stands on the side of the sentence that comes first in time."""
    before = _BEFORE.search(sentence)
    then = _THEN.search(sentence)
    if then and start > then.start():
        return False
    after = _AFTER.search(sentence)
    if after and start > after.start():
        stop = sentence.find(",", after.end())
        return stop < 0 or start < stop
    if before is None:
        return bool(re.search(r"\bfirst\b|\bstart with\b", sentence, re.I))
    if before.start() == 0 or before.start() < 8:  # 'Before updating the aircraft, update ...'
        comma = re.search(r"[,:]", sentence)
        return bool(comma) and start > comma.start() if comma else False
    return start < before.start()


def _without_version(
    sentence: str,
    named: list[_Named],
    place: Place,
    refused: re.Match[str] | None,
    first: re.Match[str] | None,
    needed: re.Match[str] | None,
) -> list[Requirement]:
    if refused:
        return _refused(sentence, named, place, refused)
    if first:
        units = [unit for unit in named if _is_first(sentence, unit.start)][:2]
        if units:
            return [_requirement(u, Comparison.FIRST, "", sentence, place) for u in units]
    return _together(sentence, named, place, needed)


def _together(
    sentence: str, named: list[_Named], place: Place, needed: re.Match[str] | None
) -> list[Requirement]:
    """Units that have to be updated too: 'update both', 'the latest app is required'."""
    asked = needed is not None and not _only_weak(sentence)
    if not (named and _WITH.search(sentence) and (asked or _TOO.search(sentence))):
        return []
    if not _SOFTWARE.search(sentence) or _ABILITY.search(sentence):
        return []
    behind = needed.end() if needed and needed.start() else 0
    units = named if _BOTH.search(sentence) else [u for u in named if u.start >= behind] or named
    return [_requirement(u, Comparison.WITH, "", sentence, place) for u in units[:4]]


def _refused(
    sentence: str, named: list[_Named], place: Place, refused: re.Match[str]
) -> list[Requirement]:
    behind = [unit for unit in named if unit.start >= refused.end()]
    after = _NOT_NAME.match(sentence[refused.end() :].lstrip())
    if after is None and re.search(r"\b(?:use|combine|mix|install)\Z", refused.group(), re.I):
        after = _NOT_NAME.match(f"use {sentence[refused.end() :].lstrip()}")
    if after:
        name = after.group(1).strip()
        itself = name.lower().split()[0] in ("it", "this", "them", "these", "that")
        if (
            itself
            and behind
            and re.search(r"\b(?:with|on|in)\b", sentence[refused.end() : behind[0].start])
        ):
            return [_requirement(behind[0], Comparison.NOT_WITH, "", sentence, place)]
        if itself or len(name.split()) > 7:
            return _subject(sentence, named, place, refused)
        if not (component_of(name) or any(c.isupper() or c.isdigit() for c in name)):
            return []
        match = next((u for u in behind), None)
        component = component_of(name) or (match.component if match and match.name in name else "")
        return [
            _requirement(_Named(0, 0, component, name), Comparison.NOT_WITH, "", sentence, place)
        ]
    return _subject(sentence, named, place, refused)


def _subject(
    sentence: str, named: list[_Named], place: Place, refused: re.Match[str]
) -> list[Requirement]:
    """'The motion controller cannot be used': the unit refused stands before the verb."""
    passive = re.search(r"supported|used|compatible|no longer work", refused.group(), re.I)
    ahead = [unit for unit in named if unit.end <= refused.start()]
    if re.match(
        r"\s*(?:in|while|during|when|at|below|above|if|outside|for)\b", sentence[refused.end() :]
    ):
        return []
    if passive and ahead and _DIRECT.match(sentence[ahead[-1].end : refused.start()]):
        return [_requirement(ahead[-1], Comparison.NOT_WITH, "", sentence, place)]
    return []


def _requirement(
    who: _Named, how: Comparison, version: str, sentence: str, place: Place
) -> Requirement:
    return Requirement(
        component=who.component,
        name=who.name.strip(),
        comparison=how,
        version=version,
        text=sentence,
        place=place,
    )
