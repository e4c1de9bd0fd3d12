"""The steps of an update day, in the order they are to be taken.

The order is the plan's, the maker's before that; checklist rules are those of NASA CR-177549
(Degani and Wiener): a step comes to a value or a status, critical ones stand first and are read
once more at the end, and the call that all is complete is the last.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from triage.domain.kit import Move
from triage.domain.notes import InstructionKind as Asked
from triage.domain.update_run import Detail, Needs, Stage, Step
from triage.update.after_steps import after_steps, end_steps, in_stage_order
from triage.update.step_writer import RunBasis, StepWriter, sentence

_WAIT = re.compile(r"\b(?:wait|leave it|do not (?:switch|turn) off)\b", re.IGNORECASE)
_SAID = (Asked.WARNING, Asked.OTHER, Asked.NO_WAY_BACK, Asked.UPDATE_FIRST)


def steps_for(case: RunBasis) -> tuple[Step, ...]:
    """The steps, in the order they are to be taken."""
    writer = StepWriter(case)
    kept_back = writer.kept_back()
    before = in_stage_order(_before(writer))
    first = tuple(step.id for step in before)
    units = list(_units(writer, first, kept_back))
    after = list(after_steps(writer, units))
    rest = list(_rest(writer, after[-1].id if after else units[-1].id, kept_back))
    end = end_steps(writer, (*before, *units, *after, *rest))
    return (*before, *units, *after, *rest, *end)


# --- before


def _before(writer: StepWriter) -> Iterable[Step]:
    words, at = writer.words.before, Stage.BEFORE
    told = writer.told(Asked.WARNING, Asked.OTHER, Asked.UPDATE_FIRST)
    yield writer.step("notes", at, words["notes"], details=told, critical=True)
    if stops := writer.case.stops:
        yield writer.step("settled", at, words["settled"], details=stops, critical=True)
    ways = _ways_back(writer)
    yield writer.step("way-back", at, words["way-back"], details=ways, critical=True)
    for label in writer.with_settings():
        about = writer.told(Asked.BACK_UP, Asked.SETTINGS_RESET, unit=label)
        yield writer.step(
            f"settings-{label}",
            at,
            words["settings"],
            label,
            details=[*about, *_to_write_down(writer, label)],
            needs=Needs.BEFORE,
            critical=True,
        )
    yield writer.step(
        "charge",
        at,
        words["charge"],
        details=writer.told(Asked.CHARGE),
        mends="charge",
        needs=Needs.CHARGE,
        critical=True,
    )
    yield writer.step("link", at, words["link"], mends="link")
    if any(unit.component == "app" for unit in writer.case.kit.units) or writer.flies:
        yield writer.step("phone", at, words["phone"])
    yield writer.step("time", at, words["time"], details=writer.case.jobs)


def _to_write_down(writer: StepWriter, label: str) -> list[Detail]:
    return [
        Detail(
            text=f"{row.name}: the notes say {row.said[0].words}.",
            source=f"notes, line {row.said[0].line}",
        )
        for row in writer.case.rows
        if row.unit == label
    ]


def _ways_back(writer: StepWriter) -> list[Detail]:
    lines = writer.told(Asked.NO_WAY_BACK)
    for label in writer.moving:
        unit = writer.units.get(label)
        known = unit.reversible if unit else None
        says = {
            True: f"{label} can go back to an earlier version.",
            False: f"{label} cannot go back: what the update changes stays changed.",
            None: f"Whether {label} can go back is not stated: find out.",
        }[known]
        lines.append(Detail(text=says, source="kit"))
    return lines


# --- the units


def _units(writer: StepWriter, first: tuple[str, ...], kept_back: frozenset[str]) -> Iterable[Step]:
    """In the plan's order; batteries last, as they take theirs through the aircraft."""
    passed: dict[int, tuple[str, ...]] = {0: first}
    now = [m for m in writer.moves if m.unit not in kept_back]
    now.sort(key=lambda m: (m.step, m.unit != writer.case.first))
    for move in (m for m in now if not writer.rotated(m.unit)):
        earlier = max((step for step in passed if step < move.step), default=0)
        made = _moved(writer, move, passed[earlier])
        yield from made
        passed[move.step] = (*passed.get(move.step, ()), made[-1].id)
    ready = passed[max(passed)]
    last = dict.fromkeys(writer.units, ready)
    through = [label for label in writer.through if label not in kept_back]
    for label in through:
        if not writer.rotated(label):
            yield _seen_through(writer, label, ready)
    for move in (m for m in now if writer.rotated(m.unit)):
        (step,) = _moved(writer, move, last.get(move.unit, ready))
        last[move.unit] = (step.id,)
        yield step
    for label in through:
        if writer.rotated(label):
            yield _seen_through(writer, label, ready)


def _rest(writer: StepWriter, after: str, kept_back: frozenset[str]) -> Iterable[Step]:
    """The units like the first one, once that has flown."""
    stage = Stage.REST
    for move in (m for m in writer.moves if m.unit in kept_back):
        yield from _moved(writer, move, (after,), stage)
    for label in writer.through:
        if label in kept_back:
            yield _seen_through(writer, label, (after,), stage)


def _moved(
    writer: StepWriter, move: Move, after: tuple[str, ...], stage: Stage = Stage.UNITS
) -> list[Step]:
    words = writer.words
    details = [Detail(text=_way(writer, move), source=words.status)]
    line = move.requirement.place.line if move.requirement else 0
    source = f"notes, line {line}" if line else "plan"
    details.append(Detail(text=f"Because: {sentence(move.reason)}", source=source))
    said = writer.told(*_SAID, Asked.RESTART, unit=move.unit)
    details += [d for d in said if _WAIT.search(d.text)]
    details += [d for d in writer.told(Asked.NO_WAY_BACK, unit=move.unit) if d not in details]
    if move.release is None and move.version:
        details.append(writer.own("elsewhere"))
    if not move.version:
        details.append(writer.own("newest"))
    id = f"{move.unit}-{move.version or 'newest'}"
    if writer.rotated(move.unit):
        return [
            writer.step(
                f"rotate-{id}",
                stage,
                words.units["rotate"],
                move.unit,
                details=[*writer.told(Asked.EACH_UNIT), *details],
                mends="rotate",
                move=move,
                needs=Needs.VERSION,
                after=after,
                owed=True,
            )
        ]
    name = "back" if move.back else "update"
    update = writer.step(
        f"{name}-{id}",
        stage,
        words.units[name],
        move.unit,
        details=details,
        mends="update",
        move=move,
        after=after,
    )
    read = writer.step(
        f"version-{id}",
        stage,
        words.units["version"],
        move.unit,
        mends="version",
        move=move,
        needs=Needs.VERSION,
        after=(update.id,),
        owed=True,
    )
    return [update, read]


def _seen_through(
    writer: StepWriter, label: str, after: tuple[str, ...], stage: Stage = Stage.UNITS
) -> Step:
    rotated = writer.rotated(label)
    name = "rotate" if rotated else "through"
    return writer.step(
        f"{name}-{label}",
        stage,
        writer.words.units[name],
        label,
        details=writer.told(Asked.EACH_UNIT) if rotated else (),
        mends="rotate" if rotated else "version",
        needs=Needs.VERSION,
        unmoved_ok=True,
        after=after,
        owed=rotated,
    )


def _way(writer: StepWriter, move: Move) -> str:
    component, ways = writer.component(move.unit), writer.words.way
    if move.back:
        return ways["back"]
    if component in writer.words.software:
        return ways["software"]
    if writer.rotated(move.unit):
        return ways["rotated"]
    desktop = next((u for u in writer.case.kit.units if u.component == "desktop"), None)
    return ways["wired"].format(desktop=desktop.name or desktop.label) if desktop else ways["air"]
