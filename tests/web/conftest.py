"""The page in a user folder of its own: in this process, or served to a real browser."""

from __future__ import annotations

import datetime as dt
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

import triage
from triage.app.read import Engine, engine
from triage.reference.shipped import folder
from triage.web.app import make_app
from triage.web.desk import Desk

PORT, TOKEN, DAY = 8765, "a-token-of-the-test", dt.date(2026, 11, 25)
ADDRESS = f"http://127.0.0.1:{PORT}"
PACKAGE = Path(triage.__file__).resolve().parent
START = "from triage.cli.main import main; main()"

Paste = Callable[[str], str]


@pytest.fixture(scope="session")
def machine() -> Engine:
    return engine()


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A user folder with the demo's reports and kit as the operator's own.

    The aircraft is a release further on than in the demo: past its grave defect, so that the
    strict wait.
    """
    place = tmp_path / "home"
    place.mkdir()
    for name in ("kit.toml", "reports.jsonl"):
        text = (folder("corpora") / "demo" / name).read_text("utf-8")
        (place / name).write_text(text.replace('"3.4.2"', '"3.5.1"'), "utf-8")
    monkeypatch.setenv("TRIAGE_HOME", str(place))
    monkeypatch.delenv("TRIAGE_JOURNAL", raising=False)
    return place


@pytest.fixture
def outside(home: Path, machine: Engine) -> TestClient:
    """A client that has not brought the token; `follow_redirects` off."""
    desk = Desk(lambda: DAY)
    desk.__dict__["engine"] = machine
    return TestClient(
        make_app(desk, PORT, TOKEN),
        base_url=ADDRESS,
        headers={"origin": ADDRESS},
        follow_redirects=False,
        raise_server_exceptions=False,
    )


@pytest.fixture
def client(outside: TestClient) -> TestClient:
    """A client that was let in."""
    assert outside.get(f"/enter?token={TOKEN}").status_code == 303
    return outside


@pytest.fixture
def paste(client: TestClient) -> Paste:
    """Paste notes; returns the address of the answer."""

    def send(text: str) -> str:
        found = client.post("/notes", files={"text": (None, text)})
        assert found.status_code == 303, found.text
        return str(found.headers["location"])

    return send


@pytest.fixture
def demo_notes() -> str:
    file = folder("corpora") / "demo" / "heron-2-release-notes.md"
    return file.read_text(encoding="utf-8")


@pytest.fixture
def link(home: Path) -> Iterator[str]:
    """The link of a page that is really served."""
    with subprocess.Popen(
        [sys.executable, "-c", START, "page", "--no-browser"],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": str(PACKAGE.parent)},
    ) as served:
        assert served.stdout is not None
        try:
            served.stdout.readline()
            yield served.stdout.readline().strip()
        finally:
            served.terminate()
