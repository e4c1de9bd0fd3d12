"""What a move takes from the operator: settings that move, jobs and needs that would be lost."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from triage.advice import tables
from triage.advice.ground import Ground, Stated, one_category
from triage.advice.items_matrix import Entry
from triage.domain.advice import HazardKind
from triage.domain.notes import Effect, EffectKind
from triage.domain.outcomes import Outcome

_NUMBER = re.compile(r"-?\d+(?:[.,]\d+)?")
_MOVES = (EffectKind.RESET, EffectKind.DEFAULT, EffectKind.RANGE)


def narrows(effect: Effect) -> bool:
    """Whether an effect takes something away: removed, or a range whose top comes down."""
    if effect.change is EffectKind.REMOVED:
        return True
    before, after = _NUMBER.findall(effect.before), _NUMBER.findall(effect.after)
    if effect.change is not EffectKind.RANGE or not before or not after:
        return False
    top, new = (max(float(n.replace(",", ".")) for n in found) for found in (before, after))
    return new < top


def losses(ground: Ground, entries: Sequence[Entry]) -> Iterator[Stated]:
    """Settings that move, and what planned jobs and stated needs would lose."""
    for entry in entries:
        for effect in entry.item.item.effects:
            yield from _setting(entry, effect)
            if narrows(effect):
                yield from _lost(ground, entry, effect)


def _setting(entry: Entry, effect: Effect) -> Iterator[Stated]:
    function = tables.by_setting().get(effect.setting_id) or tables.function("settings-kept")
    if function is None or effect.change not in _MOVES or effect.kept:
        return
    yield Stated(
        kind=HazardKind.SETTING,
        name=f"setting moved: {effect.setting}",
        outcome=function.worst,
        function=function.id,
        chances=one_category(function.severity),
        real=1.0,
        shows=tables.priors().settings.chance,
        pointers=(entry.pointer,),
        evidence=" to ".join(filter(None, (effect.before, effect.after))) or effect.change.value,
    )


def _lost(ground: Ground, entry: Entry, effect: Effect) -> Iterator[Stated]:
    function = tables.by_setting().get(effect.setting_id)
    ref, text = entry.item.item.ref, entry.item.item.text
    held = tables.priors().needs.held
    losing = [
        f"'{need}' would be lost"
        for need, chances in sorted(ground.needs.items())
        if chances.get(ref, 0.0) >= held
    ]
    losing += [
        f"the job of {job.day.isoformat()} needs what the release takes away"
        for job in ground.kit.jobs
        if job.day >= ground.today and function is not None and function.id in job.functions
    ]
    for name in losing:
        yield Stated(
            kind=HazardKind.LOST,
            name=name,
            outcome=Outcome.NO_TAKEOFF,
            function=function.id if function else "",
            chances=(0.0, 0.0, 1.0, 0.0),
            real=1.0,
            shows=1.0,
            pointers=(entry.pointer,),
            evidence=text,
            weighs=False,
        )
