"""Plots of the journal as inline SVG: no script, no network, colours of the page."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from markupsafe import Markup

from triage.journal.learning import Firmness, Row
from triage.render.svg import box, dot, drawing, label, line

Place = Callable[[float], float]

_SIDE = 300  # of the square plot
_LEFT, _TOP, _RIGHT, _BOTTOM = 48, 12, 12, 40
_ROW = 26
_NAMES = 220
_BARS = 320


def reliability(groups: Sequence[Firmness]) -> Markup:
    """Observed share that held over the stated certainty, with exact intervals and the diagonal."""

    def x(value: float) -> float:
        return _LEFT + value * _SIDE

    def y(value: float) -> float:
        return _TOP + (1 - value) * _SIDE

    parts = [*_axes(x, y), line(x(0), y(0), x(1), y(1), dash="4 4")]
    for group in groups:
        at = x(group.stated)
        told = f"{group.held.hits} of {group.held.of} held; stated {group.stated:.2f}"
        parts.append(line(at, y(group.held.low), at, y(group.held.high)))
        parts.append(dot(at, y(group.held.share), filled=group.held.tells, told=told))
    width, height = _LEFT + _SIDE + _RIGHT, _TOP + _SIDE + _BOTTOM
    return drawing(width, height, "Stated certainty against how often the advice held", parts)


def _axes(x: Place, y: Place) -> Iterator[Markup]:
    yield box(x(0), y(1), _SIDE, _SIDE, filled=False)
    for tick in (0.0, 0.25, 0.5, 0.75, 1.0):
        yield label(x(tick), y(0) + 16, f"{tick:g}", "middle")
        yield label(x(0) - 6, y(tick) + 4, f"{tick:g}", "end")
    yield label(x(0.5), y(0) + 34, "stated certainty", "middle")
    yield label(x(0) - 6, y(0.5) - 12, "held", "end")


def problem_shares(rows: Iterable[tuple[str, Row]]) -> Markup:
    """The share of each row's outcomes that tell of a problem, with its interval."""
    named = list(rows)
    parts = []
    for n, (name, row) in enumerate(named):
        middle = _TOP + n * _ROW + _ROW / 2
        parts.append(label(_NAMES - 8, middle + 4, f"{name} ({row.problems.of})", "end"))
        if not row.problems.tells:
            parts.append(label(_NAMES + 4, middle + 4, "too few to tell", "start"))
            continue
        low, at, high = (
            _NAMES + value * _BARS
            for value in (row.problems.low, row.problems.share, row.problems.high)
        )
        parts.append(line(low, middle, high, middle))
        parts.append(dot(at, middle))
    bottom = _TOP + len(named) * _ROW
    parts.append(line(_NAMES, bottom, _NAMES + _BARS, bottom))
    for tick in (0.0, 0.25, 0.5, 0.75, 1.0):
        parts.append(label(_NAMES + tick * _BARS, bottom + 16, f"{100 * tick:g} %", "middle"))
    return drawing(
        _NAMES + _BARS + 24, bottom + 24, "Share of decisions with a problem afterwards", parts
    )


def days_waited(histogram: Sequence[tuple[int, int]]) -> Markup:
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
        left, wide = _LEFT + n * width, max(1.0, width - 2)
        parts.append(box(left, _TOP + height - tall, wide, tall, filled=True, told=told))
    parts.append(line(_LEFT, _TOP + height, _LEFT + _BARS, _TOP + height))
    parts.append(label(_LEFT, _TOP + height + 16, "0", "middle"))
    parts.append(label(_LEFT + _BARS, _TOP + height + 16, f"{len(bars) * step}", "middle"))
    parts.append(label(_LEFT + _BARS / 2, _TOP + height + 32, "days waited", "middle"))
    parts.append(label(_LEFT - 6, _TOP + 10, f"{most}", "end"))
    return drawing(_LEFT + _BARS + 24, _TOP + height + 40, "Days waited before an update", parts)
