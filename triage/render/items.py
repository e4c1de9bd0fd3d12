"""Items as an outline: by release, or by kind."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from triage.domain.finds import FoundBy
from triage.domain.judged import JudgedItem, JudgedNotes
from triage.domain.kinds import MEANING, Kind
from triage.domain.notes import Aside, Notes, Release, Requirement, Status
from triage.reference.vocabulary import components, settings
from triage.render.outline import Outline, Paragraph, Point, Points, Section

_LONGEST = 300  # characters of an item that are shown
_SURE_CHANGE = 0.6  # the reader's chance from which a statement is shown as a change outright


def by_release(judged: JudgedNotes, *, aside: bool = False) -> Outline:
    """What was read of each release in the document's order; `aside` shows what weighs nothing."""
    sections = [_source(judged.notes)]
    for index, release in enumerate(judged.notes.releases):
        items = [item for item in judged.items if item.release == index]
        blocks = (*_units(release), *_changes(items), *_spoken(release))
        sections.append(Section(title=release_title(release), blocks=blocks))
    sections += _set_aside(judged.notes.aside, whole=aside)
    return tuple(sections)


def _units(release: Release) -> Iterator[Paragraph]:
    if release.units:
        named = "; ".join(f"{u.name or u.component} {u.version}" for u in release.units)
        yield Paragraph(text=f"Versions: {named}")
    for assumed in release.assumed:
        yield Paragraph(text=f"Not known: {assumed}")


def _changes(items: Sequence[JudgedItem]) -> Iterator[Paragraph | Points]:
    if not items:
        yield Paragraph(text="No change items.")
        return
    yield Points(
        points=tuple(
            Point(
                text=f"{i.item.ref}. {_doubt(i)}{kinds_shown(i)}: {short(i.item.text)}",
                source=_found(i),
            )
            for i in items
        )
    )


def _doubt(item: JudgedItem) -> str:
    return "perhaps no change; " if item.item.chance < _SURE_CHANGE else ""


def _spoken(release: Release) -> Iterator[Paragraph | Points]:
    """Words about the release, known issues, what it needs, what the maker tells one to do."""
    needs = [(_need(r), r.place.line) for r in release.requirements]
    for title, told in (
        (
            "About this release",
            [(f"{n.kind.value}: {n.text}", n.place.line) for n in release.notices],
        ),
        ("Known issues", [(f"{k.ref}. {k.text}", k.place.line) for k in release.known_issues]),
        ("Needs", list(dict.fromkeys(needs))),
        ("What the maker tells you to do", [(i.text, i.place.line) for i in release.instructions]),
    ):
        if told:
            yield Paragraph(text=f"{title}:")
            yield Points(
                points=tuple(Point(text=short(text), source=f"line {line}") for text, line in told)
            )


def _need(need: Requirement) -> str:
    names = {c.id: c.name for c in components()}
    unit = need.name or names.get(need.component, need.component) or "another unit"
    return f"{unit}: {need.comparison.value.replace('-', ' ')} {need.version}".rstrip()


def _set_aside(aside: Sequence[Aside], *, whole: bool) -> Iterator[Section]:
    if not aside:
        return
    title = f"Left aside: {len(aside)} lines that change nothing"
    if not whole:
        hint = Paragraph(text="To see them: triage items NOTES --aside")
        yield Section(title=title, blocks=(hint,))
        return
    points = tuple(
        Point(text=f"{a.role.value}: {short(a.text)}", source=f"line {a.place.line}") for a in aside
    )
    yield Section(title=title, blocks=(Points(points=points),))


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
