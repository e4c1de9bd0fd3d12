"""Fits the two models that cut a document into atoms: does a line go on, is a clause its own."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from triage.reading.atoms import Cutter, candidates, clause_features, cuts, line_features
from triage.reading.formats import blocks_of
from triage.reading.formats.blocks import Block, Shape
from triage.reading.mapped import joined
from triage.training.documents import Annotated, Span
from triage.training.linear_fit import fit_linear

_GAP = re.compile(r"[\s,;.:|*_\-–—•·<>/a-z&]*\Z")


class Places:
    """The spans of a document by place."""

    def __init__(self, spans: Sequence[Span]) -> None:
        self.spans = spans
        self._starts = [span.start for span in spans]

    def at(self, place: int) -> int:
        """The index of the span that holds a character of the source, -1 for none."""
        index = bisect_right(self._starts, place) - 1
        return index if index >= 0 and place < self.spans[index].end else -1


def fit_cutter(documents: Iterable[Annotated]) -> Cutter:
    """Both models from the documents' marks."""
    lines: list[tuple[list[str], str]] = []
    clauses: list[tuple[list[str], str]] = []
    for document in documents:
        places = Places(document.spans)
        for group, examples in _grouped(document, places):
            lines += examples
            if group[0].shape is not Shape.ROW:
                clauses += _clauses(group, places)
            else:
                for cell in group[0].cells:
                    clauses += _clauses([group[0]._replace(mapped=cell)], places)
    return Cutter(
        fit_linear([row for row, _ in lines], [label for _, label in lines]),
        fit_linear([row for row, _ in clauses], [label for _, label in clauses], size=1 << 14),
    )


class _Group(NamedTuple):
    blocks: list[Block]
    examples: list[tuple[list[str], str]]


def _grouped(document: Annotated, places: Places) -> Iterator[_Group]:
    """The lines that belong together by the marks, with what the model has to tell of each."""
    open_: list[Block] = []
    examples: list[tuple[list[str], str]] = []
    width = 0
    for block in blocks_of(document.text, document.name):
        own = places.at(block.mapped.at(0))
        last = places.at(open_[-1].mapped.span()[1] - 1) if open_ else -1
        on = bool(open_) and own >= 0 and own == last
        possible = (
            bool(open_)
            and block.shape is Shape.LINE
            and block.gap <= 1
            and open_[-1].shape is not Shape.HEADING
        )
        if possible and (own >= 0 or last >= 0 or block.gap):
            flowing = not on and own >= 0 and last >= 0 and block.gap == 0 and block.soft
            if not flowing:  # two statements of one paragraph may stand together or not
                examples.append((line_features(open_, block, width), "on" if on else "off"))
        if possible and on:
            open_.append(block)
        else:
            if open_:
                yield _Group(open_, examples)
            open_, examples = [block], []
        if block.shape is Shape.LINE:
            width = max(width, min(160, block.indent + len(block.text)))
    if open_:
        yield _Group(open_, examples)


def _clauses(group: Sequence[Block], places: Places) -> Iterator[tuple[list[str], str]]:
    mapped = joined([block.mapped for block in group])
    text = mapped.text
    edges = sorted([0, *(stop for _, stop, _ in cuts(text, None)), len(text)])
    for at, stop, mark in candidates(text):
        if at == 0 or stop >= len(text):
            continue
        before, behind = places.at(mapped.at(at - 1)), places.at(mapped.at(stop))
        if before < 0 and behind < 0:
            continue
        label = "off" if before == behind else "cut"
        yield clause_features(text, at, stop, mark, edges), label
