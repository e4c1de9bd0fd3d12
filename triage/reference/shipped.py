"""Finds models/ and corpora/: beside the package in a checkout, inside it when installed."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parents[1]


def folder(name: str) -> Path:
    """The folder `models` or `corpora`."""
    shipped = _PACKAGE / "shipped" / name
    return shipped if shipped.is_dir() else _PACKAGE.parent / name
