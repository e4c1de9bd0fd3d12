"""Plots of an advice as inline SVG with the same in words: no script, colours of the page.

Drawn on a sheet 360 units wide, so that letters stay readable on the narrowest screen. What a
picture shows is told by place, shape and word; colour is only the page's own ink.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Sequence

from markupsafe import Markup

from triage.advice.projection import Course
from triage.domain.advice import Certainty, Hazard, Verdict
from triage.domain.policy import Level
from triage.render.outline import Figure
from triage.render.svg import box, dot, drawing, label, line, path

_WIDTH = 360
_LEFT, _RIGHT = 46, 14
_LEAST_CHANCE = 1e-7
_WORD = {Verdict.UPDATE: "update now", Verdict.WAIT: "wait and watch"}
Place = Callable[[float], float]


def reports(course: Course) -> Figure:
    """Clean users counted so far against what the policy asks, over days since the release."""
    top, height = 30, 130
    most = max([course.users_asked, *(n for _, n in course.reported), 4]) * 1.15
    x = _days(course)
    y = _scale(0, most, top + height, top)
    parts = [_frame(top, height), *_day_ticks(course, x, top + height)]
    parts += [label(_LEFT - 5, y(n) + 4, f"{n:g}", "end") for n in _ticks(most)]
    parts.append(label(4, 14, "clean users counted", "start"))
    told = _counted(course)
    if course.users_asked:
        at = y(course.users_asked)
        parts.append(line(_LEFT, at, _WIDTH - _RIGHT, at, dash="6 4"))
        parts.append(label(_WIDTH - _RIGHT - 2, at - 4, f"asked: {course.users_asked}", "end"))
    steps, last = f"M{x(0):.1f} {y(0):.1f}", 0.0
    for day, count in course.reported:
        steps += f"H{x(day):.1f}V{y(count):.1f}"
        last = count
    steps += f"H{x(course.today):.1f}"
    parts += [path(steps), dot(x(course.today), y(last), 4.5)]
    marks = [(course.today, "today")]
    if course.days_asked:
        marks.append((course.days_asked, f"{course.days_asked} days asked"))
    if course.days_instead:
        marks.append((course.days_instead, f"{course.days_instead} days do instead"))
    if course.turns is not None:
        marks.append((course.turns, f"turns {_date(course, course.turns)}"))
    drawn, below = _marks(marks, x, top, top + height)
    return Figure(
        svg=drawing(
            _WIDTH, below, "Evidence so far against what the policy asks", [*parts, *drawn]
        ),
        text=told,
    )


def _counted(course: Course) -> str:
    last = course.reported[-1][1] if course.reported else 0.0
    text = f"Evidence so far: day {course.today} since the release, {last:g} clean users counted"
    asked = [f"{course.days_asked} days"] if course.days_asked else []
    if course.users_asked or course.days_instead:
        instead = f" or {course.days_instead} days" if course.days_instead else ""
        asked.append(f"{course.users_asked} clean users{instead}")
    text += f"; the policy asks for {' and '.join(asked)}." if asked else "; the policy asks none."
    if course.turns is not None:
        text += f" The advice turns by itself on {_date(course, course.turns)}."
    return text


def risk_ahead(course: Course) -> Figure:
    """The chance of the gravest hazard of moving over the coming days, against what is accepted."""
    title = "Chance of harm from moving, day by day"
    if not course.chance:
        return Figure(svg=_drawn(24, title, []), text="No hazard of moving is open.")
    top, height = 30, 120
    values = [max(chance, _LEAST_CHANCE) for _, chance in course.chance]
    shown = [*values, max(course.allowed, _LEAST_CHANCE)]
    low = math.floor(math.log10(min(shown)) - 0.2)
    high = min(0, math.ceil(math.log10(max(shown)) + 0.2))
    x, y = _days(course), _scale(low, max(high, low + 1), top + height, top)
    parts = [_frame(top, height), *_day_ticks(course, x, top + height)]
    parts += [
        label(_LEFT - 5, y(n) + 4, _one_in(n), "end") for n in range(low, max(high, low + 1) + 1)
    ]
    parts.append(label(4, 14, "chance per flight, 1 in ...", "start"))
    limit = y(math.log10(max(course.allowed, _LEAST_CHANCE)))
    parts.append(line(_LEFT, limit, _WIDTH - _RIGHT, limit, dash="6 4"))
    parts.append(label(_WIDTH - _RIGHT - 2, limit - 4, "policy takes less than this", "end"))
    steps = "L".join(
        f"{x(day):.1f} {y(math.log10(max(chance, _LEAST_CHANCE))):.1f}"
        for day, chance in course.chance
    )
    parts.append(path(f"M{steps}"))
    marks = [(course.today, "today")]
    if course.turns is not None:
        marks.append((course.turns, f"turns {_date(course, course.turns)}"))
    drawn, below = _marks(marks, x, top, top + height)
    now, end = course.chance[0][1], course.chance[-1][1]
    under = next((day for day, chance in course.chance if chance < course.allowed), None)
    fate = (
        "It is below what the policy takes already."
        if under == course.today
        else f"It falls below what the policy takes on day {under}."
        if under is not None
        else "It does not fall below what the policy takes in this time."
    )
    if course.turns is not None and (under is None or under > course.turns):
        fate += " The advice turns all the same, as staying then weighs more."
    text = (
        f"{course.hazard[:1].upper()}{course.hazard[1:]}, the hazard nearest to the limit: about 1 "
        f"flight in {_figure(now)} today, 1 in {_figure(end)} on day {course.last}, if no trouble "
        f"comes to notice. {fate}"
    )
    return Figure(svg=_drawn(below, title, [*parts, *drawn]), text=text)


def two_sides(moving: Sequence[Hazard], staying: Sequence[Hazard]) -> Figure:
    """How many hazards there are of each risk level, of staying beside moving."""
    row, top = 34, 30
    levels = tuple(reversed(Level))
    columns = (("if you stay", staying, 90), ("if you move", moving, 230))
    parts = []
    for name, hazards, left in columns:
        parts.append(label(left, 18, f"{name} ({len(hazards)})", "start", bold=True))
        for at, level in enumerate(levels):
            here = [hazard for hazard in hazards if hazard.level is level]
            parts += _squares(here, left, top + at * row)
    for at, level in enumerate(levels):
        parts.append(label(4, top + at * row + 20, level.value, "start"))
        parts.append(line(0, top + at * row, _WIDTH, top + at * row, thin=True))
    bottom = top + len(levels) * row
    parts.append(line(220, top, 220, bottom, thin=True))
    parts.append(label(4, bottom + 16, "filled: above your policy; hollow: within it", "start"))
    counts = []
    for name, hazards, _ in columns:
        found = [f"{sum(h.level is v for h in hazards)} {v.value}" for v in levels]
        found = [words for words in found if not words.startswith("0 ")]
        above = sum(not h.accepted for h in hazards)
        counts.append(
            f"{name}: {', '.join(found) or 'no hazard'}"
            + (f", {above} above your policy" if above else "")
        )
    text = f"Risk of staying beside moving. {'; '.join(counts)}.".replace(". if", ". If")
    return Figure(
        svg=_drawn(bottom + 24, "Risk of staying beside risk of moving", parts), text=text
    )


def _squares(hazards: Sequence[Hazard], left: float, top: float) -> list[Markup]:
    most, side = 6, 14
    parts = []
    ordered = sorted(hazards, key=lambda hazard: hazard.accepted)
    for at, hazard in enumerate(ordered[:most]):
        parts.append(box(left + at * 18, top + 9, side, side, filled=not hazard.accepted))
    if len(ordered) > most:
        parts.append(label(left + most * 18, top + 21, f"+{len(ordered) - most}", "start"))
    return parts


def sureness(certainty: Certainty, verdict: Verdict) -> Figure:
    """In how many of 100 draws the advice stays."""
    kept = round(100 * certainty.share)
    left, top, side = 4, 26, 16
    parts = [label(left, 15, f"{kept} of 100 draws: {_WORD[verdict]}", "start", bold=True)]
    for at in range(100):
        x, y = left + at % 20 * 17.6, top + at // 20 * 18
        parts.append(box(x, y, side - 2, side - 2, filled=at < kept))
    text = (
        f"How sure: {certainty.words}. {kept} of 100 draws over what is not known keep the advice "
        f"(filled), {100 - kept} turn it (hollow)."
    )
    return Figure(svg=_drawn(top + 5 * 18 + 4, "How sure the advice is", parts), text=text)


def strictness(found: Sequence[Verdict], here: int | None, names: Sequence[str]) -> Figure:
    """The advice at each step from the strictest preset to the most lenient."""
    top, height, last = 24, 26, len(found) - 1
    x = _scale(0, last + 1, 6, _WIDTH - 6)
    parts, runs = [], verdict_runs(found)
    for first, end, verdict in runs:
        filled = verdict is Verdict.UPDATE
        parts.append(box(x(first), top, x(end + 1) - x(first), height, filled=filled))
        middle = (x(first) + x(end + 1)) / 2
        parts.append(label(middle, 16, _WORD[verdict], "middle"))
    for at, name in enumerate(names):
        step = round(at * last / (len(names) - 1))
        anchor = "start" if at == 0 else "end" if at == len(names) - 1 else "middle"
        place = {"start": 6.0, "end": _WIDTH - 6.0}.get(anchor, x(step + 0.5))
        parts.append(label(place, top + height + 32, name, anchor))
        parts.append(line(x(step + 0.5), top + height, x(step + 0.5), top + height + 18, thin=True))
    if here is not None:
        middle = x(here + 0.5)
        parts.append(path(f"M{middle:.1f} {top + height + 1}l-6 12h12z", filled=True))
    said = "; ".join(
        f"{_WORD[verdict]} from step {first} to {end}"
        if end > first
        else f"{_WORD[verdict]} at step {first}"
        for first, end, verdict in runs
    )
    turns = f"Where the advice flips, from the strictest policy (0) to the most lenient ({last}): "
    text = (
        f"{turns}{said}."
        if len(runs) > 1
        else f"No policy between the presets turns the advice: {_WORD[found[0]]} throughout."
    )
    return Figure(svg=_drawn(top + height + 42, "Where the advice flips", parts), text=text)


def verdict_runs(found: Sequence[Verdict]) -> tuple[tuple[int, int, Verdict], ...]:
    """Steps that follow each other with the same advice: first, last, advice."""
    runs: list[tuple[int, int, Verdict]] = []
    for at, verdict in enumerate(found):
        if runs and runs[-1][2] is verdict:
            runs[-1] = (runs[-1][0], at, verdict)
        else:
            runs.append((at, at, verdict))
    return tuple(runs)


def _days(course: Course) -> Place:
    return _scale(0, max(course.last, 1), _LEFT, _WIDTH - _RIGHT)


def _scale(low: float, high: float, start: float, end: float) -> Place:
    return lambda value: start + (value - low) / (high - low) * (end - start)


def _date(course: Course, day: int) -> str:
    """The day as a date where the release has one."""
    if course.released is None:
        return f"day {day}"
    return (course.released + dt.timedelta(days=day)).isoformat()


def _day_ticks(course: Course, x: Place, bottom: float) -> list[Markup]:
    return [
        *(label(x(day), bottom + 15, f"{day:g}", "middle") for day in _ticks(course.last)),
        label(_WIDTH - _RIGHT, bottom + 30, "days since release", "end"),
    ]


def _marks(
    marks: Sequence[tuple[int, str]], x: Place, top: float, bottom: float
) -> tuple[list[Markup], float]:
    """Upright lines with a letter each, and the legend below; returns where it ends."""
    parts, at = [], bottom + 48
    for letter, (day, words) in zip("ABCD", marks, strict=False):
        parts.append(line(x(day), top, x(day), bottom, dash="2 3"))
        parts.append(
            label(x(day) + 3, top + 11 + 13 * "ABCD".index(letter), letter, "start", bold=True)
        )
        parts.append(label(_LEFT, at, f"{letter}  {words} (day {day})", "start"))
        at += 16
    return parts, at - 6


def _ticks(most: float) -> list[float]:
    step = next(s * 10**n for n in range(-1, 7) for s in (1, 2, 5) if most / (s * 10**n) <= 5)
    return [n * step for n in range(int(most / step) + 1)]


def _one_in(power: int) -> str:
    return {0: "1", -1: "10", -2: "100", -3: "1,000", -4: "10,000"}.get(power, f"10^{-power}")


def _figure(chance: float) -> str:
    """How many flights to one case, in two figures."""
    if chance <= 0:
        return "very many"
    many = 1 / chance
    digits = max(0, int(math.log10(many)) - 1)
    return f"{round(many / 10**digits) * 10**digits:,}"


def _drawn(height: float, title: str, parts: Sequence[Markup]) -> Markup:
    return drawing(_WIDTH, height, title, parts)


def _frame(top: float, height: float) -> Markup:
    upright = line(_LEFT, top, _LEFT, top + height)
    return upright + line(_LEFT, top + height, _WIDTH - _RIGHT, top + height)
