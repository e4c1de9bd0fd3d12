"""One session of recording settings: what stands, what is to be asked, and the draft of it.

Every value that the operator typed or confirmed is in the draft before the next is asked for, so
that an interrupted session can be gone on with.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable
from typing import NamedTuple

from pydantic import TypeAdapter

from triage.domain.base import Frozen
from triage.domain.snapshots import Origin, Picture, SettingEntry, Snapshot
from triage.errors import ConfigError, SourceError
from triage.settings.entries import (
    AnswerKind,
    Doubt,
    Gathered,
    checked_entry,
    entries_from,
    last_entry,
    strange,
)
from triage.settings.pasted_text import Pair, Unread, pairs_in
from triage.settings.read_settings import SettingsFound
from triage.settings.setting_names import field_called, plain, rank
from triage.settings.setting_tables import Field
from triage.settings.setting_values import value_words
from triage.settings.snapshots import NumberedSnapshot, keep_snapshot, last_kept
from triage.storage.record_log import Log
from triage.storage.user_folder import user_file

DRAFT = "draft.jsonl"
SAME = "="


class Drafted(Frozen):
    """A value that is not in a snapshot yet; without an entry, the end of the unit's draft."""

    unit: str
    entry: SettingEntry | None = None


class LineRead(NamedTuple):
    """A line as it was read; `line` is that of the source, `was` the last recorded value."""

    number: int
    line: int
    entry: SettingEntry
    was: str


class Recording:
    """What is being recorded of one unit; `version` is the one the kit says is installed."""

    def __init__(self, unit: str, version: str) -> None:
        self.unit, self.version = unit, version
        found = last_kept(unit)
        self.last: Snapshot | None = found.snapshot if found else None
        self.entries: dict[str, SettingEntry] = {}
        self.pictures: list[Picture] = []
        self.lines: dict[str, int] = {}
        self.passed_over: list[Unread] = []

    def read(self, found: SettingsFound, *, drafting: bool = False) -> tuple[Doubt, ...]:
        """Take what a source holds; returns what has to be asked, for a picture every value.

        With `drafting`, what stands goes into the draft, as when questions are going to be asked.
        """
        if found.unit and found.unit.casefold() != self.unit.casefold():
            raise ConfigError(
                f"the settings say they are of '{found.unit}', not of '{self.unit}'",
                mend="name that unit, or take the line out",
            )
        self.lines.update({plain(pair.name): pair.line for pair in found.pairs})
        self.passed_over += [*found.headings]
        if found.picture:
            self.pictures.append(found.picture)
            result = entries_from(found.pairs, found.unread, self.last, misread=True)
            return (*_to_confirm(result), *_stateless(found.valueless))
        result = entries_from(found.pairs, found.unread, self.last)
        for entry in result.entries:
            self.entries[plain(entry.name)] = entry
        if drafting and result.doubts:
            lines = [Drafted(unit=self.unit, entry=entry) for entry in result.entries]
            _drafts().add(lambda before: lines)
        return result.doubts

    def as_read(self) -> tuple[LineRead, ...]:
        """What stands, line by line, to be confirmed: numbered from 1, in the source's order."""
        rows = sorted(self.entries.items(), key=lambda item: self.lines.get(item[0], 0))
        return tuple(
            LineRead(n, self.lines.get(name, 0), entry, self._was(entry))
            for n, (name, entry) in enumerate(rows, start=1)
        )

    def _was(self, entry: SettingEntry) -> str:
        before = last_entry(self.last, entry.name, entry.field)
        return value_words(before.value) if before else ""

    def change(self, number: int, text: str) -> Doubt | None:
        """Take another value for a numbered line, nothing to leave it out; returns a new doubt."""
        rows = self.as_read()
        if not 1 <= number <= len(rows):
            raise SourceError(f"there is no line {number}", mend=f"they run from 1 to {len(rows)}")
        entry = rows[number - 1].entry
        if not text.strip():
            del self.entries[plain(entry.name)]
            return None
        return self.typed(entry.name, text)

    def answer(self, doubt: Doubt, text: str) -> Doubt | None:
        """Take the answer to a doubt: yes, nothing (left out), or a value; returns a new doubt."""
        text = text.strip()
        if text.casefold() in ("y", "yes") and doubt.answer is AnswerKind.YES_OR_NO:
            if doubt.entry:
                self.put(doubt.entry)
            return None
        if not text:
            return None
        if text.casefold() in ("n", "no") and doubt.answer is AnswerKind.YES_OR_NO:
            asked = "what is it set to?" if doubt.entry else "which setting is it? name: value"
            return doubt.model_copy(update={"question": asked, "answer": AnswerKind.VALUE})
        pairs, _ = pairs_in(text) if doubt.entry is None and re.search(r"[:=]", text) else ([], [])
        return self.typed(pairs[0].name if pairs else doubt.name, pairs[0].value if pairs else text)

    def typed(self, name: str, text: str) -> Doubt | None:
        """Take a value typed for a name; '=' is the last recorded one."""
        field = field_called(name)
        before = last_entry(self.last, name, field.id if field else "")
        if text.strip() == SAME:
            if before is None:
                question = "there is no value from last time; what is it?"
                return Doubt(name=name, line=0, question=question, answer=AnswerKind.VALUE)
            self.put(before)
            return None
        result = checked_entry(Pair(name, text), self.last)
        if isinstance(result, Doubt):
            return result
        self.put(result)
        return None

    def last_value(self, field: Field) -> str:
        """The value of a field when it was last recorded, '' when it never was."""
        before = last_entry(self.last, field.name, field.id)
        return value_words(before.value) if before else ""

    def put(self, entry: SettingEntry) -> None:
        """Take an entry that the operator typed or confirmed, into the draft as well."""
        self.entries[plain(entry.name)] = entry
        _drafts().add(lambda before: [Drafted(unit=self.unit, entry=entry)])

    def draft(self) -> tuple[SettingEntry, ...]:
        """What an earlier session left behind."""
        left: dict[str, SettingEntry] = {}
        for one in _drafts().read():
            if one.unit == self.unit:
                if one.entry is None:
                    left.clear()
                else:
                    left[plain(one.entry.name)] = one.entry
        return tuple(left.values())

    def resume(self, entries: Iterable[SettingEntry]) -> None:
        """Go on from a draft."""
        self.entries.update((plain(entry.name), entry) for entry in entries)

    def drop_draft(self) -> None:
        """Forget what an earlier session left behind."""
        if self.draft():
            _drafts().add(lambda before: [Drafted(unit=self.unit)])

    def strange(self) -> str:
        """A question when these are hardly settings of this unit."""
        return strange(tuple(self.entries.values()), self.last)

    def keep(self, origin: Origin, at: dt.datetime) -> NumberedSnapshot:
        """Record the snapshot, what matters most in the air first."""
        if not self.entries:
            raise SourceError("no setting was recorded", mend="write one 'name: value' a line")
        entries = sorted(self.entries.values(), key=lambda e: rank(e.field, e.setting))
        kept = keep_snapshot(
            Snapshot(
                unit=self.unit,
                taken=at,
                version=self.version,
                origin=origin,
                entries=tuple(entries),
                pictures=tuple(self.pictures),
            )
        )
        self.drop_draft()
        return kept


def refused(doubts: Iterable[Doubt], where: str) -> SourceError:
    """The error that stands for questions which nobody is there to answer."""
    first, *others = doubts
    more = f" (and {len(others)} more questions)" if others else ""
    return SourceError(
        f"{first.name}: {first.question}{more}",
        where=where,
        line=first.line or None,
        mend="mend the text, or answer at a terminal",
    )


def _to_confirm(result: Gathered) -> tuple[Doubt, ...]:
    asked = [
        Doubt(
            name=entry.name,
            line=0,
            question=f"is it set to {value_words(entry.value)}?",
            answer=AnswerKind.YES_OR_NO,
            entry=entry,
        )
        for entry in result.entries
    ]
    return (*asked, *result.doubts)


def _stateless(names: Iterable[str]) -> tuple[Doubt, ...]:
    """Known names without a value: a toggle's state is drawn, not written."""
    question = "the picture shows no value in words; what is it set to?"
    return tuple(
        Doubt(name=name, line=0, question=question, answer=AnswerKind.VALUE)
        for name in names
        if field_called(name)
    )


def _drafts() -> Log[Drafted]:
    return Log(user_file(DRAFT), TypeAdapter(Drafted), "draft")
