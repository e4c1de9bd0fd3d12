"""Parts of inline SVG, drawn in the page's own ink; every word in it is escaped and screened.

Lengths are in user units of the drawing.
"""

from __future__ import annotations

from collections.abc import Iterable

from markupsafe import Markup

from triage.render.screen import screened

INK = "currentColor"


def drawing(width: float, height: float, title: str, parts: Iterable[Markup]) -> Markup:
    """A whole picture that scales with its place; `title` is what it is called."""
    return Markup(
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {:g} {:g}" role="img" '
        'aria-label="{}" font-size="12" fill="currentColor">{}</svg>'
    ).format(width, height, screened(title), Markup("").join(parts))


def line(
    x1: float, y1: float, x2: float, y2: float, *, dash: str = "", thin: bool = False
) -> Markup:
    """A straight line."""
    dashed = Markup(' stroke-dasharray="{}"').format(dash) if dash else ""
    width = Markup(' stroke-width="0.5"') if thin else ""
    return Markup(
        '<line x1="{:.1f}" y1="{:.1f}" x2="{:.1f}" y2="{:.1f}" stroke="currentColor"{}{}/>'
    ).format(x1, y1, x2, y2, dashed, width)


def label(x: float, y: float, words: str, anchor: str, *, bold: bool = False) -> Markup:
    """Words at a place; `anchor` is start, middle or end."""
    weight = Markup(' font-weight="bold"') if bold else ""
    return Markup('<text x="{:.1f}" y="{:.1f}" text-anchor="{}"{}>{}</text>').format(
        x, y, anchor, weight, screened(words)
    )


def box(x: float, y: float, width: float, height: float, *, filled: bool, told: str = "") -> Markup:
    """A rectangle, filled or hollow; `told` shows when pointed at."""
    return Markup(
        '<rect x="{:.1f}" y="{:.1f}" width="{:.1f}" height="{:.1f}" fill="{}" '
        'stroke="currentColor">{}</rect>'
    ).format(x, y, width, height, INK if filled else "none", _told(told))


def dot(x: float, y: float, radius: float = 4, *, filled: bool = True, told: str = "") -> Markup:
    """A circle, filled or hollow; `told` shows when pointed at."""
    return Markup(
        '<circle cx="{:.1f}" cy="{:.1f}" r="{:g}" fill="{}" stroke="currentColor">{}</circle>'
    ).format(x, y, radius, INK if filled else "none", _told(told))


def path(steps: str, *, filled: bool = False) -> Markup:
    """A path in SVG's own commands, drawn thick or filled."""
    style = 'fill="currentColor"' if filled else 'fill="none" stroke="currentColor"'
    return Markup('<path d="{}" {} stroke-width="2.5"/>').format(steps, Markup(style))


def _told(words: str) -> Markup:
    return Markup("<title>{}</title>").format(screened(words)) if words else Markup("")
