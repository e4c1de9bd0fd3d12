from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from triage.domain.snapshots import Origin, Snapshot
from triage.errors import ConfigError, SourceError
from triage.settings.entries import AnswerKind, entries_from, strange
from triage.settings.pasted_text import pairs_in
from triage.settings.read_settings import read_settings
from triage.settings.recording_session import Recording, refused
from triage.settings.snapshots import all_kept, last_recorded, snapshot_numbered

from .conftest import NOON

Taken = Callable[..., Snapshot]


def test_feet_where_metres_were_is_a_question(taken: Taken) -> None:
    last = taken("Return-to-home altitude: 60 m")
    found = entries_from(*pairs_in("RTH altitude: 60 ft"), last)
    assert not found.entries
    (doubt,) = found.doubts
    assert doubt.answer is AnswerKind.YES_OR_NO
    assert doubt.question == "60 ft where 60 m was: is the unit right?"
    assert not entries_from(*pairs_in("RTH altitude: 197 ft"), last).doubts


def test_twice_with_two_values_is_a_question_and_with_one_is_not() -> None:
    assert entries_from(*pairs_in("Expo: 0.3\nexpo: 0.30\n")).doubts == ()
    (doubt,) = entries_from(*pairs_in("Expo: 0.3\nExpo: 0.4\n")).doubts
    assert (doubt.line, "as 0.3 and as 0.4" in doubt.question) == (2, True)


def test_names_nearly_known_are_asked_about_only_when_misread() -> None:
    text = "Return-to-horne altitude: 60 m"
    (doubt,) = entries_from(*pairs_in(text), misread=True).doubts
    assert doubt.entry and doubt.entry.field == "rth-altitude"
    (entry,) = entries_from(*pairs_in(text)).entries
    assert entry.field == ""
    # one known name is no misreading of another, however alike
    (entry,) = entries_from(*pairs_in("Maximum ascent speed: 3 m/s"), misread=True).entries
    assert entry.field == "ascent-speed"


def test_settings_of_another_unit_are_a_question(taken: Taken) -> None:
    last = taken("a: 1\nb: 2\nc: 3\nd: 4\ne: 5")
    other = taken("f: 1\ng: 2\nh: 3\ni: 4\na: 5")
    assert strange(other.entries, last) == (
        "only 1 of 5 settings have a name that heron had on 2026-11-25; are they really of heron?"
    )
    assert not strange(last.entries, last)
    assert not strange(other.entries, None)


def test_a_file_that_names_another_unit_is_an_error(home: Path) -> None:
    found = read_settings(b'{"unit": "visor", "Expo": 0.3}', "s.json")
    with pytest.raises(ConfigError, match="of 'visor', not of 'heron'"):
        Recording("heron", "").read(found)


def test_answers_are_kept_before_the_next_question(home: Path) -> None:
    recording = Recording("heron", "3.4.2")
    (doubt,) = recording.read(read_settings(b"RTH altitude: 60\nExpo: 0.3", "s.txt"))
    assert doubt.answer is AnswerKind.VALUE
    again = recording.answer(doubt, "60 miles")
    assert again is not None and "cannot be" in again.question
    assert recording.answer(again, "60 m") is None
    # killed here: the next session finds the answer
    assert [e.name for e in Recording("heron", "").draft()] == ["RTH altitude"]
    assert not Recording("visor", "").draft()
    one = recording.keep(Origin.FILE, NOON)
    assert one.snapshot.version == "3.4.2"
    assert [e.field for e in one.snapshot.entries] == ["rth-altitude", "expo"]
    assert snapshot_numbered(1) == one
    assert not Recording("heron", "").draft()


def test_yes_no_and_left_out(home: Path) -> None:
    recording = Recording("heron", "")
    (doubt,) = recording.read(read_settings(b"Expo: 0.3\nExpo: 0.4", "s.txt"))
    no = recording.answer(doubt, "n")
    assert no is not None and no.answer is AnswerKind.VALUE
    assert recording.answer(no, "") is None
    assert recording.entries["expo"].value.text == "0.3"
    assert recording.answer(doubt, "y") is None
    assert recording.entries["expo"].value.text == "0.4"


def test_as_last_time(home: Path) -> None:
    first = Recording("heron", "")
    assert first.typed("return-to-home altitude", "=") is not None
    assert first.typed("return-to-home altitude", "60 m") is None
    first.keep(Origin.TYPED, NOON)
    second = Recording("heron", "")
    assert second.typed("return-to-home altitude", "=") is None
    assert second.keep(Origin.TYPED, NOON).snapshot.entries == snapshot_numbered(1).snapshot.entries


def test_nothing_recorded_is_an_error(home: Path) -> None:
    with pytest.raises(SourceError, match="no setting was recorded"):
        Recording("heron", "").keep(Origin.TYPED, NOON)


def test_refusal_names_the_line_and_how_many_more(home: Path) -> None:
    doubts = entries_from(*pairs_in("a: 1\nRTH altitude: 60\nMax distance: 3")).doubts
    assert str(refused(doubts, "s.txt")) == (
        "s.txt:2: RTH altitude: '60' has no unit; is it 60 m or ft? (and 1 more questions); "
        "mend the text, or answer at a terminal"
    )


def test_last_recorded_feeds_the_recheck_list(home: Path) -> None:
    assert last_recorded("heron") == {}
    recording = Recording("heron", "")
    recording.read(
        read_settings(b"RTH altitude: 60 m\nSignal loss action: Hover\nSignal loss delay: 3 s", "s")
    )
    recording.keep(Origin.PASTED, NOON)
    assert last_recorded("heron") == {
        "rth-altitude": "60 m",
        "signal-loss": "Signal loss action Hover, Signal loss delay 3 s",
    }
    assert last_recorded("visor") == {}
    assert len(all_kept("HERON")) == 1
