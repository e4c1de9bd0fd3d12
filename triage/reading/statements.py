"""Atoms with their roles to statements: what stands together, what it is, how sure that is."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from triage.domain.notes import Place, Role
from triage.reading.atoms import Atom
from triage.reading.context import Context
from triage.reading.formats.blocks import Shape
from triage.reading.mapped import Mapped, joined
from triage.reading.roles import ROLES, Floats, Told

_JOIN_FROM = 0.5
_APART_FROM = 0.65  # what a semicolon or a clause parts goes on more rarely
_LINK_LAST = re.compile(r"\s*<?https?://\S+\Z")
_SEPARATE = frozenset((Role.HEADING, Role.VERSION))
_CHANGE = ROLES.index(Role.CHANGE)


class Statement(NamedTuple):
    """One statement: its atoms [first, last], text with places, role, chance of each role."""

    first: int
    last: int
    mapped: Mapped
    role: Role
    chances: tuple[float, ...]
    context: Context
    atoms: tuple[Atom, ...]

    @property
    def atom(self) -> Atom:
        """The first of its atoms."""
        return self.atoms[0]

    def atom_at(self, offset: int) -> Atom:
        """The atom that holds a character of the text."""
        end = 0
        for atom in self.atoms:
            end += len(atom.text) + 1
            if offset < end:
                return atom
        return self.atoms[-1]

    @property
    def text(self) -> str:
        """Its words."""
        return self.mapped.text

    def chance(self, role: Role) -> float:
        """The chance that it is of a role."""
        return self.chances[ROLES.index(role)]


def statements_of(
    atoms: Sequence[Atom], contexts: Sequence[Context], told: Told
) -> list[Statement]:
    """The statements of a document, in order."""
    found: list[Statement] = []
    joins = _by_table(atoms, told.joins)
    number = 0
    while number < len(atoms):
        end = number + 1
        while end < len(atoms) and _goes_on(atoms[end], joins[end]):
            end += 1
        found.append(_statement(atoms, contexts, told, number, end))
        number = end
    return found


def _goes_on(atom: Atom, chance: float) -> bool:
    least = _APART_FROM if atom.after in ("semicolon", "clause") else _JOIN_FROM
    return chance >= least and atom.after != "block"


def _by_table(atoms: Sequence[Atom], joins: Floats) -> Floats:
    """In a table, whether a column goes on with the one before is told for all its rows at once."""
    out = joins.copy()
    begin = 0
    while begin < len(atoms):
        end = begin + 1
        if atoms[begin].shape is Shape.ROW:
            while end < len(atoms) and atoms[end].shape is Shape.ROW:
                end += 1
            for cell in range(1, max(a.cells for a in atoms[begin:end])):
                same = [
                    n
                    for n in range(begin, end)
                    if atoms[n].cell == cell and atoms[n].after == "cell"
                ]
                if len(same) > 1:
                    out[same] = joins[same].mean()
        begin = end
    return out


def _statement(
    atoms: Sequence[Atom], contexts: Sequence[Context], told: Told, number: int, end: int
) -> Statement:
    lengths = np.array([len(atom.text) for atom in atoms[number:end]], np.float32) ** 0.5
    shares = told.roles[number:end] * lengths[:, None]
    chances = shares.sum(axis=0) / lengths.sum()
    mapped = _together(atoms[number:end])
    return Statement(
        number,
        end - 1,
        mapped,
        ROLES[int(chances.argmax())],
        tuple(float(c) for c in chances),
        contexts[number],
        tuple(atoms[number:end]),
    )


def _together(atoms: Sequence[Atom]) -> Mapped:
    mapped = atoms[0].mapped if len(atoms) == 1 else joined([a.mapped for a in atoms])
    link = _LINK_LAST.search(mapped.text)
    if link and link.start() > 0:
        mapped = mapped.cut(0, link.start())
    return mapped.cut(0, len(mapped.text) - 1) if mapped.text.endswith(";") else mapped


def place_of(mapped: Mapped, starts: Sequence[int]) -> Place:
    """Where a text stands; `starts` are the offsets of the source's lines."""
    from bisect import bisect_right

    start, end = mapped.span()
    return Place(
        start=start,
        end=max(end, start),
        line=max(1, bisect_right(starts, start)),
        end_line=max(1, bisect_right(starts, max(start, end - 1))),
    )


def line_starts(text: str) -> list[int]:
    """The offset of the first character of each line (LF, CRLF or CR)."""
    starts = [0]
    for line in text.splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    return starts[:-1] if len(starts) > 1 else starts
