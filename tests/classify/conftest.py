"""What the tests of stored models share."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest


@pytest.fixture
def spoil() -> Callable[[Path, str], None]:
    """Cuts a file short, alters a byte of it, or takes it away; any other harm leaves it be."""

    def spoilt(path: Path, harm: str) -> None:
        whole = path.read_bytes()
        if harm == "cut":
            path.write_bytes(whole[:-100])
        elif harm == "altered":
            path.write_bytes(whole[:200] + bytes([whole[200] ^ 1]) + whole[201:])
        elif harm == "missing":
            path.unlink()

    return spoilt
