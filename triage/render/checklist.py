"""A run as a page for paper: large boxes to tick, lines to write on, and no colour needed."""

from __future__ import annotations

from typing import NamedTuple

from triage.domain.update_run import LEGEND, Detail, Needs, Run, Stage, StepState, StepStatus
from triage.render.templating import filled
from triage.render.update_run import STAGE

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


def to_page(run: Run) -> str:
    """A whole HTML page without scripts."""
    stages = [
        (STAGE[stage], rows)
        for stage in Stage
        if (rows := [_row(step) for step in run.steps if step.step.stage is stage])
    ]
    title = f"Update day: {run.plan.title}"
    return filled("checklist.html", title=title, run=run, stages=stages, legend=LEGEND)


def _row(step: StepState) -> _Row:
    asked = _ASKED.get(step.step.needs, "")
    target = f" (shall be {step.step.target})" if asked and step.step.target else ""
    return _Row(
        number=step.number,
        title=step.step.title,
        box=_BOX[step.state],
        said=_SAID[step.state],
        details=step.step.details,
        asked=asked + target,
        read=step.last.version if step.last else "",
        note=step.last.note if step.last else "",
    )
