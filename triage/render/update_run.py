"""Update day as outlines: snapshots, comparisons, the state of a run, a step, and its end."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from triage.domain.snapshots import (
    Difference,
    DifferenceKind,
    Match,
    SettingEntry,
    Snapshot,
    SnapshotComparison,
)
from triage.domain.update_run import (
    LEGEND,
    Detail,
    Phase,
    Run,
    Stage,
    StepState,
    StepStatus,
    Summary,
)
from triage.render.outline import Outline, Paragraph, Point, Points, Section, Table
from triage.settings.legal_limits import outside
from triage.settings.setting_values import value_words
from triage.settings.snapshots import NumberedSnapshot
from triage.update.run_state import blocked_by, next_step

STAGE = {Stage.BEFORE: "Before", Stage.UNITS: "Units", Stage.AFTER: "After"}
STATE = {
    StepStatus.OPEN: "[ ]",
    StepStatus.DONE: "[x]",
    StepStatus.SKIPPED: "[-]",
    StepStatus.FAILED: "[!]",
}
_LINES = 3  # statements of the notes shown for one setting


def snapshots(found: Mapping[str, Sequence[NumberedSnapshot]]) -> Outline:
    """All snapshots in a table."""
    rows = tuple(
        (
            str(one.number),
            unit,
            one.snapshot.taken.strftime("%Y-%m-%d %H:%M"),
            one.snapshot.version or "-",
            str(len(one.snapshot.entries)),
            one.snapshot.origin.value,
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
    sections += _flags([(e.name, f.text) for e in taken.entries for f in outside(e)])
    if taken.pictures:
        points = tuple(Point(text=f"{p.name} (SHA-256 {p.sha256})") for p in taken.pictures)
        sections.append(Section(title="Read from", blocks=(Points(points=points),)))
    return tuple(sections)


def snapshots_compared(compared: SnapshotComparison) -> Outline:
    """What differs, what is to be confirmed, what is outside limits, and what is the same."""
    before, after = compared.before, compared.after
    title = f"Settings of {before.unit}: {_when(before)} and {_when(after)}"
    differing = [
        d for d in compared.differences if d.outcome is not DifferenceKind.SAME or d.question
    ]
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
    surprises = [
        d for d in compared.differences if d.outcome is not DifferenceKind.SAME and not d.expected
    ]
    if surprises:
        text += f"; {len(surprises)} of them not named in the notes"
    return f"{text}."


def _when(taken: Snapshot) -> str:
    version = f" ({taken.version})" if taken.version else ""
    return f"{taken.taken:%Y-%m-%d %H:%M}{version}"


def _row(difference: Difference) -> tuple[str, ...]:
    name = difference.name
    if difference.before and difference.before.name != name:
        how = {Match.GUESS: "perhaps once", Match.NOTES: "by the notes once"}
        name += f" ({how.get(difference.match, 'once')} {difference.before.name})"
    said = "expected" if difference.expected else "not named"
    if not difference.expected and difference.near:
        said = "its subject only"
    return (
        name,
        _value(difference.before),
        _value(difference.after),
        difference.outcome.value,
        said,
    )


def _value(entry: SettingEntry | None) -> str:
    return value_words(entry.value) if entry else "-"


def _said(differing: Sequence[Difference]) -> list[Section]:
    points = []
    for difference in differing:
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


def status(run: Run) -> Outline:
    """A run with every step, the next one marked."""
    plan = run.plan
    words = {Phase.OPEN: "open", Phase.CLOSING: "cut short while finishing", Phase.CLOSED: "over"}
    done = sum(step.state is StepStatus.DONE for step in run.steps)
    text = (
        f"Begun {run.started.at:%Y-%m-%d %H:%M}, {words[run.phase]}; "
        f"{done} of {len(run.steps)} steps done, {len(run.left)} left."
    )
    blocks = [Paragraph(text=text)]
    if run.started.against:
        blocks.append(Paragraph(text=f"Begun against the advice: {plan.headline}", strong=True))
    if run.closing and run.closing.abandoned:
        blocks.append(Paragraph(text=f"Abandoned: {run.closing.abandoned}", strong=True))
    sections = [Section(title=f"Update run {run.id}: {plan.title}", blocks=tuple(blocks), level=1)]
    ahead = next_step(run)
    for stage in Stage:
        steps = [step for step in run.steps if step.step.stage is stage]
        points = tuple(Point(text=_line(step, step == ahead)) for step in steps)
        if points:
            sections.append(Section(title=STAGE[stage], blocks=(Points(points=points),)))
    if run.phase is Phase.OPEN and not run.left:
        sections.append(_paragraph("Nothing is left to do", "triage update finish"))
    return tuple(sections)


def _line(step: StepState, next_: bool) -> str:
    text = f"{STATE[step.state]} {step.number}. {step.step.title}"
    if step.state is StepStatus.SKIPPED and step.last:
        text += f" (skipped: {step.last.note}{'; still owed' if step.step.owed else ''})"
    elif step.state is StepStatus.FAILED and step.last:
        text += f" (failed: {step.last.note})"
    elif step.state is StepStatus.DONE and step.last and step.last.version:
        text += f" (shows {step.last.version})"
    return f"{text}  <- next" if next_ else text


def one_step(run: Run, step: StepState) -> Outline:
    """A step with everything to know about it."""
    blocks: list[Paragraph | Points | Table] = []
    if before := blocked_by(run, step):
        numbers = ", ".join(str(s.number) for s in before)
        blocks.append(Paragraph(text=f"Comes after step {numbers}.", strong=True))
    if step.last and step.state in (StepStatus.FAILED, StepStatus.SKIPPED):
        blocks.append(Paragraph(text=f"{step.state.value.capitalize()}: {step.last.note}"))
    if step.step.details:
        blocks.append(_details(step.step.details))
        if not all(detail.named_source for detail in step.step.details):
            blocks.append(Paragraph(text=LEGEND))
    sections = [
        Section(title=f"Step {step.number}: {step.step.title}", blocks=tuple(blocks), level=1)
    ]
    if step.state is StepStatus.FAILED:
        sections += mends(step)
    return tuple(sections)


def mends(step: StepState) -> list[Section]:
    """What usually helps when a step did not work."""
    return [Section(title="What usually helps", blocks=(_details(step.step.mends, numbered=True),))]


def _details(details: Sequence[Detail], *, numbered: bool = False) -> Points:
    return Points(
        points=tuple(Point(text=d.text, source=d.named_source) for d in details), numbered=numbered
    )


def summary(over: Summary) -> Outline:
    """What a run came to."""
    word = f"abandoned ({over.abandoned})" if over.abandoned else "finished"
    sections = [
        Section(
            title=f"Update run {over.run}: {over.title} {word}",
            blocks=(Paragraph(text=f"{over.done} steps done."),),
            level=1,
        )
    ]
    moved = [f"{c.unit}: {c.before or 'not known'} -> {c.after}" for c in over.versions]
    for title, lines in (
        ("Versions written into the kit", moved),
        ("Skipped", [f"{t.title}: {t.reason}" for t in over.skipped]),
        ("Failed on the way", [f"{t.title}: {t.reason}" for t in over.failed]),
        ("Left undone", list(over.left)),
    ):
        if lines:
            points = Points(points=tuple(Point(text=line) for line in lines))
            sections.append(Section(title=title, blocks=(points,)))
    return tuple(sections)


def _paragraph(title: str, text: str) -> Section:
    return Section(title=title, blocks=(Paragraph(text=text),))
