"""Text is cut where one statement may end and the next begin."""

from __future__ import annotations

import numpy as np
import pytest

from triage.reading.atoms import Cutter, atoms_of, cuts
from triage.reading.formats import blocks_of
from triage.reading.linear import Linear

NEVER = Linear(("cut", "off"), np.zeros((1, 2), np.float32), np.array([-9, 9], np.float32))
ON = Linear(("off", "on"), np.zeros((1, 2), np.float32), np.array([-9, 9], np.float32))


@pytest.mark.parametrize(
    ("text", "pieces"),
    [
        ("It climbs first. Then it turns.", 2),
        ("Charge at 230 V. On 110 V it is slower.", 2),
        ("See e.g. the manual, p. 4.", 1),
        ("Version 4.2.1 is out", 1),
        ("tracking of boats; dual operator; grid lines", 3),
        ("Fixed 3.5 mm jack. 2 new tones.", 2),
    ],
)
def test_sentences_and_semicolons(text: str, pieces: int) -> None:
    assert len(cuts(text, None)) + 1 == pieces


def test_every_character_of_a_document_is_in_some_atom() -> None:
    text = "Lift 1.2\n\n- First change, and more\n  of it.\n- Second; third.\n\nBye."
    atoms = list(atoms_of(blocks_of(text, "n.txt"), Cutter(ON, NEVER)))
    words = " ".join(atom.text for atom in atoms)
    for word in text.replace("- ", "").split():
        assert word in words
    for atom in atoms:
        assert text[atom.mapped.at(0)] == atom.text[0]


def test_an_endless_line_is_cut() -> None:
    atoms = list(atoms_of(blocks_of("a " * 5000, "n.txt"), Cutter(ON, NEVER)))
    assert max(len(atom.text) for atom in atoms) <= 1200
