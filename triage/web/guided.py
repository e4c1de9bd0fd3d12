"""The day led on the page: one step a screen, all batteries that can be taken together in one."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from triage.app.environment import now as clock
from triage.app.update import do_step, undo
from triage.domain.update_run import Needs
from triage.errors import ConfigError
from triage.update import run_state as deciding
from triage.update.given import Given
from triage.update.guided import together
from triage.update.run_log import mark, run_called
from triage.web import forms
from triage.web.forms import form_of
from triage.web.pages import page
from triage.web.runs import answers_in, step_view


def show(request: Request) -> Response:
    """The next step, or the batteries that come together."""
    run = run_called(request.path_params["id"])
    group = together(run)
    views = tuple(step_view(run, step, step) for step in group)
    done = sum(step.state.value == "done" for step in run.steps)
    return page(request, "guided.html", run=run, views=views, done=done, of=len(run.steps))


async def act(request: Request) -> Response:
    """What was stated of the step or steps shown."""
    form = await form_of(request)
    id = request.path_params["id"]
    await run_in_threadpool(_act, id, forms.text(form, "act"), form)
    return RedirectResponse(f"/runs/{id}/go", status_code=303)


def _act(id: str, what: str, form: FormData) -> None:
    run = run_called(id)
    if what == "undo":
        undo(run)
        return
    note = forms.text(form, "note")
    for step in together(run):
        number = str(step.number)
        version = forms.text(form, f"version-{number}")
        if what == "done" and step.step.needs is Needs.VERSION and not version:
            mark(id, number, lambda r, s: deciding.skipped(r, s, clock(), note or "not at hand"))
        elif what == "done":
            given = Given(
                version=version,
                charge=forms.number(form, "charge"),
                value=forms.text(form, "value"),
                note=note,
                accept=bool(forms.text(form, "accept")),
                answers=answers_in(form),
            )
            do_step(id, number, given)
        elif what == "skip":
            mark(id, number, lambda r, s: deciding.skipped(r, s, clock(), note))
        elif what == "fail":
            mark(id, number, lambda r, s: deciding.failed(r, s, clock(), note))
        else:
            raise ConfigError("not stated what happened to the step", mend="use one of its buttons")


ROUTES = [
    Route("/runs/{id}/go", show),
    Route("/runs/{id}/go", act, methods=["POST"]),
]
