"""What each atom is, and whether it goes on with the statement before it.

A small recurrent network over the atoms of a document, judged by numpy: each atom comes as the
encoder's vector, that of the heading it seems to stand under, and its layout; it is read in both
directions (gated recurrent units: K. Cho et al., 2014).
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from triage.domain.notes import Role
from triage.reading.atoms import Atom
from triage.reading.candidates import days_in, versions_in
from triage.reading.context import Context, heading_rank
from triage.reading.formats.blocks import Shape

Floats = NDArray[np.float32]
ROLES = tuple(Role)
_AFTERS = ("block", "line", "sentence", "semicolon", "clause", "label", "cell")
_LINK = re.compile(r"https?://|www\.|@\w+\.")
_STAMP = re.compile(r"\b\d{1,2}:\d{2}\b")


class Told(NamedTuple):
    """The chances of the roles (atoms, roles), and of going on with the atom before (atoms,)."""

    roles: Floats
    joins: Floats


class RoleNetwork:
    """Holds the weights by name (float32); see `told`."""

    def __init__(self, arrays: Mapping[str, Floats]) -> None:
        self._a = arrays

    def told(self, vectors: Floats, headings: Floats, layout: Floats) -> Told:
        """From vectors and heading vectors (atoms, size), and layout (atoms, features)."""
        a = self._a
        if not len(vectors):
            return Told(np.empty((0, len(ROLES)), np.float32), np.empty(0, np.float32))
        parts = [
            vectors @ a["vector"],
            headings @ a["heading"],
            (layout - a["mean"]) * a["scale"],
        ]
        x = np.maximum(np.concatenate(parts, axis=1) @ a["mix"] + a["mix.bias"], 0.0)
        ahead = _gru(x, a, "forward")
        back = _gru(x[::-1], a, "backward")[::-1]
        h = np.concatenate([x, ahead, back], axis=1)
        scores = h @ a["roles"] + a["roles.bias"]
        scores = scores / a["temperature"]
        scores -= scores.max(axis=1, keepdims=True)
        powers = np.exp(scores)
        joins = 1.0 / (1.0 + np.exp(-(h @ a["join"] + a["join.bias"])[:, 0]))
        return Told(powers / powers.sum(axis=1, keepdims=True), joins)


def _gru(x: Floats, a: Mapping[str, Floats], name: str) -> Floats:
    """Hidden states (atoms, size) of one direction; the gates in the order reset, update, new."""
    inner, inner_bias = a[f"{name}.inner"], a[f"{name}.inner.bias"]
    given = x @ a[f"{name}.outer"] + a[f"{name}.outer.bias"]
    size = inner.shape[0]
    hidden = np.zeros(size, np.float32)
    out = np.empty((len(x), size), np.float32)
    for step, row in enumerate(given):
        own = hidden @ inner + inner_bias
        gates = 1.0 / (1.0 + np.exp(-(row[: 2 * size] + own[: 2 * size])))
        reset, update = gates[:size], gates[size:]
        new = np.tanh(row[2 * size :] + reset * own[2 * size :])
        hidden = (1.0 - update) * new + update * hidden
        out[step] = hidden
    return out


def layout_features(atoms: Sequence[Atom], contexts: Sequence[Context]) -> Floats:
    """Layout of each atom as numbers: an array (atoms, features)."""
    return np.array(
        [_features(atoms, contexts, number) for number in range(len(atoms))],
        np.float32,
    ).reshape(len(atoms), -1)


def _features(atoms: Sequence[Atom], contexts: Sequence[Context], number: int) -> list[float]:
    atom = atoms[number]
    text = atom.text
    following = atoms[number + 1] if number + 1 < len(atoms) else None
    rank = heading_rank(atom, following)
    letters = sum(c.isalpha() for c in text)
    versions = versions_in(text, loose=bool(atom.label))
    return [
        *(float(atom.shape is shape) for shape in Shape),
        *(float(atom.after == after) for after in _AFTERS),
        *(float(rank == r) for r in range(8)),
        float(bool(atom.marker)),
        float(atom.marker[:1].isdigit()),
        float(atom.marker[:1] in "-*+•"),
        float(bool(atom.marker) and not atom.marker.isascii()),
        min(atom.level, 4),
        min(atom.indent, 12) / 4,
        min(atom.quoted, 3),
        min(atom.gap, 3),
        float(atom.bold),
        float(atom.cells > 1),
        min(atom.cell, 6),
        float(bool(atom.label)),
        min(len(text), 300) / 60,
        float(len(text) < 25),
        float(text.endswith(":")),
        float(text[-1] in ".!?。"),
        float(text.endswith("?")),
        float(text[0].isupper()),
        float(text[0].islower()),
        float(text[0].isdigit()),
        letters / len(text),
        sum(c.isupper() for c in text) / (letters + 1),
        sum(c.isdigit() for c in text) / len(text),
        float(not text.isascii()) * sum(ord(c) > 0x2FF for c in text) / len(text),
        float(len(versions) > 0),
        float(len(versions) > 1),
        float(len(days_in(text)) > 0),
        float(bool(_LINK.search(text))),
        float(bool(_STAMP.search(text))),
        min(number, 20) / 10,
        min(len(atoms) - number, 20) / 10,
        float(contexts[number].above >= 0),
    ]


def heading_vectors(vectors: Floats, contexts: Sequence[Context]) -> Floats:
    """The vector of the heading above each atom, zeros where there is none."""
    out = np.zeros_like(vectors)
    for number, context in enumerate(contexts):
        if context.above >= 0:
            out[number] = vectors[context.above]
    return out
