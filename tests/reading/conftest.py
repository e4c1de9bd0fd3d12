from __future__ import annotations

from collections.abc import Callable

import pytest

from triage.domain.notes import Notes, SourceFormat
from triage.reading.reader import read
from triage.reading.tools import Tools, shipped_tools

ReadText = Callable[..., Notes]


@pytest.fixture(scope="session")
def tools() -> Tools:
    return shipped_tools()


@pytest.fixture(scope="session")
def read_text(tools: Tools) -> ReadText:
    """Reads a text as notes with the shipped models."""

    def reads(text: str, name: str = "notes.txt", format: SourceFormat | None = None) -> Notes:
        return read(text.encode("utf-8"), name, tools, format=format)

    return reads
