"""What really goes wrong: killed writers, many writers, full, read-only, failing and locked disks.

An entry is acknowledged once `add` has returned; whatever happens, each of those is there
afterwards with the digest that was told, and the journal holds.
"""

from __future__ import annotations

import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.journal import making
from triage.errors import StoreError
from triage.journal.store import Journal, open_journal
from triage.journal.verify import verify

ROOT = Path(__file__).parents[2]
WRITERS = 8


def start(where: str, name: str, count: int) -> subprocess.Popen[str]:
    command = [sys.executable, "-m", "tests.journal.writing", where, name, str(count)]
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.Popen(command, cwd=ROOT, env=environment, text=True, stdout=subprocess.PIPE)


def kept(output: str) -> dict[int, str]:
    """What was acknowledged: the digest by the entry's number; a half line was not read."""
    lines = [line.split() for line in output.splitlines(keepends=True) if line.endswith("\n")]
    return {int(words[1]): words[2] for words in lines if words[0] == "kept"}


def assert_holds(where: str, acknowledged: dict[int, str]) -> Journal:
    journal = open_journal(where)
    result = verify(journal)
    assert result.fault is None, result.fault
    assert result.entries >= len(acknowledged)
    assert {seq: journal.digest_of(seq) for seq in acknowledged} == acknowledged
    return journal


def test_killed_writers_lose_nothing_acknowledged(where: str) -> None:
    """kill -9 at a random moment of a run of writing, again and again."""
    making.add(open_journal(where, create=True))
    chance = random.Random(7)
    acknowledged: dict[int, str] = {}
    for round_ in range(3):
        process = start(where, f"round-{round_}", 10_000)
        assert process.stdout is not None
        lines = [process.stdout.readline()]
        deadline = time.monotonic() + chance.uniform(0.05, 0.35)
        while time.monotonic() < deadline:
            lines.append(process.stdout.readline())
        process.send_signal(signal.SIGKILL)
        rest, _ = process.communicate()
        assert process.returncode == -signal.SIGKILL
        acknowledged |= kept("".join(lines) + rest)
        assert_holds(where, acknowledged)
    assert len(acknowledged) > 8
    assert making.add(open_journal(where)) > max(acknowledged)


def test_killed_between_the_write_and_its_end(in_file: Journal) -> None:
    """A writer killed inside its transaction leaves nothing behind, and locks nobody out."""
    making.add(in_file)
    code = (
        "import os, signal, sys\n"
        "from tests.journal import making\n"
        "from triage.journal.store import open_journal\n"
        "with open_journal(sys.argv[1]).writing() as writer:\n"
        "    payload, attachments = making.kept('half', notes='x' * 3_000_000)\n"
        "    writer.add(payload, attachments, 'half', '')\n"
        "    writer._connection.exec_driver_sql('PRAGMA cache_spill = 1')\n"
        "    os.kill(os.getpid(), signal.SIGKILL)\n"
    )
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run([sys.executable, "-c", code, in_file.where], cwd=ROOT, env=environment)
    assert done.returncode == -signal.SIGKILL
    assert making.add(in_file) == 2
    assert in_file.search("half", 5) == () and verify(in_file).fault is None


def test_many_writers_at_once(where: str) -> None:
    """Eight processes that begin the journal together and write to it at the same time."""
    each = 8
    processes = [start(where, f"writer-{n}", each) for n in range(WRITERS)]
    outputs = [process.communicate(timeout=120)[0] for process in processes]
    assert [process.returncode for process in processes] == [0] * WRITERS
    found = [kept(output) for output in outputs]
    acknowledged = {seq: digest for one in found for seq, digest in one.items()}
    assert len(acknowledged) == sum(len(one) for one in found) == WRITERS * each
    journal = assert_holds(where, acknowledged)
    assert sorted(acknowledged) == list(range(1, WRITERS * each + 1))
    anchor = journal.anchor()
    assert anchor is not None and anchor.seq == WRITERS * each


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of 2 MB in memory."""
    folder = tmp_path / "disk"
    folder.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", "size=2m,mode=0700", "tmpfs", str(folder)]
    mount = shutil.which("mount")
    if mount is None or subprocess.run(command, capture_output=True).returncode:
        pytest.skip("mounting a small file system needs root")
    yield folder
    subprocess.run(["umount", "-l", str(folder)], check=True)


def test_a_full_disk(small_disk: Path) -> None:
    where = str(small_disk / "journal.sqlite")
    journal = open_journal(where, create=True)
    acknowledged: dict[int, str] = {}
    for n in range(200):
        if n == 3:
            room = shutil.disk_usage(small_disk).free
            (small_disk / "other").write_bytes(b"x" * (room - 120_000))
        try:
            seq = making.add(journal, f"entry {n}", notes=os.urandom(4000).hex())
        except StoreError as error:
            assert "the disk is full" in str(error) and "\n" not in str(error)
            break
        acknowledged[seq] = journal.digest_of(seq)
    assert 3 < len(acknowledged) < 200
    assert_holds(where, acknowledged)
    (small_disk / "other").unlink()
    seq = making.add(journal, "room again")
    assert_holds(where, {**acknowledged, seq: journal.digest_of(seq)})


def test_a_disk_with_room_for_the_entry_but_not_for_the_anchor(
    in_file: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    from triage.journal import store

    def full(*_: object) -> None:
        raise StoreError("no space left on device")

    making.add(in_file)
    monkeypatch.setattr(store, "write_anchor", full)
    assert making.add(in_file) == 2
    assert "the entry is kept" in in_file.remark
    monkeypatch.undo()
    assert making.add(in_file) == 3 and verify(in_file).fault is None


def test_a_disk_turned_read_only(small_disk: Path) -> None:
    where = str(small_disk / "journal.sqlite")
    journal = open_journal(where, create=True)
    digest = journal.digest_of(making.add(journal))
    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)
    with pytest.raises(StoreError, match="cannot be written to"):
        making.add(journal)
    assert_holds(where, {1: digest})
    subprocess.run(["mount", "-o", "remount,rw", str(small_disk)], check=True)
    assert making.add(journal) == 2


def test_a_disk_that_is_lost(small_disk: Path, tmp_path: Path) -> None:
    """The disk goes while the journal is open; when it is back, all that was kept is there."""
    folder = small_disk / "user"
    folder.mkdir()
    where = str(folder / "journal.sqlite")
    journal = open_journal(where, create=True)
    digest = journal.digest_of(making.add(journal))
    aside = tmp_path / "aside"
    aside.mkdir()
    subprocess.run(["mount", "--bind", str(small_disk), str(aside)], check=True)
    subprocess.run(["umount", str(small_disk)], check=True)
    try:
        with pytest.raises(StoreError, match="cannot be opened"):
            making.add(journal)
    finally:
        subprocess.run(["mount", "--bind", str(aside), str(small_disk)], check=True)
        subprocess.run(["umount", str(aside)], check=True)
    assert_holds(where, {1: digest})
    assert making.add(journal) == 2


def test_a_disk_that_fails(small_disk: Path, tmp_path: Path) -> None:
    """Writes that fail late: a disk image that cannot grow, so that the system reports EIO.

    The file system is ext4, whose own journal keeps it whole; on one without (ext2), blocks that
    the kernel had reported as written were seen to be lost with the failing ones.
    """
    image, folder = small_disk / "image", tmp_path / "image-disk"
    folder.mkdir()
    os.truncate(os.open(image, os.O_CREAT | os.O_RDWR), 16_000_000)
    maker = shutil.which("mkfs.ext4") or "/sbin/mkfs.ext4"
    mount = ["mount", "-o", "loop", str(image), str(folder)]
    make = [maker, "-q", "-E", "lazy_journal_init=1", str(image)]
    if not Path(maker).exists() or any(
        subprocess.run(command, capture_output=True).returncode for command in (make, mount)
    ):
        pytest.skip("mounting a loop device needs root, mkfs.ext4 and a kernel that has it")
    acknowledged: dict[int, str] = {}
    try:
        journal = open_journal(str(folder / "journal.sqlite"), create=True)
        (small_disk / "other").write_bytes(b"x" * (shutil.disk_usage(small_disk).free - 300_000))
        with pytest.raises(StoreError) as caught:
            for n in range(200):
                seq = making.add(journal, f"entry {n}", notes=os.urandom(4_000).hex())
                acknowledged[seq] = journal.digest_of(seq)
        assert "\n" not in str(caught.value)
        assert len(acknowledged) > 2
        (small_disk / "other").unlink()
        subprocess.run(["umount", str(folder)], check=True)
        subprocess.run(mount, check=True)
        assert_holds(journal.where, acknowledged)
        assert making.add(journal) > max(acknowledged)
    finally:
        subprocess.run(["umount", "-l", str(folder)], check=False)


def test_a_locked_file(in_file: Journal) -> None:
    making.add(in_file)
    hasty = open_journal(in_file.where, wait=0.3)
    other = sqlite3.connect(in_file.where, isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    with pytest.raises(StoreError, match="another process is writing the journal; try again"):
        making.add(hasty)
    other.execute("ROLLBACK")
    other.close()
    assert making.add(hasty) == 2 and verify(hasty).fault is None


def test_a_locked_journal_on_a_server(server: str) -> None:
    journal = open_journal(server, create=True)
    making.add(journal)
    hasty = open_journal(server, wait=0.3)
    with (
        journal.writing(),
        pytest.raises(StoreError, match="another pilot's entry is being written"),
    ):
        making.add(hasty)
    assert making.add(hasty) == 2 and verify(hasty).fault is None


def test_a_reader_does_not_hold_up_a_writer(in_file: Journal) -> None:
    for n in range(3):
        making.add(in_file, f"entry {n}")
    walking = in_file.entries()
    next(walking)
    hasty = open_journal(in_file.where, wait=0.3)
    assert making.add(hasty) == 4
    assert [entry.seq for entry in walking] == [2, 3]
