"""The machine-readable answer: one versioned record; `triage schema` prints its JSON Schema."""

from __future__ import annotations

from triage.domain.answer import UnitAdvice
from triage.domain.base import Frozen
from triage.domain.judged import JudgedNotes
from triage.render.reading_record import ReleaseRecord, release_records

SCHEMA_VERSION = 1


class AnswerRecord(Frozen):
    """Everything `triage assess --json` prints.

    `judged` holds the source, releases and items with chances in [0, 1]; items are named by `ref`
    throughout, releases by their index in `judged.notes.releases`. `releases` is what was read, in
    short. A field is added without a new
    `schema_version`; one that is renamed, removed or changes its meaning raises it.
    """

    schema_version: int = SCHEMA_VERSION
    tool_version: str
    judged: JudgedNotes
    releases: tuple[ReleaseRecord, ...] = ()
    units: tuple[UnitAdvice, ...] = ()


def answer_of(
    version: str, judged: JudgedNotes, units: tuple[UnitAdvice, ...] = ()
) -> AnswerRecord:
    """The record of judged notes, and of the advice where there is one."""
    return AnswerRecord(
        tool_version=version, judged=judged, releases=release_records(judged), units=units
    )
