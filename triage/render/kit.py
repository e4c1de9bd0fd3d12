"""The kit as an outline, and what it lacks."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from triage.domain.kit import Job, Kit
from triage.kit.units import component_name
from triage.render.outline import Block, Outline, Paragraph, Point, Points, Section, Table

_BACK = {True: "can go back", False: "no way back", None: "way back not stated"}


def kit_shown(kit: Kit) -> Outline:
    """A row a unit, then jobs, needs and the functions relied on."""
    blocks: list[Block] = []
    if kit.assumed:
        blocks.append(Paragraph(text="No kit is stated; this one is assumed:"))
    if kit.units:
        blocks.append(_units(kit))
    else:
        blocks.append(Paragraph(text="No unit yet; add one with: triage kit add"))
    said = [
        f"{unit.label} is relied on for: {', '.join(unit.functions)}"
        for unit in kit.units
        if unit.functions
    ]
    said += [f"Relied on: {', '.join(kit.functions)}"] if kit.functions else []
    said += [_job(job) for job in kit.jobs]
    said += [f"Need: {words}" for words in kit.needs]
    return (Section(title="", blocks=(*blocks, *_points(said))),)


def _job(job: Job) -> str:
    words = f": {job.what}" if job.what else ""
    stated = [f"in {', '.join(job.conditions)}"] if job.conditions else []
    stated += [f"needs {', '.join(job.functions)}"] if job.functions else []
    more = f" ({'; '.join(stated)})" if stated else ""
    return f"Job {job.day}{words}{more}"


def _units(kit: Kit) -> Table:
    rows = tuple(
        (
            unit.label,
            component_name(unit.component),
            unit.name or "-",
            unit.version or "version not stated",
            _BACK[unit.reversible],
        )
        for unit in kit.units
    )
    return Table(head=("Label", "Kind", "Name", "Installed", "Way back"), rows=rows)


def remarks_shown(remarks: Sequence[str]) -> Outline:
    """What a kit lacks."""
    blocks = _points(remarks) or (Paragraph(text="Nothing is missing."),)
    return (Section(title="", blocks=blocks),)


def ids_shown(pairs: Iterable[tuple[str, str]]) -> Outline:
    """Ids and what they mean."""
    return (Section(title="", blocks=(Table(head=("Id", "Meaning"), rows=tuple(pairs)),)),)


def _points(texts: Sequence[str]) -> tuple[Block, ...]:
    return (Points(points=tuple(Point(text=text) for text in texts)),) if texts else ()
