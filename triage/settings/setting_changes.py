"""The operator's own settings and a release: what it does to each, and what to do about it.

Pure. A value that the operator has changed is told from one left at its default by comparing it
with the old default, where the notes state that; else what holds for either is said.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from dataclasses import field as made

from triage.domain.judged import JudgedItem, JudgedNotes, Standing
from triage.domain.kinds import Kind
from triage.domain.notes import Effect, EffectKind, Instruction, InstructionKind
from triage.domain.setting_changes import Do, Said, Says, SettingRow
from triage.domain.snapshots import SettingEntry, Snapshot, Value
from triage.reference.vocabulary import settings as vocabulary
from triage.settings.row_matching import Known, of_all, setting_spoken_of
from triage.settings.setting_names import plain, rank
from triage.settings.setting_tables import care_of, field_of
from triage.settings.setting_values import value_words
from triage.settings.stated_values import Span, like_own, quantities_in, range_of, same, stated

_CHANGES = (Kind.FLIGHT_BEHAVIOUR, Kind.COMPATIBILITY)
_ABOUT_SETTINGS = (InstructionKind.RECHECK, InstructionKind.BACK_UP, InstructionKind.WARNING)
_RESET = re.compile(r"\b(?:is|are|be|been|gets?) (?:reset|lost|erased|cleared|overwritten)\b", re.I)
_WORDS = 110  # characters of a statement shown in a row
_SAYS = {kind: Says(kind.value) for kind in EffectKind}


@dataclass
class _Row:
    """A setting while the statements of the releases are applied to it, the oldest first."""

    name: str
    field: str
    setting: str
    own: SettingEntry | None
    current: Value | None = None
    new_name: str = ""
    said: list[Said] = made(default_factory=list)
    also: list[Value] = made(default_factory=list)
    gone: bool = False
    unstated: bool = False  # it is reset, the notes do not say to what
    choice: bool = False  # a default that moved under a value which may or may not be the old one
    outside: str = ""
    because: str = ""


@dataclass(frozen=True)
class _Statement:
    """An effect with the words it stands in."""

    effect: Effect
    text: str
    ref: str
    kept: bool


def setting_changes(
    judged: JudgedNotes,
    releases: Sequence[int],
    last: Snapshot | None,
    unit: str = "",
) -> tuple[SettingRow, ...]:
    """One row for each setting that the releases touch, what matters most in the air first.

    `releases` are indexes into the notes' releases, the oldest first: all that come together.
    `last` is the unit's last snapshot, None where none is recorded.
    """
    known = Known(last.entries if last else ())
    rows: dict[str, _Row] = {}
    for release in releases:
        for statement in _statements(judged, release):
            for row in _touched(statement, known, rows):
                _apply(row, statement)
        for item in judged.items:
            if item.release == release:
                _behaves(item, known, rows)
    found = [_finished(row, unit, recorded=last is not None) for row in rows.values()]
    found.sort(key=lambda row: (rank(row.field, row.setting), list(Do).index(row.do), row.name))
    return tuple(found)


def _statements(judged: JudgedNotes, release: int) -> Iterator[_Statement]:
    """Instructions first: a reset of everything comes before what a single change then sets."""
    for told in judged.notes.releases[release].instructions:
        effects = told.effects or _told_effect(told)
        yield from (_Statement(e, told.text, "", e.kept) for e in effects)
    for item in judged.items:
        if item.release == release:
            for effect in item.item.effects:
                yield _Statement(effect, item.item.text, item.item.ref, effect.kept)


def _told_effect(told: Instruction) -> tuple[Effect, ...]:
    """What an instruction about a reset says, where the reader found no effect in it."""
    resets = told.kind is InstructionKind.SETTINGS_RESET
    if not resets and not (told.kind in _ABOUT_SETTINGS and _RESET.search(told.text)):
        return ()
    about = setting_spoken_of(told.text, "")
    known = field_of(about.field)
    values = quantities_in(told.text, known) if known and known.dimension else []
    after = value_words(values[-1]) if values else ""
    name = known.name if known else about.name
    return (
        Effect(
            change=EffectKind.RESET,
            setting=name,
            setting_id=about.setting,
            after=after,
            place=told.place,
        ),
    )


def _touched(statement: _Statement, known: Known, rows: dict[str, _Row]) -> list[_Row]:
    effect = statement.effect
    if effect.change is EffectKind.RESET and of_all(effect.setting, effect.setting_id):
        return [_row_of(entry, rows) for entry in known.entries] or [_all(rows)]
    names = (effect.setting, effect.before if effect.change is EffectKind.RENAMED else "")
    for row in rows.values():  # under the name it got in an earlier release
        if row.new_name and plain(row.new_name) in {plain(n) for n in names if n}:
            return [row]
    entry = known.entry(names, effect.setting_id, statement.text, (effect.before, effect.after))
    if entry is not None:
        return [_row_of(entry, rows)]
    about = setting_spoken_of(next((n for n in reversed(names) if n), "") or statement.text,
                       effect.setting_id)  # fmt: skip
    key = about.field or plain(about.name)
    return [rows.setdefault(key, _Row(about.name, about.field, about.setting, None))]


def _row_of(entry: SettingEntry, rows: dict[str, _Row]) -> _Row:
    row = _Row(entry.name, entry.field, entry.setting, entry, current=entry.value)
    return rows.setdefault(f"own {plain(entry.name)}", row)


def _all(rows: dict[str, _Row]) -> _Row:
    return rows.setdefault("all", _Row("all settings", "", "", None))


def _apply(row: _Row, statement: _Statement) -> None:
    effect = statement.effect
    known = field_of(row.field)
    before, after = stated(effect.before, known), stated(effect.after, known)
    if after is not None:
        after = like_own(after, row.own)
    words = _words(effect, before, after, statement)
    row.said.append(
        Said(says=_SAYS[effect.change], words=words, ref=statement.ref, line=effect.place.line)
    )
    match effect.change:
        case EffectKind.RESET:
            _reset(row, after, kept=statement.kept)
        case EffectKind.DEFAULT:
            _default(row, before, after, kept=statement.kept)
        case EffectKind.RANGE:
            _range(row, range_of(effect.after, statement.text, known))
        case EffectKind.RENAMED:
            row.new_name = effect.after
        case EffectKind.REMOVED:
            row.gone = True
        case EffectKind.ADDED:
            row.current, row.gone = after, False


def _words(effect: Effect, before: Value | None, after: Value | None, said: _Statement) -> str:
    """What the notes say, in as few words as it takes."""
    was = f" (was {value_words(before)})" if before else ""
    kept = "; values you have set are kept" if said.kept else ""
    match effect.change:
        case EffectKind.RESET:
            return f"reset to {value_words(after)}{kept}" if after else f"reset{kept}"
        case EffectKind.DEFAULT:
            return f"new default{f' {value_words(after)}' if after else ''}{was}{kept}"
        case EffectKind.RANGE:
            span = range_of(effect.after, said.text, None)
            return f"new range {span.words}" if span else f"new range{was}: {_short(said.text)}"
        case EffectKind.RENAMED:
            return f"renamed to {effect.after}" if effect.after else f"renamed: {said.text}"
        case EffectKind.REMOVED:
            return "removed"
        case EffectKind.ADDED:
            return f"new{f', set to {value_words(after)}' if after else ''}"


def _reset(row: _Row, after: Value | None, *, kept: bool) -> None:
    if kept and row.own is not None:
        row.because = "values you have set are kept"
        row.also += [after] if after else []
        return
    row.current, row.unstated = after, after is None
    row.also.clear()
    row.because = "" if after else "the notes do not say what it is reset to"


def _default(row: _Row, before: Value | None, after: Value | None, *, kept: bool) -> None:
    own = row.current
    if own is None or after is None:
        row.current = own if own is not None else after
        row.because = "" if own is None or after else "the notes do not state the new default"
        return
    if same(own, after):
        row.because = "it has the new default already"
        return
    if before is not None and same(own, before):
        row.current, row.choice = after, True
        row.also.append(own)
        row.because = "yours is the old default"
    elif kept or before is not None:
        row.because = "you have changed it, and what you have set is kept" if kept else (
            "you have changed it; the notes do not say whether that is kept"
        )  # fmt: skip
        row.also += [] if kept and before is not None else [after]
    else:
        row.choice = True
        row.also.append(after)
        row.because = "the notes state neither the old default nor whether yours is kept"


def _range(row: _Row, span: Span | None) -> None:
    if span is None or row.current is None:
        row.because = "" if span else "the notes do not state the range in figures"
        return
    holds = span.holds(row.current)
    if holds is False:
        row.outside = f"{value_words(row.current)} lies outside {span.words}"
        row.also.append(row.current)
        row.current = span.nearest(row.current)
        row.because = "the nearest value that is left; the notes do not say which it takes"
    elif holds is None:
        row.because = f"whether {value_words(row.current)} lies within {span.words} cannot be told"


def _behaves(item: JudgedItem, known: Known, rows: dict[str, _Row]) -> None:
    """A change of what the function does leaves the value, and makes it worth a look."""
    if item.item.effects or all(item.judgement(k).standing is Standing.NO for k in _CHANGES):
        return
    names = {setting.id: setting.name for setting in vocabulary()}
    line = item.item.places[0].line
    said = Said(says=Says.BEHAVES, words=_short(item.item.text), ref=item.item.ref, line=line)
    for id in dict.fromkeys(find.id for find in item.finds.settings if find.id in names):
        own = known.of_setting(id)
        if id == "settings-reset":
            continue
        for row in [_row_of(e, rows) for e in own] or [
            rows.setdefault(id, _Row(names[id], "", id, None))
        ]:
            row.said.append(said)


def _short(text: str) -> str:
    return text if len(text) <= _WORDS else f"{text[: _WORDS - 3].rstrip()}..."


def _finished(row: _Row, unit: str, *, recorded: bool) -> SettingRow:
    expected = [] if row.gone or row.unstated else [v for v in (row.current, *row.also) if v]
    kept: list[Value] = []
    for value in expected:
        if not any(same(value, other) for other in kept):
            kept.append(value)
    only_behaves = all(said.says is Says.BEHAVES for said in row.said)
    row = replace(row, because=row.because or _why(row, only_behaves))
    return SettingRow(
        unit=unit,
        name=row.name,
        new_name=row.new_name if plain(row.new_name) != plain(row.name) else "",
        field=row.field,
        setting=row.setting,
        own=row.own,
        said=tuple(dict.fromkeys(row.said)),
        expected=tuple(kept),
        gone=row.gone,
        outside=row.outside,
        do=_to_do(row, recorded=recorded, only_behaves=only_behaves),
        because=row.because,
        critical=bool(care_of(row.setting)),
    )


def _why(row: _Row, only_behaves: bool) -> str:
    if only_behaves:
        return "what it does changes, its value is not said to"
    return "" if row.own else "not in your last snapshot" if row.name != "all settings" else ""


def _to_do(row: _Row, *, recorded: bool, only_behaves: bool) -> Do:
    added = any(said.says is Says.ADDED for said in row.said)
    if row.own is None:
        if added:
            return Do.DECIDE
        return Do.LOOK_AT if only_behaves and recorded else Do.WRITE_DOWN
    if row.gone or row.outside or row.choice:
        return Do.DECIDE
    moves = row.unstated or (row.current is not None and not same(row.current, row.own.value))
    return Do.SET_AGAIN if moves else Do.LOOK_AT
