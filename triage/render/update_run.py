"""Update day as outlines: the state of a run, a step, and its end."""

from __future__ import annotations

from collections.abc import Sequence

from triage.domain.update_run import (
    LEGEND,
    Debt,
    Detail,
    Flown,
    Phase,
    Run,
    Stage,
    StepState,
    StepStatus,
    Summary,
)
from triage.render.outline import Outline, Paragraph, Point, Points, Section, Table
from triage.update.run_state import blocked_by, next_step

STATE = {
    StepStatus.OPEN: "[ ]",
    StepStatus.DONE: "[x]",
    StepStatus.SKIPPED: "[-]",
    StepStatus.FAILED: "[!]",
}


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
            sections.append(Section(title=stage.heading, blocks=(Points(points=points),)))
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
    elif step.state is StepStatus.DONE and step.last and step.last.value:
        text += f" ({step.last.value})"
    elif step.state is StepStatus.OPEN and step.step.response:
        text += f" ... {step.step.response}"
    return f"{text}  <- next" if next_ else text


def one_step(run: Run, step: StepState) -> Outline:
    """A step with everything to know about it."""
    blocks: list[Paragraph | Points | Table] = []
    if step.step.response:
        blocks.append(Paragraph(text=f"{step.step.title} ... {step.step.response}", strong=True))
    if step.step.ask:
        blocks.append(Paragraph(text=f"Write down: {step.step.ask}."))
    if before := blocked_by(run, step):
        numbers = ", ".join(str(s.number) for s in before)
        blocks.append(Paragraph(text=f"Comes after step {numbers}.", strong=True))
    if step.last and step.state in (StepStatus.FAILED, StepStatus.SKIPPED):
        blocks.append(Paragraph(text=f"{step.state.value.capitalize()}: {step.last.note}"))
    if step.step.details:
        blocks.append(_details(step.step.details))
        if any(not detail.named_source for detail in step.step.details):
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
        ("Tests", [_flown(f) for f in over.flights]),
        ("Still owed; pay with triage update pay", list(over.owed)),
        ("Left undone", list(over.left)),
    ):
        if lines:
            points = Points(points=tuple(Point(text=line) for line in lines))
            sections.append(Section(title=title, blocks=(points,)))
    return tuple(sections)


def _flown(one: Flown) -> str:
    word = {StepStatus.DONE: "as described", StepStatus.FAILED: "NOT as described"}
    said = f" ({one.words})" if one.words else ""
    return f"{one.title}: {word.get(one.came, 'not done')}{said}"


def debts_listed(owed: Sequence[Debt]) -> Outline:
    """What runs that are over still owe, and how to pay it."""
    points = tuple(
        Point(text=f"{debt.name}: {debt.what}{f' ({debt.reason})' if debt.reason else ''}")
        for debt in owed
    )
    pay = Paragraph(text='triage update pay NAME --version ..., --value "..." or --note "why"')
    return (Section(title="Owed", blocks=(Points(points=points), pay), level=1),)


def _paragraph(title: str, text: str) -> Section:
    return Section(title=title, blocks=(Paragraph(text=text),))
