"""Whole invented documents in the layouts makers use, against outlines confirmed by eye."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from triage.domain.notes import Notes
from triage.notes import read

DATA = Path(__file__).parents[1] / "data" / "notes"
EXPECTED: dict[str, list[dict[str, Any]]] = json.loads(
    (DATA / "samples.json").read_text(encoding="utf-8")
)


def outline(notes: Notes) -> list[dict[str, Any]]:
    return [
        {
            "release": [r.unit, r.component, r.version, r.status.value],
            "date": str(r.date.day) if r.date else "",
            "items": [[i.places[0].line, i.level, " / ".join(i.heading), i.text] for i in r.items],
            "requirements": [[q.component, q.comparison.value, q.version] for q in r.requirements],
            "instructions": [i.kind.value for i in r.instructions],
        }
        for r in notes.releases
    ]


@pytest.mark.parametrize("name", sorted(EXPECTED))
def test_sample(name: str) -> None:
    assert outline(read((DATA / "samples" / name).read_bytes(), name)) == EXPECTED[name]
