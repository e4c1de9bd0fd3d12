"""Plots of the journal as inline SVG: no script, no network, colours of the page."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

from triage.journal.learning import Firmness, Row

_SIDE = 300  # of the square plot
_LEFT, _TOP, _RIGHT, _BOTTOM = 48, 12, 12, 40
_ROW = 26
_NAMES = 220
_BARS = 320


def reliability(groups: Sequence[Firmness]) -> str:
    """Observed share that held over the stated certainty, with exact intervals and the diagonal."""

    def x(value: float) -> float:
        return _LEFT + value * _SIDE

    def y(value: float) -> float:
        return _TOP + (1 - value) * _SIDE

    parts = [_axes(x, y), _line(x(0), y(0), x(1), y(1), dashed=True)]
    for group in groups:
        at = x(group.stated)
        told = f"{group.held.hits} of {group.held.of} held; stated {group.stated:.2f}"
        mark = (
            f'<circle cx="{at:.1f}" cy="{y(group.held.share):.1f}" r="4" fill="currentColor"/>'
            if group.held.tells
            else f'<circle cx="{at:.1f}" cy="{y(group.held.share):.1f}" r="4" fill="none" '
            'stroke="currentColor"/>'
        )
        parts.append(
            f"<g><title>{escape(told)}</title>"
            f"{_line(at, y(group.held.low), at, y(group.held.high))}{mark}</g>"
        )
    width, height = _LEFT + _SIDE + _RIGHT, _TOP + _SIDE + _BOTTOM
    return _svg(width, height, "Stated certainty against how often the advice held", parts)


def _axes(x: object, y: object) -> str:
    assert callable(x) and callable(y)
    parts = [
        f'<rect x="{x(0):.1f}" y="{y(1):.1f}" width="{_SIDE}" height="{_SIDE}" fill="none" '
        'stroke="currentColor"/>'
    ]
    for tick in (0.0, 0.25, 0.5, 0.75, 1.0):
        parts.append(_text(x(tick), y(0) + 16, f"{tick:g}", "middle"))
        parts.append(_text(x(0) - 6, y(tick) + 4, f"{tick:g}", "end"))
    parts.append(_text(x(0.5), y(0) + 34, "stated certainty", "middle"))
    parts.append(
        f'<text transform="translate(12 {y(0.5):.1f}) rotate(-90)" text-anchor="middle">held</text>'
    )
    return "".join(parts)


def problem_shares(rows: Iterable[tuple[str, Row]]) -> str:
    """The share of each row's outcomes that tell of a problem, with its interval."""
    named = list(rows)
    parts = []
    for n, (name, row) in enumerate(named):
        middle = _TOP + n * _ROW + _ROW / 2
        parts.append(_text(_NAMES - 8, middle + 4, f"{name} ({row.problems.of})", "end"))
        if not row.problems.tells:
            parts.append(_text(_NAMES + 4, middle + 4, "too few to tell", "start"))
            continue
        low, at, high = (
            _NAMES + value * _BARS
            for value in (row.problems.low, row.problems.share, row.problems.high)
        )
        parts.append(_line(low, middle, high, middle))
        parts.append(f'<circle cx="{at:.1f}" cy="{middle:.1f}" r="4" fill="currentColor"/>')
    bottom = _TOP + len(named) * _ROW
    parts.append(_line(_NAMES, bottom, _NAMES + _BARS, bottom))
    for tick in (0.0, 0.25, 0.5, 0.75, 1.0):
        parts.append(_text(_NAMES + tick * _BARS, bottom + 16, f"{100 * tick:g} %", "middle"))
    return _svg(
        _NAMES + _BARS + 24, bottom + 24, "Share of decisions with a problem afterwards", parts
    )


def days_waited(histogram: Sequence[tuple[int, int]]) -> str:
    """How many waits took how many days, in at most twenty bars."""
    longest = histogram[-1][0]
    step = max(1, -(-(longest + 1) // 20))
    bars = [0] * (longest // step + 1)
    for days, count in histogram:
        bars[days // step] += count
    most, width, height = max(bars), _BARS / len(bars), 120
    parts = []
    for n, count in enumerate(bars):
        tall = count / most * height
        told = f"{n * step} to {(n + 1) * step - 1} days: {count}"
        parts.append(
            f'<rect x="{_LEFT + n * width:.1f}" y="{_TOP + height - tall:.1f}" '
            f'width="{max(1.0, width - 2):.1f}" height="{tall:.1f}" fill="currentColor">'
            f"<title>{told}</title></rect>"
        )
    parts.append(_line(_LEFT, _TOP + height, _LEFT + _BARS, _TOP + height))
    parts.append(_text(_LEFT, _TOP + height + 16, "0", "middle"))
    parts.append(_text(_LEFT + _BARS, _TOP + height + 16, f"{len(bars) * step}", "middle"))
    parts.append(_text(_LEFT + _BARS / 2, _TOP + height + 32, "days waited", "middle"))
    parts.append(_text(_LEFT - 6, _TOP + 10, f"{most}", "end"))
    return _svg(_LEFT + _BARS + 24, _TOP + height + 40, "Days waited before an update", parts)


def _svg(width: float, height: float, title: str, parts: Iterable[str]) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:g}" height="{height:g}" '
        f'viewBox="0 0 {width:g} {height:g}" role="img" font-size="12" fill="currentColor">'
        f"<title>{escape(title)}</title>{''.join(parts)}</svg>"
    )


def _line(x1: float, y1: float, x2: float, y2: float, *, dashed: bool = False) -> str:
    dash = ' stroke-dasharray="4 4"' if dashed else ""
    return (
        f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="currentColor"'
        f"{dash}/>"
    )


def _text(x: float, y: float, words: str, anchor: str) -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(words)}</text>'
