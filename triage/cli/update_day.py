"""`triage update go`: the whole day in one session, one key a step.

At a terminal one key is read without Enter; from a pipe the first letter of a line. Everything that
happened is on the disk before the next step is shown, so that a stop at any moment loses nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from triage.cli.asking import ask, key, pasted
from triage.cli.out import read_source, say, warn
from triage.errors import StoreError, TriageError

if TYPE_CHECKING:
    from triage.domain.snapshots import Answered, Difference
    from triage.domain.update_run import Run, StepState
    from triage.update.given import Given

KEYS = "Enter done, s skip, f failed, u undo, ? all about it, q stop"
_DONE = ("", "y", "\r", "\n", " ")


class _Stopped(Exception):  # noqa: N818
    """The operator stops; what is done is kept."""


def lead(run: str, kit: Path | None, close: Callable[[str, bool], None]) -> None:
    """Lead through a run from where it stands to its end; `close` closes it, owing or not."""
    from triage.update.guided import together
    from triage.update.run_log import run_called
    from triage.update.run_state import next_step

    now = run_called(run)
    say(f"Run {now.id}: {now.plan.title}. {KEYS}.\n")
    try:
        while step := next_step(now):
            if step.step.owed and step.state.value == "skipped":
                break  # only what was left on purpose is still open
            group = together(now)
            try:
                _batteries(now, group, kit) if len(group) > 1 else _one(now, step, kit)
            except TriageError as error:
                warn(str(error))
            now = run_called(now.id)
    except _Stopped:
        say(f"\nStopped; nothing is lost. Go on with: triage update go --run {now.id}\n")
        return
    _end(now, close)


def _one(run: Run, step: StepState, kit: Path | None) -> None:
    from triage.domain.update_run import Needs

    response = f" ... {step.step.response}" if step.step.response else ""
    say(f"\n{step.number}/{len(run.steps)} {step.step.title}{response}\n")
    for detail in step.step.details[:4]:
        say(f"   {detail.text}\n")
    match step.step.needs:
        case Needs.NOTHING:
            reply = key("   done?")
            if reply in _DONE:
                _do(run, step, value=ask(f"   {step.step.ask}:") or "" if step.step.ask else "")
            else:
                _other(run, step, reply)
        case Needs.BEFORE | Needs.AFTER:
            _settings(run, step, kit)
        case _:
            asked = step.step.ask or ("lowest charge, in %" if step.step.needs is Needs.CHARGE
                                      else "version it shows now")  # fmt: skip
            _value(run, step, ask(f"   {asked}:"))


def _value(run: Run, step: StepState, reply: str | None) -> None:
    from triage.domain.update_run import Needs

    if reply is None:
        raise _Stopped
    if reply.casefold() in ("s", "f", "u", "?", "q", ""):
        _other(run, step, reply.casefold() or "?")
        return
    if step.step.needs is Needs.CHARGE:
        digits = reply.rstrip("% ").strip()
        if not digits.isdecimal():
            raise StoreError(f"'{reply}' is no charge", mend="state the lowest of all, 0 to 100")
        _do(run, step, charge=int(digits))
    elif step.step.needs is Needs.VERSION:
        _do(run, step, version=reply)
    else:
        _do(run, step, value=reply)


def _batteries(run: Run, group: tuple[StepState, ...], kit: Path | None) -> None:
    """All batteries in one step, each with its own value; without one it stays owed."""
    say(f"\n{len(group)} batteries, one after the other; the version that each shows.\n")
    for step in group:
        target = f" (shall be {step.step.target})" if step.step.target else ""
        reply = ask(f"   {step.step.unit}{target}, Enter = not now:")
        if reply == "":
            _skip(run, step, "not at hand")
        else:
            _value(run, step, reply)


def _do(
    run: Run,
    step: StepState,
    *,
    version: str = "",
    value: str = "",
    charge: int | None = None,
    answers: tuple[Answered, ...] = (),
) -> None:
    from triage.update.given import Given

    given = Given(version=version, value=value, charge=charge, answers=answers)
    _mark(run, step, given)


def _mark(run: Run, step: StepState, given: Given) -> None:
    from triage.app.update import do_step
    from triage.domain.update_run import Mark

    mark = do_step(run.id, step.step.id, given)[1]
    if mark.mark is Mark.FAILED:
        say(f"   {mark.note}\n")
        for detail in step.step.mends:
            say(f"   - {detail.text}\n")
        if key("   Enter = read it again, a = take it as it is") == "a":
            do_step(run.id, step.step.id, given._replace(accept=True))


def _other(run: Run, step: StepState, reply: str) -> None:
    from triage.app.environment import now as clock
    from triage.app.update import undo
    from triage.render.text import to_text
    from triage.render.update_run import one_step
    from triage.update.run_log import mark
    from triage.update.run_state import failed

    match reply[:1].casefold():
        case "s":
            _skip(run, step, ask("   Why?") or "")
        case "f":
            reason = ask("   What happened?") or ""
            mark(run.id, step.step.id, lambda now, one: failed(now, one, clock(), reason))
        case "u":
            taken = undo(run)[1]
            say(f"   Undone: {taken.step}.\n")
        case "q" | "\x03" | "\x04":
            raise _Stopped
        case _:
            say(to_text(one_step(run, step)) + f"   {KEYS}\n")


def _skip(run: Run, step: StepState, reason: str) -> None:
    from triage.app.environment import now as clock
    from triage.update.run_log import mark
    from triage.update.run_state import skipped

    mark(run.id, step.step.id, lambda now, one: skipped(now, one, clock(), reason))
    if step.step.owed:
        say(f"   {step.step.unit or step.step.title} stays owed.\n")


# --- settings


def _settings(run: Run, step: StepState, kit: Path | None) -> None:
    from triage.domain.update_run import Needs
    from triage.update.run_log import snapshot_for

    number = snapshot_for(run, step)
    if number is None:
        reply = ask("   File with the settings, p = paste them, or s, f, u, ?, q:")
        if reply is None:
            raise _Stopped
        if reply.casefold() in ("s", "f", "u", "?", "q", ""):
            _other(run, step, reply.casefold() or "?")
            return
        _record(step.step.unit, reply, kit)
    else:
        say(f"   Snapshot {number} is recorded.\n")
    if step.step.needs is Needs.AFTER:
        compared_shown(run, step)
        _do(run, step, answers=answered(run, step))
    else:
        _do(run, step)


def _record(unit: str, source: str, kit: Path | None) -> None:
    from triage.cli.settings import record

    if source.casefold() == "p":
        from triage.app.settings import record_pasted

        record_pasted(unit, pasted(f"the settings of {unit}"))
        return
    read_source(source)  # a file that cannot be read is told before anything is asked
    record(unit, [source], paste=False, yes=False, ask_=True, kit=kit)


def compared_shown(run: Run, step: StepState) -> str:
    """Show the settings side by side where both are recorded; what came of it in words."""
    from triage.render.settings import counted, snapshots_compared
    from triage.render.text import to_text
    from triage.settings.comparison import compare_snapshots
    from triage.settings.snapshots import renamed_settings
    from triage.update.run_log import snapshots_of

    pair = snapshots_of(run, step)
    if pair is None:
        return ""
    before, after = pair[0].snapshot, pair[1].snapshot
    found = compare_snapshots(
        before, after, run.plan.foretold, renamed_settings(), run.plan.changes
    )
    say(to_text(snapshots_compared(found)))
    return counted(found)


def answered(run: Run, step: StepState) -> tuple[Answered, ...]:
    """The operator's word on each setting that differs."""
    from triage.app.update import asking

    return tuple(_answer(difference) for difference in asking(run, step))


def _answer(difference: Difference) -> Answered:
    from triage.domain.snapshots import Answered, SettingChoice
    from triage.settings.setting_values import value_words

    before = value_words(difference.before.value) if difference.before else "none"
    after = value_words(difference.after.value) if difference.after else "gone"
    while True:
        reply = key(f"   {difference.name}: {before} -> {after}, {difference.account.value}. "
                    "r restore, k keep, l later:")[:1].casefold()  # fmt: skip
        if reply == "r":
            shows = ask("   Set it; it shows now:") or ""
            return Answered(name=difference.name, choice=SettingChoice.RESTORE, value=shows)
        if reply == "k":
            reason = ask("   Why is it kept?") or ""
            return Answered(name=difference.name, choice=SettingChoice.KEEP, reason=reason)
        if reply == "l":
            return Answered(name=difference.name, choice=SettingChoice.LATER)
        if reply in ("q", "\x03", "\x04"):
            raise _Stopped


def _end(run: Run, close: Callable[[str, bool], None]) -> None:
    from triage.update.debts import undecided

    owed = [s.step.unit or s.step.title for s in run.left] + list(undecided(run))
    if owed and key(f"\nStill owed: {', '.join(owed)}. Close the run owing them? y/n") != "y":
        say(f"The run stays open. Go on with: triage update go --run {run.id}\n")
        return
    close(run.id, bool(owed))
