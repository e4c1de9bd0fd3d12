"""What is shown together when a run is led step by step."""

from __future__ import annotations

from triage.domain.update_run import Needs, Run, StepState, StepStatus
from triage.update.run_state import blocked_by, next_step


def together(run: Run) -> tuple[StepState, ...]:
    """The next step, with the batteries that can be taken in one go with it."""
    ahead = next_step(run)
    if ahead is None:
        return ()
    if not _rotation(ahead):
        return (ahead,)
    group = [ahead]
    for step in run.steps[ahead.number :]:
        ready = step.state is StepStatus.OPEN and not blocked_by(run, step)
        if not (_rotation(step) and ready and step.step.stage is ahead.step.stage):
            break
        group.append(step)
    return tuple(group)


def _rotation(step: StepState) -> bool:
    return step.step.needs is Needs.VERSION and step.step.id.startswith("rotate-")
