"""The whole answer to one document: a note for each group of units, then what was left out."""

from __future__ import annotations

from triage.domain.answer import Advice
from triage.domain.judged import JudgedNotes
from triage.domain.kit import KitPlan
from triage.render.items import by_kind, release_title
from triage.render.note import note
from triage.render.outline import Outline, Paragraph, Point, Points, Section


def outline(advice: Advice, *, brief: bool = False) -> Outline:
    """All notes in the kit's order."""
    judged, scope, units, together = advice
    sections: list[Section] = []
    for unit in units:
        sections += note(judged, unit.scope, unit.plan, unit.assessment, brief=brief)
    if not units:
        sections += _nothing_owned(judged)
    sections += kit_section(together)
    remarks = [*judged.notes.remarks, *scope.remarks, *(r for u in units for r in u.scope.remarks)]
    points = [Point(text=text) for text in dict.fromkeys(remarks)]
    points += [
        Point(text=f"{release_title(judged.notes.releases[u.release])}: {u.reason}")
        for u in scope.elsewhere
    ]
    if points:
        sections.append(Section(title="How it was read", blocks=(Points(points=tuple(points)),)))
    return tuple(sections)


def kit_section(plan: KitPlan | None) -> list[Section]:
    """The one plan for all units that move; nothing where a single unit does."""
    if plan is None or len({move.unit for move in plan.moves}) < 2:
        return []
    alike: dict[tuple[int, str, str], list[str]] = {}
    for move in plan.moves:
        target = f"{'back to ' if move.back else ''}{move.version or 'the newest version'}"
        key = (move.step, move.installed or "version not stated", target)
        alike.setdefault(key, []).append(move.unit)
    points = [
        Point(text=f"{step}. {', '.join(units)}: {installed} -> {target}")
        for (step, installed, target), units in alike.items()
    ]
    points += [Point(text=f"Left behind: {unmet.reason}") for unmet in plan.left_behind]
    if plan.try_first:
        points.append(Point(text=f"{plan.try_first}."))
    title = "The whole kit, in this order"
    return [Section(title=title, blocks=(Points(points=tuple(points)),))]


def _nothing_owned(judged: JudgedNotes) -> list[Section]:
    text = "None of these releases is for a unit of your kit, so there is nothing to decide."
    head = Section(title="NOTHING TO DECIDE", blocks=(Paragraph(text=text),), level=1)
    return [head, *by_kind(judged)]
