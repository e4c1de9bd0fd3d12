"""From a template and plain values to a response; every text is escaped and screened."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape
from starlette.requests import Request
from starlette.responses import HTMLResponse

from triage.render.screen import screened
from triage.web.items_view import PART

FOLDER = Path(__file__).parent
_NUMBER = re.compile(r"\b[0-9]{1,7}\b")
_POINTED = re.compile(r"\b([0-9]{1,7}) \(line ([0-9]+)\)")


def page(request: Request, template: str, status: int = 200, **values: Any) -> HTMLResponse:
    """A whole page, or the part of it that a script asks for."""
    path = request.url.path
    text = environment().get_template(template).render(path=path, **values)
    return HTMLResponse(text, status_code=status)


@cache
def environment() -> Environment:
    """The templates."""
    found = Environment(
        loader=FileSystemLoader(FOLDER / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_shown,
    )
    found.filters["linked"] = linked
    found.filters["numbers"] = numbers
    return found


def _shown(value: Any) -> Any:
    """Nothing that steers the direction of text, or hides in it, gets onto a page."""
    if isinstance(value, str) and not isinstance(value, Markup):
        return screened(value)
    return value


def linked(source: str, base: str, query: str) -> Markup:
    """'item 3 (line 12)' with the item's number as a link to it below `base`, '' for none."""
    text = str(escape(screened(source)))
    if not base:
        return Markup(text)

    def link(found: re.Match[str]) -> str:
        return f'<a href="{address(base, query, found[1])}">{found[1]}</a> (line {found[2]})'

    return Markup(_POINTED.sub(link, text))


def numbers(cell: str, base: str, query: str) -> Markup:
    """'3, 12' with each item's number as a link to it."""
    text = str(escape(screened(cell)))
    return Markup(_NUMBER.sub(lambda n: f'<a href="{address(base, query, n[0])}">{n[0]}</a>', text))


def address(base: str, query: str, ref: str) -> str:
    """Where an item stands, with the part of the items that holds it."""
    part = -(-int(ref) // PART)
    joined = f"{query}&part={part}" if query else f"?part={part}"
    return str(escape(f"{base}{joined}#item-{ref}"))
