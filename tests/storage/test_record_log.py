from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter

from triage.domain.snapshots import Renamed
from triage.errors import StoreError
from triage.storage.record_log import Log

ONE = Renamed(unit="heron", before="a", after="b", same=True)
TWO = ONE.model_copy(update={"same": False})


def log(folder: Path) -> Log[Renamed]:
    return Log(folder / "log.jsonl", TypeAdapter(Renamed), "answer")


def test_added_is_read_back_in_order(tmp_path: Path) -> None:
    assert log(tmp_path).read() == ()
    assert log(tmp_path).add(lambda before: [ONE]) == (ONE,)
    assert log(tmp_path).add(lambda before: [TWO, *before]) == (ONE, TWO, ONE)
    assert log(tmp_path).read() == (ONE, TWO, ONE)
    assert (tmp_path / "log.jsonl").stat().st_mode & 0o777 == 0o600


def test_what_is_refused_writes_nothing(tmp_path: Path) -> None:
    def refuse(before: tuple[Renamed, ...]) -> list[Renamed]:
        raise StoreError("no")

    with pytest.raises(StoreError, match="no"):
        log(tmp_path).add(refuse)
    assert not (tmp_path / "log.jsonl").exists()


@pytest.mark.parametrize("cut", range(1, 57, 7))
def test_a_line_cut_short_is_set_aside(tmp_path: Path, cut: int) -> None:
    log(tmp_path).add(lambda before: [ONE])
    path = tmp_path / "log.jsonl"
    torn = path.read_bytes()[:cut]
    path.write_bytes(path.read_bytes() + torn)
    assert log(tmp_path).read() == (ONE,)
    assert log(tmp_path).add(lambda before: [TWO]) == (ONE, TWO)
    assert log(tmp_path).read() == (ONE, TWO)
    assert (tmp_path / "log.jsonl.torn").read_bytes() == torn + b"\n"


def test_a_line_that_only_lacks_its_end_is_whole(tmp_path: Path) -> None:
    log(tmp_path).add(lambda before: [ONE])
    path = tmp_path / "log.jsonl"
    path.write_bytes(path.read_bytes().rstrip(b"\n"))
    assert log(tmp_path).add(lambda before: [TWO]) == (ONE, TWO)
    assert log(tmp_path).read() == (ONE, TWO)


def test_a_broken_line_is_named(tmp_path: Path) -> None:
    log(tmp_path).add(lambda before: [ONE])
    path = tmp_path / "log.jsonl"
    path.write_bytes(b'{"unit": 3}\n' + path.read_bytes())
    with pytest.raises(StoreError, match=r"log.jsonl:1: is no answer: unit: .*; mend the line"):
        log(tmp_path).read()


@given(st.binary(max_size=80))
def test_any_tail_is_read_over_or_named(tail: bytes) -> None:
    import tempfile

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        log(folder).add(lambda before: [ONE])
        path = folder / "log.jsonl"
        path.write_bytes(path.read_bytes() + tail)
        try:
            assert log(folder).read()[0] == ONE
        except StoreError as error:
            assert "\n" not in str(error)
