"""Update runs: a list to tick off, one step at a time, fit for a phone's screen."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from triage.app.environment import now as clock
from triage.app.update import asking
from triage.domain.snapshots import Answered, Difference, SettingChoice
from triage.domain.update_run import (
    LEGEND,
    Detail,
    Marked,
    Needs,
    Phase,
    Run,
    Stage,
    StepState,
    StepStatus,
)
from triage.errors import ConfigError, StoreError
from triage.render.outline import Outline
from triage.update import run_log as kept
from triage.update import run_state as deciding
from triage.update.given import Given
from triage.web import forms
from triage.web.forms import form_of
from triage.web.own_style import with_own_style
from triage.web.pages import page

SAID = {
    StepStatus.OPEN: "to do",
    StepStatus.DONE: "done",
    StepStatus.SKIPPED: "left out",
    StepStatus.FAILED: "did not work",
}

_MOST_ANSWERS = 500  # settings that differ; a unit has fewer


class StepView(NamedTuple):
    """One step as it stands."""

    number: int
    title: str
    state: str
    word: str
    details: tuple[Detail, ...]
    mends: tuple[Detail, ...]
    waits_for: str
    note: str
    version: bool
    target: str
    charge: bool
    settings: str
    compared: Outline
    response: str
    ask: str
    value: bool
    asking: tuple[Difference, ...]
    open: bool
    settled: bool


class StageView(NamedTuple):
    """A part of the day with its steps."""

    title: str
    steps: tuple[StepView, ...]


def list_(request: Request) -> Response:
    """All runs, the newest first."""
    return page(request, "runs.html", runs=tuple(reversed(kept.all_runs())))


def show(request: Request) -> Response:
    """A run with all its steps, the next one open."""
    run = kept.run_called(request.path_params["id"])
    ahead = deciding.next_step(run)
    stages = tuple(
        StageView(stage.heading, steps)
        for stage in Stage
        if (steps := tuple(step_view(run, s, ahead) for s in run.steps if s.step.stage is stage))
    )
    done = sum(step.state is StepStatus.DONE for step in run.steps)
    return page(
        request,
        "run.html",
        run=run,
        stages=stages,
        done=done,
        phase=run.phase.value,
        is_open=run.phase is Phase.OPEN,
        is_over=run.phase is Phase.CLOSED,
        left=len(run.left),
        ahead=ahead.number if ahead else 0,
        legend=LEGEND,
    )


def step_view(run: Run, step: StepState, ahead: StepState | None) -> StepView:
    """A step as it is shown."""
    needs, last = step.step.needs, step.last
    before = deciding.blocked_by(run, step)
    snapshots = needs in (Needs.BEFORE, Needs.AFTER) and run.phase is Phase.OPEN
    return StepView(
        number=step.number,
        title=step.step.title,
        state=step.state.value,
        word=SAID[step.state] + (", still owed" if _owed(step) else ""),
        details=step.step.details,
        mends=step.step.mends if step.state is StepStatus.FAILED else (),
        waits_for=", ".join(str(s.number) for s in before),
        note=last.note if last else "",
        version=needs is Needs.VERSION,
        target=step.step.target,
        charge=needs is Needs.CHARGE,
        settings=step.step.unit if snapshots else "",
        compared=_compared(run, step) if needs is Needs.AFTER else (),
        response=step.step.response,
        ask=step.step.ask,
        value=needs is Needs.VALUE or bool(step.step.ask),
        asking=asking(run, step),
        open=ahead is not None and step.number == ahead.number,
        settled=step.state is StepStatus.DONE,
    )


def _owed(step: StepState) -> bool:
    return step.state is StepStatus.SKIPPED and step.step.owed


def _compared(run: Run, step: StepState) -> Outline:
    """Settings before and after side by side, () while one is not recorded."""
    from triage.render.settings import snapshots_compared
    from triage.settings.comparison import compare_snapshots
    from triage.settings.snapshots import renamed_settings

    pair = kept.snapshots_of(run, step)
    if pair is None:
        return ()
    found = compare_snapshots(
        pair[0].snapshot,
        pair[1].snapshot,
        run.plan.foretold,
        renamed_settings(),
        run.plan.changes,
    )
    return snapshots_compared(found)


async def mark(request: Request) -> Response:
    """Done, left out, did not work, or open again."""
    form = await form_of(request)
    id, number = request.path_params["id"], str(request.path_params["number"])
    act, note = forms.text(form, "act"), forms.text(form, "note")
    decide = _decisions(form, note).get(act)
    if decide is None:
        raise ConfigError("not stated what happened to the step", mend="use one of its buttons")
    run, made = await run_in_threadpool(kept.mark, id, number, decide)
    step = deciding.step_of(run, made.step)
    ahead = deciding.next_step(run)
    stay = step.state is StepStatus.FAILED or ahead is None
    at = step.number if stay or ahead is None else ahead.number
    return RedirectResponse(f"/runs/{run.id}#step-{at}", status_code=303)


def _decisions(form: FormData, note: str) -> dict[str, Callable[[Run, StepState], Marked]]:
    now = clock()
    given = Given(
        version=forms.text(form, "version"),
        charge=forms.number(form, "charge"),
        value=forms.text(form, "value"),
        note=note,
        accept=bool(forms.text(form, "accept")),
        answers=answers_in(form),
    )

    def done(run: Run, step: StepState) -> Marked:
        asks = step.step.needs in (Needs.BEFORE, Needs.AFTER)
        snapshot = kept.snapshot_for(run, step) if asks else None
        told = given._replace(snapshot=snapshot, asking=asking(run, step))
        return deciding.done(run, step, now, told)

    return {
        "done": done,
        "skip": lambda run, step: deciding.skipped(run, step, now, note),
        "fail": lambda run, step: deciding.failed(run, step, now, note),
        "reopen": lambda run, step: deciding.reopened(run, step, now, note),
    }


def answers_in(form: FormData) -> tuple[Answered, ...]:
    """The operator's word on each setting that differs: fields answer-1, name-1, word-1."""
    found = []
    for n in range(1, _MOST_ANSWERS + 1):
        choice, name = forms.text(form, f"answer-{n}"), forms.text(form, f"name-{n}")
        if choice in {c.value for c in SettingChoice} and name:
            word = forms.text(form, f"word-{n}")
            restores = choice == SettingChoice.RESTORE
            found.append(
                Answered(
                    name=name,
                    choice=SettingChoice(choice),
                    value=word if restores else "",
                    reason="" if restores else word,
                )
            )
    return tuple(found)


async def settings(request: Request) -> Response:
    """Record the settings of a step's unit from pasted text."""
    form = await form_of(request)
    id, number = request.path_params["id"], str(request.path_params["number"])
    await run_in_threadpool(_record, id, number, str(form.get("settings", "")))
    return RedirectResponse(f"/runs/{id}#step-{number}", status_code=303)


def _record(id: str, number: str, pasted: str) -> None:
    from triage.app.settings import record_pasted

    record_pasted(deciding.step_of(kept.run_called(id), number).step.unit, pasted)


async def close(request: Request) -> Response:
    """Finish a run, or abandon it with a reason."""
    form = await form_of(request)
    abandoned = forms.text(form, "reason") if forms.text(form, "act") == "abandon" else None
    id, owing = request.path_params["id"], bool(forms.text(form, "owing"))

    def work() -> None:
        from triage.app.update import close_run as over

        found = over(id, abandoned=abandoned, owing=owing)
        if found.missing:
            raise StoreError(
                f"the run is over, but its journal entry is missing ({found.missing})",
                mend="mend that, then write the entry from the run's page",
            )

    await run_in_threadpool(work)
    return RedirectResponse(f"/runs/{id}", status_code=303)


def paper(request: Request) -> Response:
    """The list for paper."""
    from triage.render.checklist import to_page

    return with_own_style(to_page(kept.run_called(request.path_params["id"])))


ROUTES = [
    Route("/runs", list_),
    Route("/runs/{id}", show),
    Route("/runs/{id}/steps/{number:int}", mark, methods=["POST"]),
    Route("/runs/{id}/steps/{number:int}/settings", settings, methods=["POST"]),
    Route("/runs/{id}/close", close, methods=["POST"]),
    Route("/runs/{id}/paper", paper),
]
