"""Reads a data file shipped in this room.

Errors: ConfigError naming file, line and mend, should an edited copy not hold.
"""

from __future__ import annotations

from importlib.resources import files
from typing import TypeVar

from pydantic import BaseModel

from triage.storage.toml_file import parse_toml

Table = TypeVar("Table", bound=BaseModel)


def table_bytes(name: str) -> bytes:
    """The content of the data file `name`."""
    return (files("triage.reference") / name).read_bytes()


def load_table(name: str, model: type[Table]) -> Table:
    """The TOML file `name`, validated as `model`; callers keep it."""
    return parse_toml(table_bytes(name).decode("utf-8"), model, where=f"triage/reference/{name}")


def load_words(name: str) -> frozenset[str]:
    """The words of a text file; lines that start with '#' are comments."""
    lines = table_bytes(name).decode("utf-8").splitlines()
    return frozenset(word for line in lines if line[:1] != "#" for word in line.split())
