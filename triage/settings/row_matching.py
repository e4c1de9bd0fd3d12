"""Which recorded entry a statement of the notes speaks of."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache
from typing import NamedTuple

from triage.domain.snapshots import SettingEntry, ValueKind
from triage.reference.vocabulary import settings as vocabulary
from triage.settings.quantities import dimension
from triage.settings.setting_names import named_in, plain, setting_in
from triage.settings.setting_tables import Field, field_of, fields
from triage.settings.stated_values import stated

LEAST_LIKE = 60.0  # per cent; below it two names are two settings (assumption)
_ALL = re.compile(
    r"\b(?:all|every|each|custom|user|your|these)?\s*(?:of\s+)?(?:the\s+|your\s+)?"
    r"(?:settings?|parameters?|preferences|options|configuration|values)\b",
    re.IGNORECASE,
)


class Subject(NamedTuple):
    """What a statement is about, by the vocabulary."""

    name: str
    field: str
    setting: str


class Known:
    """The recorded entries of a unit, found by what the notes call them."""

    def __init__(self, entries: Sequence[SettingEntry]) -> None:
        self.entries = tuple(entries)

    def of_setting(self, id: str) -> tuple[SettingEntry, ...]:
        """The entries that belong to a setting of the vocabulary."""
        return tuple(e for e in self.entries if e.setting == id)

    def entry(
        self, names: Sequence[str], setting: str, text: str, values: Sequence[str]
    ) -> SettingEntry | None:
        """The entry spoken of: by its name, by its field, or the only one of its subject.

        `values` are those that the notes state of it; an entry of another dimension is not it.
        """
        said = {plain(name) for name in names if name}
        found = [e for e in self.entries if plain(e.name) in said]
        found = found or [e for e in self.entries if any(named_in(n, e.name) for n in names if n)]
        if not found and (field := next(filter(None, map(field_in, filter(None, names))), None)):
            found = [e for e in self.entries if e.field == field.id]
            if not found:
                return None  # a known value that is not recorded, not another of its subject
        found = found or [e for e in self.entries if named_in(text, e.name)]
        found = found or [e for e in self.of_setting(setting) if setting and _fits(e, values)]
        if len(found) <= 1:
            return found[0] if found else None
        return _likest(found, [n for n in names if n] or [text])


def _fits(entry: SettingEntry, values: Sequence[str]) -> bool:
    read = [v for v in (stated(value, None) for value in values) if v is not None]
    if entry.value.kind is not ValueKind.QUANTITY:
        return all(v.kind is not ValueKind.QUANTITY for v in read)
    return all(v.kind is ValueKind.QUANTITY and dimension(v) in ("", dimension(entry.value))
               for v in read)  # fmt: skip


def _likest(found: Sequence[SettingEntry], names: Sequence[str]) -> SettingEntry | None:
    from rapidfuzz import fuzz

    scored = [
        (max(fuzz.token_set_ratio(plain(e.name), plain(n)) for n in names), len(e.name), -i)
        for i, e in enumerate(found)
    ]
    best = max(scored)
    return found[-best[2]] if best[0] >= LEAST_LIKE else None


@cache
def field_in(text: str) -> Field | None:
    """The field whose name a text holds, the longest name first."""
    words = f" {plain(text)} "
    named = [
        (len(name), field.id)
        for field in fields()
        for name in {plain(n) for n in (field.name, *field.names)}
        if f" {name} " in words
    ]
    return field_of(max(named)[1]) if named else None


def setting_spoken_of(text: str, setting: str) -> Subject:
    """The field or setting of the vocabulary that a text speaks of, else the text itself."""
    field = field_in(text)
    if field is not None:
        return Subject(field.name, field.id, field.setting)
    id = setting or setting_in(text)
    short = " ".join(text.split())
    if len(short) > 60:
        short = next((s.name for s in vocabulary() if s.id == id), f"{short[:57]}...")
    return Subject(short, "", id)


def of_all(words: str, setting: str) -> bool:
    """Whether a reset is said of the settings as a whole, and of none by name."""
    if field_in(words) or (setting and setting != "settings-reset"):
        return False
    about = setting_in(words)
    return about in ("", "settings-reset") and (not words or bool(_ALL.search(words)))
