"""The page as an ASGI application: its routes, and every fault in one plain line."""

from __future__ import annotations

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Mount
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp

from triage.errors import TriageError
from triage.web import guided, journal, notes, reports, runs
from triage.web.desk import Desk
from triage.web.guard import Guard, TooLongError, too_long
from triage.web.pages import FOLDER, page


def make_app(desk: Desk, port: int, token: str) -> ASGIApp:
    """The application that answers on `port` and lets in who brings `token`."""
    app = Starlette(
        routes=[
            *notes.ROUTES,
            *reports.ROUTES,
            *journal.ROUTES,
            *runs.ROUTES,
            *guided.ROUTES,
            Mount("/static", StaticFiles(directory=FOLDER / "static")),
        ],
        exception_handlers={
            TriageError: _mendable,
            TooLongError: lambda request, error: too_long(),
            HTTPException: _no_such_page,
            Exception: _broken,
        },
    )
    app.state.desk = desk
    return Guard(app, port, token)


def _mendable(request: Request, error: Exception) -> Response:
    return page(request, "fault.html", 409, words=str(error), title="Not done")


def _no_such_page(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    words = "There is no such page." if error.status_code == 404 else str(error.detail)
    return page(request, "fault.html", error.status_code, words=words, title="Not here")


def _broken(request: Request, error: Exception) -> Response:
    words = "This is a fault of the program. What was recorded before is kept; try again."
    return page(request, "fault.html", 500, words=words, title="A fault")
