from __future__ import annotations

import datetime as dt
import hashlib
import threading
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.domain.notes import SourceFormat
from triage.domain.watch import Watched
from triage.errors import StoreError
from triage.watch.watch_store import data_of, drop, store_watched, watched

DAY = dt.date(2026, 11, 3)


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("TRIAGE_HOME", str(tmp_path))
    return tmp_path


def notes(data: bytes, name: str = "heron.md", day: dt.date = DAY) -> Watched:
    digest = hashlib.sha256(data).hexdigest()
    return Watched(sha256=digest, name=name, format=SourceFormat.MARKDOWN, added=day)


def test_the_bytes_come_back_and_twice_is_one(home: Path) -> None:
    one = notes(b"- \xff\x00 a\r\n")
    assert store_watched(b"- \xff\x00 a\r\n", one) == one
    later = one.model_copy(update={"added": DAY + dt.timedelta(days=9), "name": "other"})
    assert store_watched(b"- \xff\x00 a\r\n", later) == one
    assert watched() == ((one,), ())
    assert data_of(one) == b"- \xff\x00 a\r\n"
    assert {p.stat().st_mode & 0o777 for p in (home / "watch").iterdir()} == {0o600}
    assert (home / "watch").stat().st_mode & 0o777 == 0o700


@given(st.binary(max_size=200))
def test_any_bytes_come_back(data: bytes) -> None:
    kept = store_watched(data, notes(data))
    assert data_of(kept) == data


def test_the_oldest_first_and_dropped_by_name_or_digest() -> None:
    first, second = notes(b"1", day=DAY + dt.timedelta(days=1)), notes(b"2", "app notes.txt")
    for data, one in ((b"1", first), (b"2", second)):
        store_watched(data, one)
    assert watched().watched == (second, first)
    with pytest.raises(StoreError, match=r"called 'x'; under watch: "):
        drop("x")
    assert drop("App Notes.txt") == "app notes.txt"
    store_watched(b"3", notes(b"3"))
    with pytest.raises(StoreError, match=r"2 notes are called 'heron.md'; name one of"):
        drop("heron.md")
    assert drop(first.sha256[:8]) == "heron.md"
    assert drop("heron.md") == "heron.md"
    with pytest.raises(StoreError, match="add notes first"):
        drop("heron.md")


def test_what_does_not_hold_is_told_and_can_be_dropped(home: Path) -> None:
    good, bad = notes(b"1"), notes(b"2", "app.txt")
    store_watched(b"1", good)
    store_watched(b"2", bad)
    record = home / "watch" / f"{bad.sha256}.json"
    record.write_text('{"half')
    found = watched()
    assert found.watched == (good,) and "is no record of notes under watch" in found.faults[0]
    assert drop(bad.sha256[:12]) == bad.sha256[:12] and watched().faults == ()
    record.write_text(good.model_dump_json())
    assert "is the record of other notes" in watched().faults[0]
    (home / "watch" / f"{good.sha256}.notes").write_bytes(b"altered")
    with pytest.raises(StoreError, match="were altered; triage watch drop"):
        data_of(good)
    (home / "watch" / f"{good.sha256}.notes").unlink()
    with pytest.raises(StoreError, match="no such file"):
        data_of(good)


def test_many_at_once_lose_none() -> None:
    made = [str(n).encode() for n in range(8)] * 2
    threads = [threading.Thread(target=store_watched, args=(data, notes(data))) for data in made]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(watched().watched) == 8


def test_a_folder_that_is_a_file(home: Path) -> None:
    (home / "watch").write_text("x")
    with pytest.raises(StoreError, match="is a file, not a folder"):
        store_watched(b"1", notes(b"1"))
