"""From a template and plain values to a response; every text is escaped and screened."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import HTMLResponse

from triage.render.screen import screened
from triage.render.templating import template_environment as shared
from triage.web.items_view import PART

FOLDER = Path(__file__).parent
_NUMBER = re.compile(r"\b([0-9]{1,7})\b")
_POINTED = re.compile(r"\b([0-9]{1,7}) \(line ([0-9]+)\)")


def page(request: Request, template: str, status: int = 200, **values: Any) -> HTMLResponse:
    """A whole page, or the part of it that a script asks for."""
    path = request.url.path
    text = environment().get_template(template).render(path=path, **values)
    return HTMLResponse(text, status_code=status)


@cache
def environment() -> Environment:
    """The templates of the page."""
    found = shared(FOLDER / "templates")
    found.filters["linked"] = linked
    found.filters["numbers"] = numbers
    return found


def linked(source: str, base: str, query: str) -> Markup:
    """'item 3 (line 12)' with the item's number as a link to it below `base`, '' for none."""
    return _with_links(_POINTED if base else None, source, base, query)


def numbers(cell: str, base: str, query: str) -> Markup:
    """'3, 12' with each item's number as a link to it."""
    return _with_links(_NUMBER, cell, base, query)


def _with_links(wanted: re.Pattern[str] | None, text: str, base: str, query: str) -> Markup:
    """The text with the numbers that `wanted` captures as links; all else is escaped."""
    text, parts, at = screened(text), [], 0
    for found in wanted.finditer(text) if wanted else ():
        ref = found[1]
        link = Markup('<a href="{}">{}</a>').format(address(base, query, ref), ref)
        parts += [text[at : found.start(1)], link]
        at = found.end(1)
    return Markup("").join([*parts, text[at:]])


def address(base: str, query: str, ref: str) -> str:
    """Where an item stands, with the part of the items that holds it."""
    part = -(-int(ref) // PART)
    joined = f"{query}&part={part}" if query else f"?part={part}"
    return f"{base}{joined}#item-{ref}"
