"""What the operator states about a step, and whether it will do.

Errors: StoreError in one line, where something is missing or does not fit.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from triage.domain.snapshots import Answered, Difference, SettingChoice
from triage.domain.update_run import Step, StepState
from triage.errors import StoreError
from triage.settings.setting_names import plain
from triage.settings.setting_values import value_words
from triage.settings.stated_values import same, stated


class Given(NamedTuple):
    """What is stated: a version or value as read, a charge in %, the number of a snapshot, a note.

    `accept` takes a version that cannot be compared, or one or a value that stayed as it was.
    `asking` are the settings that differ and wait for a word, `answers` the words.
    """

    version: str = ""
    charge: int | None = None
    snapshot: int | None = None
    value: str = ""
    note: str = ""
    accept: bool = False
    answers: tuple[Answered, ...] = ()
    asking: tuple[Difference, ...] = ()


NOTHING_GIVEN = Given()


def version_fault(step: Step, version: str, *, accept: bool) -> str:
    """Why the version does not do, '' when it does."""
    from triage.kit.versions import order

    target, had = step.target, step.installed
    if not version:
        raise StoreError(
            f"the version that {step.unit} shows now is not stated",
            mend=f"triage update done {step.id} --version ...",
        )
    if target:
        found = order(version, target)
        if found.sign is None and not accept:
            raise StoreError(
                f"{version} and {target} cannot be compared: {found.reason}",
                mend="if it is the one, say so with --accept",
            )
        return f"shows {version}, not {target}: it did not take" if found.sign == -1 else ""
    if had and not step.unmoved_ok and not accept and order(version, had).sign == 0:
        return f"still shows {version}: it did not take (--accept if nothing newer is offered)"
    return ""


def value_fault(step: StepState, value: str, *, accept: bool) -> str:
    """Why the value read is not the one wanted, '' when it is."""
    read, wanted = stated(value, None), stated(step.step.expect, None)
    if read is None:
        raise StoreError(
            f"step {step.number} needs a value: {step.step.ask}",
            mend=f'triage update done {step.number} --value "..."',
        )
    if wanted is None or accept or same(read, wanted):
        return ""
    return f"shows {value.strip()}, not {step.step.expect} (--accept if you chose that)"


def check_answers(asking: Sequence[Difference], answers: Sequence[Answered]) -> None:
    """StoreError unless every difference has its word, and the word holds."""
    said = {plain(answer.name): answer for answer in answers}
    known = {plain(d.name) for d in asking}
    for name, answer in said.items():
        if name not in known:
            raise StoreError(
                f"'{answer.name}' is none of the settings that differ",
                mend=f"they are {', '.join(d.name for d in asking) or 'none'}",
            )
    if open_ := [d.name for d in asking if plain(d.name) not in said]:
        raise StoreError(
            f"{len(open_)} of the settings that differ wait for your word: {', '.join(open_)}",
            mend="--restore 'NAME=value it shows now', --keep 'NAME=why', or --later NAME",
        )
    for difference in asking:
        _check(difference, said[plain(difference.name)])


def _check(difference: Difference, answer: Answered) -> None:
    if answer.choice is SettingChoice.KEEP and not answer.reason.strip():
        raise StoreError(f"to keep {answer.name} takes a reason", mend="--keep 'NAME=why'")
    if answer.choice is not SettingChoice.RESTORE:
        return
    read = stated(answer.value, None)
    if read is None:
        raise StoreError(
            f"to restore {answer.name} takes the value that it shows now",
            mend="--restore 'NAME=value'",
        )
    if difference.before and not same(read, difference.before.value):
        was = value_words(difference.before.value)
        raise StoreError(
            f"{answer.name} shows {answer.value}, and {was} was to be restored",
            mend="set it, or keep what it shows with a reason",
        )
