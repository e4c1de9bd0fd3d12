"""Settings as outlines: what was read, snapshots, and two of them side by side."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from triage.domain.snapshots import (
    Account,
    Difference,
    DifferenceKind,
    Match,
    SettingEntry,
    Snapshot,
    SnapshotComparison,
)
from triage.render.outline import Outline, Paragraph, Point, Points, Section, Table
from triage.settings.legal_limits import outside
from triage.settings.pasted_text import Unread
from triage.settings.recording_session import LineRead
from triage.settings.setting_values import value_words
from triage.settings.snapshots import NumberedSnapshot

_LINES = 3  # statements of the notes shown for one setting


def as_read(rows: Sequence[LineRead], passed_over: Sequence[Unread] = ()) -> Outline:
    """What was read, to be confirmed line by line, and the lines that were passed over."""
    cells = tuple(
        (
            str(row.number),
            str(row.line or "-"),
            row.entry.name,
            value_words(row.entry.value),
            row.was if row.was and row.was != value_words(row.entry.value) else "",
        )
        for row in rows
    )
    head = ("", "Line", "Setting", "Value", "Last time")
    sections = [Section(title="As read", blocks=(Table(head=head, rows=cells),), level=1)]
    if passed_over:
        points = tuple(Point(text=u.text, source=f"line {u.line}") for u in passed_over)
        title = "Taken for headings or commands, no settings"
        sections.append(Section(title=title, blocks=(Points(points=points),)))
    return tuple(sections)


def snapshots(found: Mapping[str, Sequence[NumberedSnapshot]]) -> Outline:
    """All snapshots in a table."""
    rows = tuple(
        (
            str(one.number),
            unit,
            one.snapshot.taken.strftime("%Y-%m-%d %H:%M"),
            one.snapshot.version or "-",
            str(len(one.snapshot.entries)),
            one.snapshot.origin.value + (", corrected" if one.snapshot.corrects else ""),
        )
        for unit, kept in found.items()
        for one in kept
    )
    head = ("No.", "Unit", "Taken", "Version", "Settings", "How")
    return (Section(title="Snapshots of settings", blocks=(Table(head=head, rows=rows),), level=1),)


def snapshot(one: NumberedSnapshot) -> Outline:
    """One snapshot, every value."""
    taken = one.snapshot
    table = Table(
        head=("Setting", "Value"), rows=tuple((e.name, value_words(e.value)) for e in taken.entries)
    )
    version = f", version {taken.version}" if taken.version else ""
    title = f"Snapshot {one.number}: {taken.unit}, {taken.taken:%Y-%m-%d %H:%M}{version}"
    sections = [Section(title=title, blocks=(table,), level=1)]
    if taken.corrects:
        sections.append(
            Section(title="Corrected", blocks=(Paragraph(text=taken.reason, strong=True),))
        )
    sections += _flags([(e.name, f.text) for e in taken.entries for f in outside(e)])
    if taken.pictures:
        points = tuple(Point(text=f"{p.name} (SHA-256 {p.sha256})") for p in taken.pictures)
        sections.append(Section(title="Read from", blocks=(Points(points=points),)))
    return tuple(sections)


def snapshots_compared(compared: SnapshotComparison) -> Outline:
    """What differs, what is to be confirmed, what is outside limits, and what is the same."""
    before, after = compared.before, compared.after
    title = f"Settings of {before.unit}: {_when(before)} and {_when(after)}"
    differing = [d for d in compared.differences if _differs(d)]
    same = [d for d in compared.differences if d not in differing]
    sections = [Section(title=title, blocks=(Paragraph(text=counted(compared)),), level=1)]
    if differing:
        table = Table(
            head=("Setting", "Before", "After", "What", "The notes"),
            rows=tuple(_row(d) for d in differing),
        )
        sections.append(Section(title="What differs", blocks=(table,)))
    questions = [Point(text=f"{d.name}: {d.question}") for d in differing if d.question]
    if questions:
        sections.append(Section(title="To confirm", blocks=(Points(points=tuple(questions)),)))
    sections += _said(differing)
    sections += _flags([(d.name, f.text) for d in compared.differences for f in d.flags])
    if same:
        text = ", ".join(f"{d.name} ({d.shown})" if d.shown else d.name for d in same)
        sections.append(Section(title="The same", blocks=(Paragraph(text=f"{text}."),)))
    return tuple(sections)


def counted(compared: SnapshotComparison) -> str:
    """'1 changed, 1 gone, 1 new, 22 the same; 1 to confirm', and how many came unexpected."""
    words = {DifferenceKind.SAME: "the same"}
    parts = [
        f"{len(compared.of(o))} {words.get(o, o.value)}" for o in DifferenceKind if compared.of(o)
    ]
    text = ", ".join(parts)
    if asked := sum(bool(d.question) for d in compared.differences):
        text += f"; {asked} to confirm"
    moved = [d for d in compared.differences if d.outcome is not DifferenceKind.SAME]
    if surprises := sum(d.account is not Account.EXPECTED for d in moved):
        text += f"; {surprises} not as the notes say"
    if unseen := sum(d.account is Account.NOT_SEEN for d in compared.differences):
        text += f"; {unseen} announced but not seen"
    return f"{text}."


def _differs(difference: Difference) -> bool:
    seen = difference.account is not Account.NOT_SEEN
    return bool(difference.outcome is not DifferenceKind.SAME or difference.question or not seen)


def _when(taken: Snapshot) -> str:
    version = f" ({taken.version})" if taken.version else ""
    return f"{taken.taken:%Y-%m-%d %H:%M}{version}"


def _row(difference: Difference) -> tuple[str, ...]:
    name = difference.name
    if difference.before and difference.before.name != name:
        how = {Match.GUESS: "perhaps once", Match.NOTES: "by the notes once"}
        name += f" ({how.get(difference.match, 'once')} {difference.before.name})"
    return (
        name,
        _value(difference.before),
        _value(difference.after),
        difference.outcome.value,
        difference.account.value,
    )


def _value(entry: SettingEntry | None) -> str:
    return value_words(entry.value) if entry else "-"


def _said(differing: Sequence[Difference]) -> list[Section]:
    points = []
    for difference in differing:
        points += [Point(text=f"{difference.name}: {said}") for said in difference.foreseen]
        if difference.foreseen:
            continue
        for line in (difference.expected or difference.near)[:_LINES]:
            item = f"item {line.ref}, " if line.ref else ""
            points.append(
                Point(text=f"{difference.name}: {line.text}", source=f"{item}line {line.line}")
            )
    return (
        [Section(title="The notes say", blocks=(Points(points=tuple(points)),))] if points else []
    )


def _flags(rows: Sequence[tuple[str, str]]) -> list[Section]:
    points = tuple(Point(text=f"{name}: {text}.") for name, text in rows)
    title = "Check your local rules"
    return [Section(title=title, blocks=(Points(points=points),))] if points else []
