"""The journal: listed, searched, what is due, and what is written later."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from triage.errors import ConfigError, StoreError
from triage.web import forms
from triage.web.forms import desk_of, form_of
from triage.web.pages import page
from triage.web.reports import functions

if TYPE_CHECKING:
    from triage.domain.journal import Later

SHOWN = 50
AHEAD = dt.timedelta(days=30)


def list_(request: Request) -> Response:
    """Entries, found or newest first, and reviews due."""
    from triage.app.journal import kept_of
    from triage.journal.store import open_journal
    from triage.render.journal import listing, reviews_shown

    words = request.query_params.get("q", "").strip()[:200]
    today = desk_of(request).today()
    try:
        store = open_journal()
    except StoreError as error:
        if "no journal yet" not in str(error):
            raise
        return page(request, "journal.html", words=words, entries=(), due=(), empty=True)
    found = store.search(words, SHOWN) if words else store.newest(limit=SHOWN)
    ahead = store.due(today + AHEAD, limit=SHOWN)
    pairs = [(entry, kept_of(store, entry)) for entry in ahead]
    title = f"Found: {words}" if words else "Newest entries"
    return page(
        request,
        "journal.html",
        words=words,
        entries=listing(found, title),
        due=reviews_shown(pairs, today),
        empty=False,
    )


def show(request: Request) -> Response:
    """A decision with everything written since."""
    from triage.app.journal import with_later
    from triage.domain.journal import RecordedDecision
    from triage.journal.store import open_journal
    from triage.render.journal import decision_shown

    decision, *later = with_later(open_journal(), int(request.path_params["seq"]))
    return page(
        request,
        "entry.html",
        sections=decision_shown(decision, later),
        about=decision.seq,
        decided=isinstance(decision.record.payload, RecordedDecision),
        functions=functions(),
    )


async def outcome(request: Request) -> Response:
    """How a decision went."""
    from triage.domain.journal import DecisionOutcome, Result

    form, about = await form_of(request), int(request.path_params["seq"])
    result = forms.text(form, "result")
    if result not in set(Result):
        raise ConfigError("not stated how it went", mend="choose one of the two")
    severity = forms.number(form, "severity")
    payload = DecisionOutcome(
        about=about,
        day=desk_of(request).today(),
        result=Result(result),
        function=forms.text(form, "function"),
        severity=severity if severity in (1, 2, 3, 4) else None,
        went_back=bool(forms.text(form, "went_back")),
        flights=forms.number(form, "flights"),
        avoided=forms.text(form, "avoided"),
        words=forms.text(form, "words"),
        due=forms.day(form, "review"),
    )
    return await _add(payload)


async def review(request: Request) -> Response:
    """A review of a decision."""
    from triage.domain.journal import Review

    form, about = await form_of(request), int(request.path_params["seq"])
    payload = Review(
        about=about,
        day=desk_of(request).today(),
        words=forms.text(form, "words"),
        due=forms.day(form, "review"),
    )
    return await _add(payload)


async def _add(payload: Later) -> Response:
    from triage.app.journal import add_followup

    await run_in_threadpool(add_followup, payload)
    return RedirectResponse(f"/journal/{payload.about}", status_code=303)


ROUTES = [
    Route("/journal", list_),
    Route("/journal/{seq:int}", show),
    Route("/journal/{seq:int}/outcome", outcome, methods=["POST"]),
    Route("/journal/{seq:int}/review", review, methods=["POST"]),
]
