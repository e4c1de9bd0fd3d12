"""What a version line states: each version with the unit it is of."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from triage.classify.recogniser import Recogniser
from triage.domain.finds import Find
from triage.reading.assembly import Named, Stated, is_whole, slot_of
from triage.reading.candidates import Candidate
from triage.reading.facts import Facts
from triage.reading.formats.blocks import Shape
from triage.reading.statements import Statement

_UNKNOWN = "other"  # a unit that is named in words no vocabulary lists
_CODE = re.compile(r"[A-Za-z]{1,4}-\d+\w*")  # of a product, not of its software
_NAMED = re.compile(
    r"(?:\b(?:version|release|firmware|software|update|build|to|v)\b\W{0,3})\Z", re.I
)
_OLD = re.compile(
    r"\b(?:old|previous|before|prior|from|installed|was|last|current|supersedes)\b", re.I
)
_TABLE_WORDS = re.compile(
    r"\W*(?:new|old|current|previous)?\W*(?:version|release|firmware|software|package|item|component"
    r"|date|changes?|unit|product)s?\W*\Z",
    re.I,
)
_AROUND = re.compile(
    r"\b(?:firmware|software|version|ver|release[ds]?|update|package|fw|sw|v|notes?|changelog|new"
    r"|date|is|out|now|for|of|the)\b\.?|[^\x00-\u024f]+",
    re.I,
)


def stated_in(
    statement: Statement,
    facts: Facts,
    row: Sequence[Statement],
    line: int,
    recogniser: Recogniser,
) -> list[Stated]:
    """The versions of a version line; `row` are the statements of its table row so far, itself
    last. What stands in a column of old versions is left out."""
    own = [v for v, part, _ in facts.versions if part in ("release", "unit")]
    own = [v for v in own if _may_be(v, statement.text)] or _likeliest(statement, facts)
    if any("." in v.words for v in own):
        own = [v for v in own if "." in v.words]  # 'FC-3 1.22': the other is a name
    mentions = recogniser.read(statement.text).finds.components
    found = []
    begin = 0
    for candidate in own:
        atom = statement.atom_at(candidate.start)
        column = atom.label
        if statement.atom.shape is Shape.ROW and _OLD.search(column):
            continue
        if re.search(
            r"(?:\bfrom|\bsupersedes|\breplaces|\binstead of|\bprevious\w*)\W*\Z",
            statement.text[: candidate.start],
            re.I,
        ):
            continue
        head = statement.text[begin : candidate.start]
        unit = _unit(statement, candidate, head, column, mentions, row, recogniser)
        begin = candidate.end
        found.append(
            Stated(
                candidate.words,
                unit,
                slot_of(statement, atom.cell),
                is_whole(f"{head} {column}") or is_whole(row[0].text if row else ""),
                line,
                statement.first,
            )
        )
    return found


def _may_be(candidate: Candidate, text: str) -> bool:
    """Whether a number can be a version: dotted, with a letter ('R12b'), alone on its line, or
    behind a word for one; a product's code or size is none."""
    words = candidate.words
    if _CODE.fullmatch(words):
        return False
    lettered = any(c.isalpha() for c in words) and any(c.isdigit() for c in words)
    alone = words == text.strip(" :.,-–()[]")
    return "." in words or lettered or alone or bool(_NAMED.search(text[: candidate.start]))


def _likeliest(statement: Statement, facts: Facts) -> list[Candidate]:
    """Where no number is told to be a release's: a dotted one behind a word for a version."""
    dotted = [v for v, part, _ in facts.versions if "." in v.words and part != "required"]
    named = [v for v in dotted if _NAMED.search(statement.text[: v.start])]
    return named[-1:] or dotted[-1:]


def _unit(
    statement: Statement,
    candidate: Candidate,
    head: str,
    column: str,
    mentions: Sequence[Find],
    row: Sequence[Statement],
    recogniser: Recogniser,
) -> Named:
    """The unit of a version: named before it on its line, by its row's first cell, by its column,
    behind it in brackets, else by the title above."""
    before = [m for m in mentions if candidate.start - len(head) <= m.start < candidate.start]
    if before:
        return Named(before[-1].id, title_of(head) or before[-1].words, own=True)
    names = list(_row_names(statement, row))
    for words in (*names, column):
        component = first_component(words, recogniser)
        if component:
            return Named(component, title_of(words) or words, own=True)
    if names and title_of(names[0]):
        return Named(_UNKNOWN, title_of(names[0]), own=True)
    behind = [m for m in mentions if m.start >= candidate.end]
    if behind and behind[0].start - candidate.end < 25:
        return Named(behind[0].id, title_of(head) or behind[0].words, own=bool(title_of(head)))
    return Named(statement.context.unit, title_of(head))


def _row_names(statement: Statement, row: Sequence[Statement]) -> Iterator[str]:
    named = row and row[0] is not statement and not _TABLE_WORDS.fullmatch(row[0].text)
    if named and statement.atom.shape is Shape.ROW and not any(c in row[0].text for c in "./"):
        yield row[0].text


def first_component(title: str, recogniser: Recogniser) -> str:
    """The first component a title names, '' when none."""
    if not title or _TABLE_WORDS.fullmatch(title):
        return ""
    components = recogniser.read(title).finds.components
    return components[0].id if components else ""


def title_of(head: str) -> str:
    """The maker's name of a unit: what stands before its version, without words for a version."""
    words = " ".join(_AROUND.sub(" ", head).split())
    return words.strip(" -–—:,|.(/#[]·")[:60]
