"""Atoms with their roles to statements: what stands together, what it is, how sure that is."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from triage.domain.notes import Place, Role
from triage.reading.atoms import Atom
from triage.reading.context import Context
from triage.reading.mapped import Mapped, joined
from triage.reading.roles import ROLES, Told

_JOIN_FROM = 0.5
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
    atom: Atom

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
    number = 0
    while number < len(atoms):
        end = number + 1
        while end < len(atoms) and _goes_on(atoms[end], told, end):
            end += 1
        found.append(_statement(atoms, contexts, told, number, end))
        number = end
    return found


def _goes_on(atom: Atom, told: Told, at: int) -> bool:
    return bool(told.joins[at] >= _JOIN_FROM) and atom.after != "block"


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
        atoms[number],
    )


def _together(atoms: Sequence[Atom]) -> Mapped:
    mapped = atoms[0].mapped if len(atoms) == 1 else joined([a.mapped for a in atoms])
    text = mapped.text
    return mapped.cut(0, len(text) - 1) if text.endswith(";") else mapped


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
