"""A run carried by processes that are killed (SIGKILL) at random moments.

Each process is forked, so that it costs milliseconds, and tells through a pipe what was
acknowledged to it. Whatever was acknowledged has to be in the record afterwards.
"""

from __future__ import annotations

import datetime as dt
import os
import random
import signal
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from triage.domain.update_run import Mark, Marked, Needs, Phase, Run, RunPlan, StepState
from triage.errors import StoreError
from triage.kit import load_kit
from triage.update.given import Given
from triage.update.run_log import all_runs, begin, finish, mark
from triage.update.run_state import done, next_step

KILLS = 200
PER_FOLDER = 20
LONGEST = 0.1  # seconds until the kill


def carry(plan: RunPlan, tell: Callable[[str], None]) -> None:
    """Carry runs on for ever: step by step, finish, begin the next."""
    while True:
        runs = all_runs()
        if not runs or runs[-1].phase is Phase.CLOSED:
            tell(f"begun {begin(plan, now()).id}")
            continue
        run = runs[-1]
        if run.phase is Phase.CLOSING or not run.left:
            tell(f"finished {finish(run.id, now(), lambda summary: None).run}")
            continue
        step = next_step(run)
        assert step is not None
        after, made = mark(run.id, step.step.id, done_)
        tell(f"marked {after.id} {made.step} {made.at.isoformat()}")


def warm_up(plan: RunPlan) -> None:
    """Carry one run here, so that no child spends its life importing."""

    class OverError(Exception):
        pass

    def until_finished(words: str) -> None:
        if words.startswith("finished"):
            raise OverError

    with pytest.raises(OverError):
        carry(plan, until_finished)


def done_(run: Run, step: StepState) -> Marked:
    version = step.step.target if step.step.needs is Needs.VERSION else ""
    return done(run, step, now(), Given(version=version, charge=80, snapshot=1))


def now() -> dt.datetime:
    return dt.datetime.now(dt.UTC)


def forked(work: Callable[[Callable[[str], None]], None]) -> tuple[int, int]:
    """A child that does the work; its process id and the end of the pipe to read from."""
    reading, writing = os.pipe()
    if child := os.fork():
        os.close(writing)
        return child, reading
    try:
        work(lambda words: void(os.write(writing, f"{words}\n".encode())))
    finally:
        os._exit(0)


def void(_: object) -> None:
    """Drop a value."""


def told(reading: int) -> set[tuple[str, ...]]:
    with os.fdopen(reading, encoding="utf-8") as pipe:
        return {tuple(line.split()) for line in pipe}


def recorded() -> set[tuple[str, ...]]:
    """What is in the record, in the words in which it is acknowledged."""
    found: set[tuple[str, ...]] = set()
    moved = {u.label: u.version for u in load_kit().units} == {
        "heron": "3.6.0",
        "battery-1": "1.14",
    }
    for run in all_runs():
        found.add(("begun", run.id))
        if run.phase is Phase.CLOSED and moved:
            found.add(("finished", run.id))
        for step in run.steps:
            for m in step.marks:
                assert m.mark is Mark.DONE
                found.add(("marked", run.id, step.step.id, m.at.isoformat()))
    return found


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
def test_killed_at_200_moments_no_acknowledged_step_is_lost(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, home: Path, plan: RunPlan
) -> None:
    kit = (home / "kit.toml").read_text()
    warm_up(plan)
    chance = random.Random(20261125)
    acknowledged: set[tuple[str, ...]] = set()
    count = 0
    for kill in range(KILLS):
        if kill % PER_FOLDER == 0:
            folder = tmp_path / str(kill)
            folder.mkdir()
            (folder / "kit.toml").write_text(kit)
            monkeypatch.setenv("TRIAGE_HOME", str(folder))
            acknowledged = set()
        child, reading = forked(lambda tell: carry(plan, tell))
        time.sleep(chance.uniform(0, LONGEST))
        os.kill(child, signal.SIGKILL)
        assert os.WIFSIGNALED(os.waitpid(child, 0)[1])  # it did not end by itself
        fresh = told(reading)
        count += len(fresh)
        acknowledged |= fresh
        assert acknowledged <= recorded()
    print(f"{KILLS} kills, {count} acknowledged, none lost")
    assert count > KILLS // 4  # a busy machine gets less done between two kills


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
def test_two_terminals_do_each_step_once(home: Path, plan: RunPlan) -> None:
    def race(tell: Callable[[str], None]) -> None:
        for step in plan.steps:
            try:
                after, made = mark("", step.id, done_)
                tell(f"marked {after.id} {made.step} {made.at.isoformat()}")
            except StoreError as error:
                assert "is done already" in str(error)

    begin(plan, now())
    children = [forked(race) for _ in range(4)]
    won = [words for child, reading in children for words in told(reading)]
    assert all(os.waitpid(child, 0)[1] == 0 for child, _ in children)
    assert sorted(words[2] for words in won) == sorted(step.id for step in plan.steps)
    assert set(won) <= recorded()
    assert all(len(step.marks) == 1 for step in all_runs()[0].steps)
