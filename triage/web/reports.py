"""Field reports: what was seen of a release, listed and added."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from triage.advice.tables import outcome_rows
from triage.app.gather import field_reports
from triage.app.report import record_report as record
from triage.domain.reports import Seen
from triage.errors import ConfigError, SourceError
from triage.kit.units import function_names
from triage.reports.stated_report import Draft
from triage.web import forms
from triage.web.desk import Desk
from triage.web.forms import desk_of, form_of
from triage.web.pages import page
from triage.web.views import Option

SHOWN = 200


def list_(request: Request) -> Response:
    """All reports, the newest first; near-duplicates stand together."""
    desk = desk_of(request)
    _, groups, torn = field_reports()
    return page(
        request,
        "reports.html",
        groups=tuple(reversed(groups))[:SHOWN],
        more=max(0, len(groups) - SHOWN),
        torn=torn,
        functions=functions(),
        outcomes=outcomes(),
        today=desk.today(),
        back="",
    )


async def add(request: Request) -> Response:
    """Record a report; from a document's page it is about one of its releases."""
    desk, form = desk_of(request), await form_of(request)

    return RedirectResponse(await run_in_threadpool(_record, desk, form), status_code=303)


def _record(desk: Desk, form: FormData) -> str:
    """Record what a form says; returns the address to go back to."""
    key, release = forms.text(form, "notes"), forms.number(form, "release")
    version, component, unit = forms.text(form, "version"), "", ""
    back = "/reports"
    if key and release is not None:
        document = desk.documents.get(key)
        if document.wanted.reports is not None:
            raise ConfigError("the demo is invented; nothing of it is recorded", mend="paste notes")
        releases = document.judged.notes.releases
        if release >= len(releases):
            raise SourceError("no such release", mend="choose one of the list")
        found = releases[release]
        version, component, unit = found.version, found.component, found.unit
        back = f"/notes/{key}{_query(form)}#reports"
    seen = forms.text(form, "seen")
    if seen not in set(Seen):
        raise ConfigError("not stated what was seen", mend="choose clean or problem")
    users = forms.number(form, "users")
    draft = Draft(
        version=version,
        seen=Seen(seen),
        day=forms.day(form, "day"),
        where=forms.text(form, "where"),
        component=component,
        unit=unit,
        users=1 if users is None else users,
        function=forms.text(form, "function"),
        words=forms.text(form, "words"),
        flights=forms.number(form, "flights") or 1,
        outcome=forms.text(form, "outcome"),
        explained=forms.text(form, "explained"),
    )
    record(draft, desk.today())
    return back


def _query(form: FormData) -> str:
    query = forms.text(form, "query")
    return query if query.startswith("?") and "\n" not in query else ""


def functions() -> tuple[Option, ...]:
    """Functions to choose from."""
    return tuple(Option(id, name) for id, name in function_names().items())


def outcomes() -> tuple[Option, ...]:
    """Outcomes to choose from, gravest first."""
    return tuple(Option(row.id.value, row.name) for row in outcome_rows())


ROUTES = [Route("/reports", list_), Route("/reports", add, methods=["POST"])]
