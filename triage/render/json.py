"""The machine-readable answer: one versioned record; `triage schema` prints its JSON Schema."""

from __future__ import annotations

from triage.domain.answer import UnitAdvice
from triage.domain.base import Frozen
from triage.domain.judged import JudgedNotes

SCHEMA_VERSION = 1


class AnswerRecord(Frozen):
    """Everything `triage assess --json` prints.

    `judged` holds the source, releases and items with chances in [0, 1]; items are named by `ref`
    throughout, releases by their index in `judged.notes.releases`. A field is added without a new
    `schema_version`; one that is renamed, removed or changes its meaning raises it.
    """

    schema_version: int = SCHEMA_VERSION
    tool_version: str
    judged: JudgedNotes
    units: tuple[UnitAdvice, ...] = ()
