"""An outline as one HTML page without scripts, styles inline, fit for paper."""

from __future__ import annotations

from triage.render.outline import Outline
from triage.render.templating import filled


def to_html(outline: Outline) -> str:
    """A whole page; the title is that of the first section."""
    title = outline[0].title if outline else "triage"
    return filled("page.html", title=title, outline=outline)
