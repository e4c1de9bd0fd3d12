"""What the notes say would change, kept with a run so that settings can be held against it."""

from __future__ import annotations

from collections.abc import Sequence

from triage.domain.judged import JudgedNotes
from triage.domain.notes import InstructionKind
from triage.domain.snapshots import Foretold
from triage.settings.setting_names import setting_in

_SAID = frozenset({InstructionKind.SETTINGS_RESET, InstructionKind.RECHECK})


def foretold(judged: JudgedNotes, releases: Sequence[int]) -> tuple[Foretold, ...]:
    """The items, and the instructions about settings, of the releases that come together."""
    lines = [
        Foretold(
            ref=item.item.ref,
            line=item.item.places[0].line,
            text=item.item.text,
            settings=tuple(dict.fromkeys(find.id for find in item.finds.settings)),
            reset="settings-reset" in {find.id for find in item.finds.settings},
        )
        for item in judged.items
        if item.release in releases
    ]
    for release in releases:
        for told in judged.notes.releases[release].instructions:
            if told.kind in _SAID:
                setting = setting_in(told.text)
                lines.append(
                    Foretold(
                        line=told.place.line,
                        text=told.text,
                        settings=(setting,) if setting else (),
                        reset=told.kind is InstructionKind.SETTINGS_RESET,
                    )
                )
    return tuple(lines)
