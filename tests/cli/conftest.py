"""Commands run as a user would run them, in a user folder of their own."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

import triage as triage_package

Run = Callable[..., "subprocess.CompletedProcess[str]"]
PACKAGE = Path(triage_package.__file__).resolve().parent
START = "from triage.cli.main import main; main()"


@pytest.fixture
def triage(tmp_path: Path) -> Run:
    """`triage(*arguments, stdin=bytes)`: a process with TRIAGE_HOME in the test's own folder."""
    home = tmp_path / "home"

    def run(*arguments: str, stdin: bytes = b"") -> subprocess.CompletedProcess[str]:
        done = subprocess.run(
            [sys.executable, "-c", START, *arguments],
            input=stdin,
            capture_output=True,
            check=False,
            cwd=tmp_path,
            env={
                **os.environ,
                "TRIAGE_HOME": str(home),
                "COLUMNS": "80",
                "PYTHONPATH": str(PACKAGE.parent),
            },
        )
        return subprocess.CompletedProcess(
            done.args, done.returncode, done.stdout.decode(), done.stderr.decode()
        )

    return run
