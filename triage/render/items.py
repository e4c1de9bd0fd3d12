"""Items as an outline: by release, or by kind."""

from __future__ import annotations

from triage.domain.finds import FoundBy
from triage.domain.judged import JudgedItem, JudgedNotes
from triage.domain.kinds import MEANING, Kind
from triage.domain.notes import Notes, Release, Status
from triage.reference.vocabulary import components, settings
from triage.render.outline import Outline, Paragraph, Point, Points, Section

_LONGEST = 300  # characters of an item that are shown


def by_release(judged: JudgedNotes) -> Outline:
    """Every item in the document's order, under its release, with its kinds in words."""
    sections = [_source(judged.notes)]
    for index, release in enumerate(judged.notes.releases):
        items = [item for item in judged.items if item.release == index]
        points = tuple(
            Point(text=f"{i.item.ref}. {kinds_shown(i)}: {short(i.item.text)}", source=_found(i))
            for i in items
        )
        blocks = (Points(points=points),) if points else (Paragraph(text="No change items."),)
        sections.append(Section(title=release_title(release), blocks=blocks))
    return tuple(sections)


def by_kind(judged: JudgedNotes, refs: frozenset[str] | None = None) -> tuple[Section, ...]:
    """Items (those with the refs given) by kind; one of several kinds stands under each."""
    items = [i for i in judged.items if refs is None or i.item.ref in refs]
    sections = []
    for kind in Kind:
        points = tuple(_point(item) for item in items if kind in item.kinds)
        if points:
            title = f"{kind.value} ({len(points)}): {MEANING[kind]}"
            sections.append(Section(title=title, blocks=(Points(points=points),), level=3))
    unsure = tuple(
        Point(
            text=f"{i.item.ref}. {' or '.join(k.value for k in i.unsure)}? {short(i.item.text)}",
            source=f"line {i.item.places[0].line}",
        )
        for i in items
        if i.unsure
    )
    if unsure:
        title = f"unsure ({len(unsure)}): for you to settle"
        sections.append(Section(title=title, blocks=(Points(points=unsure),), level=3))
    none = tuple(_point(item) for item in items if not item.kinds and not item.unsure)
    if none:
        title = f"no kind ({len(none)}): instructions and remarks"
        sections.append(Section(title=title, blocks=(Points(points=none),), level=3))
    return tuple(sections)


def kinds_shown(item: JudgedItem) -> str:
    """The kinds of an item in words, with a question mark on those undecided."""
    words = [kind.value for kind in item.kinds] + [f"{kind.value}?" for kind in item.unsure]
    return ", ".join(words) or "no kind"


def short(text: str) -> str:
    """The text on one line, cut where it runs on."""
    line = " ".join(text.split())
    return line if len(line) <= _LONGEST else f"{line[: _LONGEST - 3].rstrip()}..."


def release_title(release: Release) -> str:
    """Unit, version, date and status of a release, as far as the notes state them."""
    named = f"{release.unit} {release.version}".strip() or release.title or "Release not named"
    parts = [named]
    if release.date and release.date.day:
        parts.append(release.date.day.isoformat())
    if release.status is not Status.RELEASED:
        parts.append(release.status.value)
    return ", ".join(parts)


def _source(notes: Notes) -> Section:
    source, count = notes.source, sum(len(r.items) for r in notes.releases)
    head = f"{source.name}: {source.format.value}, {source.encoding}"
    size = f"{len(notes.releases)} release{'s' * (len(notes.releases) != 1)}, {count} items"
    remarks = tuple(Paragraph(text=remark) for remark in notes.remarks)
    return Section(title=f"{head}, {size}", blocks=remarks, level=1)


def _point(item: JudgedItem) -> Point:
    line = item.item.places[0].line
    return Point(text=f"{item.item.ref}. {short(item.item.text)}", source=f"line {line}")


def _found(item: JudgedItem) -> str:
    names = {s.id: s.name for s in settings()} | {f"c:{c.id}": c.name for c in components()}
    touched = [(names[f.id], f.by) for f in item.finds.settings]
    spoken = [(names[f"c:{f.id}"], f.by) for f in item.finds.components]
    lines = ", ".join(str(place.line) for place in item.item.places)
    parts = [f"line {lines}" if len(item.item.places) == 1 else f"lines {lines}"]
    for lead, found in (("setting", touched), ("speaks of", spoken)):
        for by, word in ((FoundBy.WORDS, lead), (FoundBy.MODEL, f"{lead}, not named")):
            if said := dict.fromkeys(name for name, how in found if how is by):
                parts.append(f"{word}: {', '.join(said)}")
    return "; ".join(parts)
