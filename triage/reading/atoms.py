"""Blocks to atoms: the smallest pieces that may be a statement.

Wrapped lines are put together, then cut at sentence ends, semicolons, independent clauses and
cells. Where form alone does not decide (does the next line go on? does a new clause begin?), a
small linear model does. Which atoms make one statement is told later, by the roles.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from triage.reading.formats.blocks import Block, Shape
from triage.reading.linear import Linear
from triage.reading.mapped import Mapped, joined

MOST = 1200  # characters of an atom; what is longer is cut at a blank


class Atom(NamedTuple):
    """One piece with its layout; `after` tells what parts it from the piece before.

    `after`: block, line, sentence, semicolon, clause, label, cell. `cell` counts from 0, `cells`
    is how many the row has, `label` the heading of its column.
    """

    mapped: Mapped
    after: str
    shape: Shape
    level: int
    marker: str
    indent: int
    quoted: int
    gap: int
    bold: bool
    cell: int = 0
    cells: int = 1
    label: str = ""

    @property
    def text(self) -> str:
        """Its words."""
        return self.mapped.text


class Cutter(NamedTuple):
    """The two models: whether a line goes on, whether a clause stands by itself."""

    lines: Linear
    clauses: Linear


_ABBREVIATION = re.compile(
    r"(?:\b(?:e\.g|i\.e|etc|approx|vs|no|nr|fig|ver|cf|resp|incl|max|min|St|Dr|Mr|Sec|Rev|Jan|Feb"
    r"|Mar|Apr|Jun|Jul|Aug|Sept?|Oct|Nov|Dec|a\.m|p\.m)|(?<!\d\s)(?<!\d)\b[A-Z])\.\Z"
)
_END = re.compile(r"[.!?…][\"')\]]{0,2}(?=\s+[^\s\da-z,;.!?]|\s+\d{1,2}[.)]\s|\s+\d+ )|[。！？]")
_SEMICOLON = re.compile(r";(?=\s)|\s[·•|◆▪]\s|\s\u2014\s(?=[A-Z])|\s//?\s")
_DATED = re.compile(r"\A\d{8}:\s")  # '20260714: ...', as configuration notices begin
_CLAUSE = re.compile(
    r",?\s+(?:and|but|or|also|so|while|plus|as well as|then)\s+(?=\S)|,\s+(?=[a-zA-Z])"
    r"|\s[-–—+]\s|:\s+(?=\S)"
)
_WORD = re.compile(r"[^\W\d_]+(?:'[a-z]+)?|\d+|[^\w\s]")


def atoms_of(blocks: Iterable[Block], cutter: Cutter) -> Iterator[Atom]:
    """The atoms of a document, in order."""
    for lines in paragraphs(blocks, cutter.lines):
        first = lines[0]
        if first.shape is Shape.ROW:
            yield from _row(first, lines[1:], cutter)
        else:
            mapped = joined([line.mapped for line in lines])
            yield from _pieces(_layout(first, mapped, "block"), cutter)


def paragraphs(blocks: Iterable[Block], model: Linear) -> Iterator[list[Block]]:
    """Lines that go on in the next one, together; every other block alone."""
    open_: list[Block] = []
    width = 0
    for block in blocks:
        if open_ and goes_on(open_, block, width, model):
            open_.append(block)
        else:
            if open_:
                yield open_
            open_ = [block]
        width = (
            max(width, min(160, block.indent + len(block.text)))
            if block.shape is Shape.LINE
            else width
        )
    if open_:
        yield open_


def goes_on(open_: Sequence[Block], block: Block, width: int, model: Linear) -> bool:
    """Whether a line belongs to the paragraph above it."""
    if block.shape is not Shape.LINE or block.gap > 1 or open_[-1].shape is Shape.HEADING:
        return False
    if sum(len(one.text) for one in open_) > MOST:
        return False
    return model.chances(line_features(open_, block, width))["on"] >= 0.5


def line_features(open_: Sequence[Block], block: Block, width: int) -> list[str]:
    """What tells whether `block` goes on with the lines above; widths in characters."""
    above, first = open_[-1], open_[0]
    end, begin = above.text[-1:], block.text[:1]
    tokens = _WORD.findall(block.text[:80])
    before = _WORD.findall(above.text[-80:])
    length = above.indent + len(above.text)
    fits = length + 1 + len(block.text.split(" ", 1)[0]) <= max(width, 60)
    return [
        f"gap={min(block.gap, 2)}",
        f"soft={block.soft}",
        f"end={_sort(end)}",
        f"end={end if not end.isalnum() else ''}",
        f"begin={_sort(begin)}",
        f"ends={_sort(end)}{_sort(begin)}{min(block.gap, 1)}",
        f"shape={above.shape}{first.shape}",
        f"full={not fits}",
        f"full={not fits},{_sort(begin)},{_sort(end)}",
        f"long={min(5, len(above.text) // 20)}",
        f"short={min(4, len(block.text) // 15)}",
        f"deeper={_compare(block.indent, above.indent)}{_compare(block.indent, first.indent)}",
        f"deeper={_compare(block.indent, above.indent)}{first.shape}{_sort(begin)}",
        f"quoted={block.quoted == above.quoted}",
        f"bold={above.bold}{block.bold}",
        f"lines={min(3, len(open_))}",
        f"first={tokens[0].lower() if tokens else ''}",
        f"last={before[-1].lower() if before else ''}",
        f"colon={':' in block.text[:40]}{':' in above.text[:40]}",
        f"cells={len(above.cells) > 1}{len(block.cells) > 1}",
        f"digit={any(c.isdigit() for c in block.text[:12])}",
    ]


def _sort(char: str) -> str:
    if not char:
        return "none"
    if char.isalpha():
        return "upper" if char.isupper() else "lower" if char.islower() else "other"
    return "digit" if char.isdigit() else "stop" if char in ".!?。" else "mark"


def _compare(a: int, b: int) -> str:
    return "<" if a < b else ">" if a > b else "="


def _layout(block: Block, mapped: Mapped, after: str) -> Atom:
    return Atom(
        mapped,
        after,
        block.shape,
        block.level,
        block.marker,
        block.indent,
        block.quoted,
        block.gap,
        block.bold,
    )


def _row(block: Block, more: Sequence[Block], cutter: Cutter) -> Iterator[Atom]:
    """Cells one after the other; lines that go on belong to the last cell."""
    count = len(block.cells)
    for number, cell in enumerate(block.cells):
        if number == count - 1 and more:
            cell = joined([cell, *(line.mapped for line in more)])
        label = block.labels[number] if block.labels else ""
        if not label and number and len(block.cells[0].text) < 60:
            label = block.cells[0].text
        atom = _layout(block, cell, "cell" if number else "block")
        yield from _pieces(atom._replace(cell=number, cells=count, label=label), cutter)


def _pieces(atom: Atom, cutter: Cutter) -> Iterator[Atom]:
    """The atom cut at sentences, semicolons and clauses."""
    text = atom.text
    after, label = atom.after, atom.label
    begin = 0
    for at, stop, sort in (*cuts(text, cutter.clauses), (len(text), len(text), "")):
        piece = atom.mapped.cut(begin, at)
        if piece.text:
            yield from _short(atom._replace(mapped=piece, after=after, label=label))
            after = sort
            label = piece.text.rstrip(":") if sort == "label" else label
        begin = stop


def _short(atom: Atom) -> Iterator[Atom]:
    text = atom.text
    if len(text) <= MOST:
        yield atom
        return
    begin, after = 0, atom.after
    while begin < len(text):
        end = min(len(text), begin + MOST)
        if end < len(text):
            end = max(text.rfind(" ", begin + MOST // 2, end), begin + MOST // 2)
        yield atom._replace(mapped=atom.mapped.cut(begin, end), after=after)
        begin, after = end, "line"


def cuts(text: str, model: Linear | None) -> list[tuple[int, int, str]]:
    """Where a text is cut: (end of the piece before, start of the next, what parts them)."""
    found = [(m.end(), m.end(), "sentence") for m in _END.finditer(text)]
    found = [cut for cut in found if not _ABBREVIATION.search(text, max(0, cut[0] - 12), cut[0])]
    found += [(m.start() + (m[0] == ";"), m.end(), "semicolon") for m in _SEMICOLON.finditer(text)]
    found += [(m.start(), m.end(), "line") for m in re.finditer("\n", text)]
    found += [(m.end() - 1, m.end(), "label") for m in _DATED.finditer(text)]
    if model is not None:
        edges = sorted([0, *(stop for _, stop, _ in found), len(text)])
        for at, stop, mark in candidates(text):
            features = clause_features(text, at, stop, mark, edges)
            if model.chances(features)["cut"] >= 0.5:
                found.append((at, stop, "label" if mark == ":" else "clause"))
    clean: list[tuple[int, int, str]] = []
    for cut in sorted(found):
        if not clean or cut[0] > clean[-1][1]:
            clean.append(cut)
    return clean


def candidates(text: str) -> Iterator[tuple[int, int, str]]:
    """Places where an independent clause may begin: (end before, start after, the mark)."""
    for m in _CLAUSE.finditer(text):
        mark = m[0].strip() or " "
        yield (m.start() + 1 if mark == ":" else m.start()), m.end(), mark


def clause_features(text: str, at: int, stop: int, mark: str, edges: Sequence[int]) -> list[str]:
    """What tells whether the words behind `stop` are a statement of their own."""
    left = max(edge for edge in edges if edge <= at) if edges else 0
    right = min((edge for edge in edges if edge >= stop), default=len(text))
    before = _WORD.findall(text[max(left, at - 100) : at])
    behind = _WORD.findall(text[stop : min(right, stop + 100)])
    b = [word.lower() for word in before[-4:]]
    n = [word.lower() for word in behind[:4]]
    low = mark.lower()
    return [
        f"mark={low}",
        f"m,n={low},{n[0] if n else ''}",
        f"m,n2={low},{' '.join(n[:2])}",
        f"m,b={low},{b[-1] if b else ''}",
        *(f"n{i}={word}" for i, word in enumerate(n)),
        *(f"b{i}={word}" for i, word in enumerate(reversed(b))),
        *(f"in:{low}:{word.lower()}" for word in behind[4:14]),
        *(f"bf:{word.lower()}" for word in before[:2]),
        f"bf0,n0={before[0].lower() if before else ''},{n[0] if n else ''}",
        f"ing={n[0][-3:] if n else ''}{low}",
        f"ending={b[-1][-3:] if b else ''}",
        f"long={min(6, (at - left) // 20)},{min(6, (right - stop) // 20)}",
        f"short={at - left < 25}{right - stop < 25}{low}",
        f"upper={text[stop : stop + 1].isupper()}{low}",
        f"open={text.count('(', left, at) > text.count(')', left, at)}",
        f"first={at - left < 30 and left == 0}{low}",
    ]
