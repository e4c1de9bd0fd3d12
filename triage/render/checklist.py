"""A run, or its test flights, for paper: boxes, recorded values and targets, lines to write on."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from triage.domain.setting_changes import SettingRow
from triage.domain.update_run import LEGEND, Detail, Needs, Run, Stage, StepState, StepStatus
from triage.render.setting_rows import expected, to_do
from triage.render.templating import filled
from triage.settings.setting_values import value_words

_BOX = {StepStatus.OPEN: "", StepStatus.DONE: "✓", StepStatus.SKIPPED: "–", StepStatus.FAILED: "!"}
_SAID = {
    StepStatus.OPEN: "to do",
    StepStatus.DONE: "done",
    StepStatus.SKIPPED: "skipped",
    StepStatus.FAILED: "failed",
}
_ASKED = {
    Needs.VERSION: "Version it shows:",
    Needs.CHARGE: "Lowest charge of all, in %:",
}


class _Row(NamedTuple):
    """One step as it is printed; `asked` and `read` for what is written by hand."""

    number: int
    title: str
    box: str
    said: str
    details: tuple[Detail, ...]
    asked: str
    read: str
    note: str


def to_page(run: Run, paper: str = "A4") -> str:
    """A whole HTML page without scripts, for a sheet of A4 or letter."""
    return _page(run, f"Update day: {run.plan.title}", tuple(Stage), paper, settings=True)


def to_card(run: Run, paper: str = "A4") -> str:
    """The tests on the bench and in flight alone, with room for values."""
    tests = (Stage.BENCH, Stage.FLIGHT)
    return _page(run, f"Test flights: {run.plan.title}", tests, paper, settings=False)


def _page(run: Run, title: str, parts: Sequence[Stage], paper: str, *, settings: bool) -> str:
    stages = [
        (stage.heading, rows)
        for stage in parts
        if (rows := [_row(step) for step in run.steps if step.step.stage is stage])
    ]
    return filled(
        "checklist.html",
        title=title,
        run=run,
        stages=stages,
        legend=LEGEND,
        paper=paper,
        settings=[_setting(row) for row in run.plan.changes] if settings else [],
        digest=run.plan.digests.notes,
    )


class _Setting(NamedTuple):
    """A setting with its recorded value, what to expect, and what to do."""

    unit: str
    name: str
    own: str
    expect: str
    do: str


def _setting(row: SettingRow) -> _Setting:
    own = value_words(row.own.value) if row.own else ""
    return _Setting(row.unit, row.name, own, expected(row), to_do(row))


def _row(step: StepState) -> _Row:
    asked = _ASKED.get(step.step.needs, "")
    if not asked and step.step.ask:
        asked = f"{step.step.ask[:1].upper()}{step.step.ask[1:]}:"
    wanted = step.step.target or step.step.expect
    target = f" (shall be {wanted})" if asked and wanted else ""
    read = (step.last.version or step.last.value) if step.last else ""
    return _Row(
        number=step.number,
        title=f"{step.step.title} ... {step.step.response}".rstrip(". "),
        box=_BOX[step.state],
        said=_SAID[step.state],
        details=step.step.details,
        asked=asked + target,
        read=read,
        note=step.last.note if step.last else "",
    )
