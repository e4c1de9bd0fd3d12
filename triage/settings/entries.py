"""From names and values as written to the entries of a snapshot, with what has to be asked.

Nothing is dropped in silence: what cannot stand becomes a `Doubt`, to be answered or left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum

from triage.domain.base import Frozen
from triage.domain.snapshots import SettingEntry, Snapshot, Value, ValueKind
from triage.settings.pasted_text import Pair, Unread
from triage.settings.quantities import dimension
from triage.settings.setting_names import field_called, field_like, plain, setting_in
from triage.settings.setting_tables import Field
from triage.settings.setting_values import LONGEST, ValueFaultError, read_value, value_words

LEAST_SHARED = 0.4  # of the names; a snapshot with fewer is likely of another unit (assumption)
ENOUGH = 4  # names before that can be told


class AnswerKind(StrEnum):
    """What a doubt asks for: another value, yes or no, or nothing but to be heard."""

    VALUE = "value"
    YES_OR_NO = "yes-or-no"


class Doubt(Frozen):
    """A question about one setting; `entry` is what it would be on a yes.

    `line` counts from 1, 0 when there is none.
    """

    name: str
    line: int
    question: str
    answer: AnswerKind
    entry: SettingEntry | None = None


class Gathered(Frozen):
    """Entries that stand, and doubts about the others, both in the order they were written."""

    entries: tuple[SettingEntry, ...]
    doubts: tuple[Doubt, ...] = ()


def entries_from(
    pairs: Sequence[Pair],
    unread: Sequence[Unread] = (),
    last: Snapshot | None = None,
    *,
    misread: bool = False,
) -> Gathered:
    """Read pairs against the vocabulary and the unit's last snapshot.

    With `misread`, names nearly those of a field are asked about, as from a picture.
    """
    entries: list[SettingEntry] = []
    doubts = [_unread(line) for line in unread]
    seen: dict[str, SettingEntry] = {}
    for pair in pairs:
        result = checked_entry(pair, last, misread=misread)
        if isinstance(result, SettingEntry):
            twin = seen.get(plain(result.name))
            if twin is None:
                seen[plain(result.name)] = result
                entries.append(result)
            elif value_words(twin.value) != value_words(result.value):
                doubts.append(_twice(pair, twin, result))
        else:
            doubts.append(result)
    return Gathered(entries=tuple(entries), doubts=tuple(sorted(doubts, key=lambda d: d.line)))


def checked_entry(
    pair: Pair, last: Snapshot | None = None, *, misread: bool = False
) -> SettingEntry | Doubt:
    """One setting, or what has to be asked about it."""
    field = field_called(pair.name)
    if field is None and misread and (like := field_like(pair.name)):
        result = _read(pair, like, last)
        if isinstance(result, SettingEntry):
            entry = result.model_copy(update={"name": like.name})
            question = f"is '{pair.name}' the {like.name}, set to {value_words(entry.value)}?"
            return _yes_or_no(pair, question, entry)
        return result
    return _read(pair, field, last)


def strange(entries: Sequence[SettingEntry], last: Snapshot | None) -> str:
    """A question when the settings share too little with the unit's last ones, '' when not."""
    if last is None or min(len(entries), len(last.entries)) < ENOUGH:
        return ""
    names = {plain(e.name) for e in entries}
    before = {plain(e.name) for e in last.entries}
    shared = len(names & before)
    if shared >= LEAST_SHARED * min(len(names), len(before)):
        return ""
    return (
        f"only {shared} of {len(names)} settings have a name that {last.unit} had "
        f"on {last.taken.date().isoformat()}; are they really of {last.unit}?"
    )


def last_entry(last: Snapshot | None, name: str, field: str = "") -> SettingEntry | None:
    """The same setting in an earlier snapshot, by its name or by its field."""
    if last is None:
        return None
    found = [e for e in last.entries if plain(e.name) == plain(name)]
    return next(iter(found or [e for e in last.entries if field and e.field == field]), None)


def _read(pair: Pair, field: Field | None, last: Snapshot | None) -> SettingEntry | Doubt:
    name = " ".join(pair.name.split())
    if not name:
        return _unread(Unread(pair.value, pair.line))
    try:
        value = _as_written(pair.value) if pair.raw else read_value(pair.value, field)
    except ValueFaultError as fault:
        return Doubt(name=name, line=pair.line, question=str(fault), answer=AnswerKind.VALUE)
    setting = field.setting if field else setting_in(name)
    entry = SettingEntry(name=name, field=field.id if field else "", setting=setting, value=value)
    before = last_entry(last, name, entry.field)
    if before and (question := mixed_units(before, entry)):
        return _yes_or_no(pair, question, entry)
    return entry


def _as_written(text: str) -> Value:
    """The value of a dump: a number in the firmware's own unit, else the words as they stand."""
    try:
        return read_value(text)
    except ValueFaultError:
        if not text.strip() or len(text) > LONGEST:
            raise
        return Value(kind=ValueKind.CHOICE, text=" ".join(text.split()))


def mixed_units(before: SettingEntry, after: SettingEntry) -> str:
    """A question when one number stands in two units, '' when it does not."""
    a, b = before.value, after.value
    if not a.kind is b.kind is ValueKind.QUANTITY or a.unit == b.unit or a.number != b.number:
        return ""
    if not a.number or (a.unit and b.unit and dimension(a) != dimension(b)):
        return ""
    return f"{value_words(b)} where {value_words(a)} was: is the unit right?"


def _yes_or_no(pair: Pair, question: str, entry: SettingEntry) -> Doubt:
    return Doubt(
        name=entry.name, line=pair.line, question=question, answer=AnswerKind.YES_OR_NO, entry=entry
    )


def _unread(line: Unread) -> Doubt:
    text = line.text if len(line.text) <= 60 else line.text[:57] + "..."
    question = f"'{text}' is no name with a value; is it no setting and may be left out?"
    return Doubt(name=text, line=line.line, question=question, answer=AnswerKind.YES_OR_NO)


def _twice(pair: Pair, first: SettingEntry, second: SettingEntry) -> Doubt:
    question = (
        f"it stands twice, as {value_words(first.value)} and as {value_words(second.value)}; "
        f"is {value_words(second.value)} right?"
    )
    return _yes_or_no(pair, question, second)
