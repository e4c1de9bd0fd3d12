"""Looks: what was seen of a release in the field, listed and added."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from triage.app.gather import field_reports
from triage.domain.reports import Look, Seen
from triage.errors import ConfigError, SourceError
from triage.kit.units import function_names
from triage.reports import add as record
from triage.reports.stated_report import stated
from triage.web import forms
from triage.web.desk import Desk
from triage.web.forms import desk_of, form_of
from triage.web.pages import page
from triage.web.views import Option

SHOWN = 200


def list_(request: Request) -> Response:
    """All looks, the newest first; near-duplicates stand together."""
    desk = desk_of(request)
    _, groups, torn = field_reports()
    return page(
        request,
        "looks.html",
        groups=tuple(reversed(groups))[:SHOWN],
        more=max(0, len(groups) - SHOWN),
        torn=torn,
        functions=functions(),
        today=desk.today(),
        back="",
    )


async def add(request: Request) -> Response:
    """Record a look; from a document's page it is about one of its releases."""
    desk, form = desk_of(request), await form_of(request)

    def work() -> str:
        look, back = _look(desk, form)
        record(look)
        return back

    return RedirectResponse(await run_in_threadpool(work), status_code=303)


def _look(desk: Desk, form: FormData) -> tuple[Look, str]:
    key, release = forms.text(form, "notes"), forms.number(form, "release")
    version, component, unit = forms.text(form, "version"), "", ""
    back = "/looks"
    if key and release is not None:
        document = desk.documents.get(key)
        if document.wanted.reports is not None:
            raise ConfigError("the demo is invented; nothing of it is recorded", mend="paste notes")
        releases = document.judged.notes.releases
        if release >= len(releases):
            raise SourceError("no such release", mend="choose one of the list")
        found = releases[release]
        version, component, unit = found.version, found.component, found.unit
        back = f"/notes/{key}{_query(form)}#looks"
    seen = forms.text(form, "seen")
    if seen not in set(Seen):
        raise ConfigError("not stated what was seen", mend="choose clean or problem")
    today = desk.today()
    users = forms.number(form, "users")
    look = stated(
        version,
        Seen(seen),
        forms.day(form, "day") or today,
        today=today,
        where=forms.text(form, "where"),
        component=component,
        unit=unit,
        users=1 if users is None else users,
        function=forms.text(form, "function"),
        words=forms.text(form, "words"),
    )
    return look, back


def _query(form: FormData) -> str:
    query = forms.text(form, "query")
    return query if query.startswith("?") and "\n" not in query else ""


def functions() -> tuple[Option, ...]:
    """Functions to choose from."""
    return tuple(Option(id, name) for id, name in function_names().items())


ROUTES = [Route("/looks", list_), Route("/looks", add, methods=["POST"])]
