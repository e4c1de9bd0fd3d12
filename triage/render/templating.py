"""The templates of all HTML: every value is escaped and screened, and none may be missing."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from triage.render.screen import screened

FOLDER = Path(__file__).parent / "templates"


def template_environment(*folders: Path) -> Environment:
    """An environment with the templates of `folders`, then those shared here."""
    return Environment(
        loader=FileSystemLoader([*folders, FOLDER]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_shown,
    )


def filled(template: str, **values: Any) -> str:
    """A page made from a shared template."""
    return _shared().get_template(template).render(**values)


@cache
def _shared() -> Environment:
    return template_environment()


def _shown(value: Any) -> Any:
    """Nothing that steers the direction of text, or hides in it, gets onto a page."""
    if isinstance(value, str) and not isinstance(value, Markup):
        return screened(value)
    return value
