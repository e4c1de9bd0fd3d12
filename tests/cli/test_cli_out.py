"""The two ways to the terminal, and the one in: nothing that steers it gets through."""

from __future__ import annotations

import pytest

from triage.cli.main import run
from triage.cli.out import say, warn

STEERING = "dr\x1b[31mi\u202eft\x07\x9b2J\u2066"


def test_what_is_said_and_warned_is_screened(capsys: pytest.CaptureFixture[str]) -> None:
    say(STEERING + "\n")
    warn(STEERING)
    shown = capsys.readouterr()
    assert shown.out == "dr[31mift2J\n" and shown.err == "triage: dr[31mift2J\n"


def test_a_fault_that_names_the_users_words_is_screened(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run(["assess", f"no-{STEERING}.txt"]) == 2
    assert run(["policy", "show", STEERING]) == 2
    assert not set(capsys.readouterr().err) & set("\x1b\u202e\x07\x9b\u2066")
