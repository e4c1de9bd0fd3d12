"""Values outside common legal limits, only ever to be checked against the local rules."""

from __future__ import annotations

from triage.domain.snapshots import Flag, SettingEntry, ValueKind
from triage.settings.quantities import converted, dimension, in_unit, spelled
from triage.settings.setting_tables import limits, measure_of
from triage.settings.setting_values import value_words


def outside(entry: SettingEntry) -> tuple[Flag, ...]:
    """The rules whose common limit the entry's value is above."""
    value = entry.value
    if value.kind is not ValueKind.QUANTITY or value.number is None:
        return ()
    flags = []
    for limit in limits():
        measure = measure_of(limit.unit)
        if entry.field not in limit.fields or not measure or dimension(value) != measure.dimension:
            continue
        if converted(value.number, value.unit, limit.unit) > limit.most:
            here = value_words(value)
            if value.unit != limit.unit:
                here += f" ({in_unit(value, limit.unit)})"
            text = (
                f"{here} is above {spelled(limit.most)} {limit.unit}: check your local rules; "
                f"{limit.rule}, for one, says {limit.says}"
            )
            flags.append(Flag(rule=limit.rule, text=text))
    return tuple(flags)
