"""What follows the updates: settings, calibration, bench, flights, and the end of the day."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from triage.domain.notes import InstructionKind as Asked
from triage.domain.setting_changes import Do, SettingRow
from triage.domain.update_run import Detail, Needs, Stage, Step
from triage.settings.setting_values import value_words
from triage.update.flight_tests import FlightLevel, FlightTest, flight_tests
from triage.update.step_writer import FLIES, StepWriter
from triage.update.update_tables import calibrations

_REPEATED = 4  # values read once more at the end; more are not read with care (assumption)


def in_stage_order(steps: Iterable[Step]) -> tuple[Step, ...]:
    """Critical steps first, as near to the beginning of their part as the order allows."""
    return tuple(sorted(steps, key=lambda step: not step.critical))


def after_steps(writer: StepWriter, units: Sequence[Step]) -> Iterable[Step]:
    """Restart, settings compared, what to look at, calibrations; then the bench, then flights."""
    words, at = writer.words.after, Stage.AFTER
    read = [s.id for s in units if s.needs is Needs.VERSION and not writer.rotated(s.unit)]
    first = [s.id for s in units if s.unit == writer.case.first and s.needs is Needs.VERSION]
    told = writer.told(Asked.RESTART)
    restart = writer.step(
        "restart", at, words["restart"], details=told, mends="version", after=(*read, *first)
    )
    yield restart
    done = [restart.id]
    for step in (
        *_compared(writer, restart.id),
        *_calibrations(writer, restart.id),
        *_looked_at(writer, restart.id),
    ):
        done.append(step.id)
        yield step
    if writer.flies or any(writer.component(m) not in writer.words.software for m in writer.moving):
        yield from _tests(writer, tuple(done))


def _compared(writer: StepWriter, restart: str) -> Iterable[Step]:
    kept_back = writer.kept_back()
    for label in (m for m in writer.with_settings() if m not in kept_back):
        yield writer.step(
            f"compare-{label}",
            Stage.AFTER,
            writer.words.after["settings"],
            label,
            details=[*writer.told(Asked.SETTINGS_RESET, unit=label), *_expected(writer, label)],
            mends="settings",
            needs=Needs.AFTER,
            after=(restart,),
            owed=True,
            critical=True,
        )


def _expected(writer: StepWriter, label: str) -> list[Detail]:
    rows = [row for row in writer.case.rows if row.unit == label and row.own]
    return [Detail(text=_row_words(row), source=_lines(row)) for row in rows]


def _row_words(row: SettingRow) -> str:
    own = f"yours {value_words(row.own.value)}" if row.own else "not recorded"
    expect = " or ".join(value_words(v) for v in row.expected) or "not stated"
    return f"{row.name}: {own}; expect {'gone' if row.gone else expect}."


def _lines(row: SettingRow) -> str:
    return f"notes, line {', '.join(dict.fromkeys(str(s.line) for s in row.said))}"


def _looked_at(writer: StepWriter, restart: str) -> Iterable[Step]:
    """What the notes tell to check, and settings that nobody recorded: looked at, not flown."""
    details = writer.told(Asked.RECHECK)
    details += [
        Detail(text=f"{row.name}: {row.said[0].words}.", source=_lines(row))
        for row in writer.case.rows
        if row.own is None
    ]
    if details:
        words = writer.words.after["recheck"]
        yield writer.step("recheck", Stage.AFTER, words, details=details, after=(restart,))


def _calibrations(writer: StepWriter, restart: str) -> Iterable[Step]:
    asked: dict[tuple[str, str], tuple[str, list[Detail]]] = {}
    several = len(writer.case.told) > 1
    for label in writer.case.told:
        for told in writer.told(Asked.CALIBRATE, unit=label):
            known = [c for c in calibrations() if _speaks_of(told.text, c.words)]
            unit = label if several and not _elsewhere(writer, told, label) else ""
            for one in known:
                name = f"{one.name} of {unit}" if unit else one.name
                first = [Detail(text=one.how, source=one.status)]
                asked.setdefault((one.id, unit), (name, first))[1].append(told)
            if not known:
                asked.setdefault(("other", unit), ("as the notes say", []))[1].append(told)
    for (id, unit), (name, about) in asked.items():
        yield writer.step(
            f"calibrate-{id}{f'-{unit}' if unit else ''}",
            Stage.AFTER,
            writer.words.after["calibrate"],
            name=name,
            details=tuple(dict.fromkeys(about)),
            mends="calibrate",
            after=(restart,),
            critical=True,
        )


def _elsewhere(writer: StepWriter, told: Detail, label: str) -> bool:
    """Whether the same line is told to another unit too."""
    others = [other for other in writer.case.told if other != label]
    return any(told in writer.told(Asked.CALIBRATE, unit=other) for other in others)


def _tests(writer: StepWriter, after: tuple[str, ...]) -> Iterable[Step]:
    """The bench before the hover, the hover before what is flown by hand, that before the rest."""
    words = writer.words.after
    of = {level: [t for t in writer.case.tests if t.level is level] for level in FlightLevel}
    bench = writer.step(
        "bench", Stage.BENCH, words["bench"], mends="bench", after=after, critical=True
    )
    yield bench
    last = (bench.id,)
    for test in of[FlightLevel.BENCH]:
        step = _flight(writer, test, Stage.BENCH, last)
        last = (step.id,)
        yield step
    hover = writer.step("hover", Stage.FLIGHT, words["hover"], mends="hover", after=last)
    yield hover
    last = (hover.id,)
    for level in list(FlightLevel)[1:]:
        for test in of[level]:
            step = _flight(writer, test, Stage.FLIGHT, last)
            last = (step.id,)
            yield step


def _flight(writer: StepWriter, test: FlightTest, stage: Stage, after: tuple[str, ...]) -> Step:
    status = flight_tests().status
    texts = (test.where, f"Watch: {test.watch}", f"Break off: {test.stop}", f"Why: {test.reason}")
    return writer.step(
        f"test-{test.id}",
        stage,
        writer.words.after["test"],
        name=test.title,
        details=[Detail(text=text, source=status) for text in texts],
        mends="bench" if stage is Stage.BENCH else "hover",
        after=after,
        ask=test.ask,
    )


# --- the end


def end_steps(writer: StepWriter, before: Sequence[Step]) -> list[Step]:
    """What matters most read once more, and the call that all is complete."""
    words, at = writer.words.end, Stage.END
    after = tuple(step.id for step in before)
    made = []
    for n, row in enumerate(_repeated(writer), start=1):
        sure = row.own is not None and row.do in (Do.SET_AGAIN, Do.LOOK_AT)
        own = value_words(row.own.value) if row.own else ""
        made.append(
            writer.step(
                f"again-{n}-{row.unit}",
                at,
                words["again"],
                row.unit,
                name=row.new_name or row.name,
                details=[Detail(text=_row_words(row), source=_lines(row))],
                mends="settings",
                needs=Needs.VALUE,
                expect=own if sure else "",
                after=after,
                critical=True,
            )
        )
    if not made and writer.flies:
        label = next(m for m in writer.moving if writer.component(m) in FLIES)
        made.append(
            writer.step(
                f"again-height-{label}",
                at,
                words["again"],
                label,
                name="return-to-home altitude",
                mends="settings",
                needs=Needs.VALUE,
                after=after,
                critical=True,
            )
        )
    made.append(
        writer.step("together", at, words["together"], mends="version", after=after, critical=True)
    )
    ids = tuple(step.id for step in made)
    made.append(writer.step("complete", at, words["complete"], after=(*after, *ids)))
    return made


def _repeated(writer: StepWriter) -> list[SettingRow]:
    rows = [row for row in writer.case.rows if row.critical and not row.gone]
    return [row for row in rows if row.unit in writer.moving][:_REPEATED]


def _speaks_of(text: str, words: Iterable[str]) -> bool:
    return any(re.search(rf"\b{re.escape(word)}\b", text, re.IGNORECASE) for word in words)
