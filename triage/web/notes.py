"""Notes: pasted, answered, looked at item by item, corrected, decided, printed."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from triage.app.demo import demo_notes, demo_wanted
from triage.domain.kinds import Kind
from triage.errors import ConfigError
from triage.update.run_log import reminder
from triage.web import forms
from triage.web.desk import Desk, PageAnswer, PageChoice
from triage.web.forms import desk_of, form_of
from triage.web.items_view import items_view
from triage.web.own_style import with_own_style
from triage.web.pages import page
from triage.web.reports import functions, outcomes
from triage.web.views import document_view, query_of, title_of


def start(request: Request) -> Response:
    """Paste or drop notes; what else is open."""
    desk = desk_of(request)
    held = tuple((document, title_of(document)) for document in desk.documents.all())
    return page(request, "start.html", held=held, reminder=reminder())


async def paste(request: Request) -> Response:
    """Read and judge what was sent."""
    data, name = await forms.document(await form_of(request))
    found = await run_in_threadpool(desk_of(request).documents.add, data, name)
    return _to(f"/notes/{found.key}")


def demo(request: Request) -> Response:
    """The invented scenario, with its own kit, reports and day."""
    file = demo_notes()
    found = desk_of(request).documents.add(file.read_bytes(), file.name, demo_wanted())
    return _to(f"/notes/{found.key}?policy=balanced")


def answer(request: Request) -> Response:
    """The recommendation; for a script that moved the slider only the part that changes."""
    desk, choice = desk_of(request), chosen(request)
    found = desk.answer(request.path_params["key"], choice)
    desk.foresee(found)
    template = "answer_part.html" if request.headers.get("hx-request") else "answer.html"
    return page(
        request,
        template,
        doc=document_view(desk, found, choice),
        today=found.inputs.day,
        functions=functions(),
        outcomes=outcomes(),
    )


def items(request: Request) -> Response:
    """Items beside the original text."""
    desk = desk_of(request)
    document = desk.documents.get(request.path_params["key"])
    words = request.query_params.get("part", "1")
    part = int(words) if words.isdecimal() and len(words) < 6 else 1
    return page(
        request,
        "items.html",
        doc=items_view(document, title_of(document), part, query_of(chosen(request))),
    )


async def correct(request: Request) -> Response:
    """Take the operator's word on the kinds of an item."""
    desk, form = desk_of(request), await form_of(request)
    ref, key = request.path_params["ref"], request.path_params["key"]
    stated = {str(value) for value in form.getlist("kind")}
    kinds = frozenset(kind for kind in Kind if kind.value in stated)
    await run_in_threadpool(desk.settle, key, ref, kinds)
    part = forms.text(form, "part") or "1"
    query = query_of(chosen(request)).removeprefix("?")
    return _to(f"/notes/{key}/items?part={part}{'&' + query if query else ''}#item-{ref}")


async def keep(request: Request) -> Response:
    """Record the advice with the operator's decision."""
    from triage.app.decide import decide
    from triage.domain.choice import Choice as Made

    desk, form = desk_of(request), await form_of(request)
    decision, reason = forms.text(form, "decision"), forms.text(form, "reason")
    if decision not in set(Made):
        raise ConfigError("no decision was stated", mend="choose one of the three")
    due = forms.day(form, "review")

    def work() -> int:
        found = own(desk, request)
        return decide(found.advice, found.inputs, Made(decision), reason, due=due)[0].seq

    return _to(f"/journal/{await run_in_threadpool(work)}")


async def begin(request: Request) -> Response:
    """Begin an update run."""
    from triage.app.update import begin_run as record
    from triage.app.update import file_decision, ready

    desk, form = desk_of(request), await form_of(request)

    def work() -> str:
        found = own(desk, request)
        run = ready(found.advice, found.inputs, forms.text(form, "unit"))
        if run.against and not forms.text(form, "anyway"):
            raise ConfigError(
                run.against, mend="wait, or tick 'against the advice' and begin again"
            )
        begun = record(run)
        file_decision(begun, found.advice, found.inputs)
        return begun.id

    return _to(f"/runs/{await run_in_threadpool(work)}")


def paper(request: Request) -> Response:
    """The result as a page for paper."""
    from triage.render.answer import outline
    from triage.render.html import to_html

    found = desk_of(request).answer(request.path_params["key"], chosen(request))
    return with_own_style(to_html(outline(found.advice)))


def chosen(request: Request) -> PageChoice:
    """The policy that the address names."""
    step = request.query_params.get("step", "0")
    number = int(step) if step.isdecimal() and len(step) < 4 else 0
    given = request.query_params
    return PageChoice(given.get("policy", ""), number, given.get("unit", "")[:200])


def own(desk: Desk, request: Request) -> PageAnswer:
    """The answer, unless it is the demo's: of that nothing is recorded."""
    found = desk.answer(request.path_params["key"], chosen(request))
    if found.document.wanted.kit is not None:
        raise ConfigError("the demo is invented; nothing of it is recorded", mend="paste notes")
    return found


def _to(address: str) -> Response:
    return RedirectResponse(address, status_code=303)


ROUTES = [
    Route("/", start),
    Route("/notes", paste, methods=["POST"]),
    Route("/demo", demo, methods=["POST"]),
    Route("/notes/{key}", answer),
    Route("/notes/{key}/items", items),
    Route("/notes/{key}/items/{ref}", correct, methods=["POST"]),
    Route("/notes/{key}/decision", keep, methods=["POST"]),
    Route("/notes/{key}/run", begin, methods=["POST"]),
    Route("/notes/{key}/paper", paper),
]
