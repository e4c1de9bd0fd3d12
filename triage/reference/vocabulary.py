"""Components, settings and words of frequency and harm: what notes are searched for."""

from __future__ import annotations

from functools import cache

from pydantic import Field

from triage.domain.base import Frozen
from triage.reference.loader import load_table, load_words


class Clue(Frozen):
    """Words that count only near one of `near` (anywhere if empty) and near none of `not_near`."""

    words: tuple[str, ...] = Field(min_length=1)
    near: tuple[str, ...] = ()
    not_near: tuple[str, ...] = ()


class Component(Frozen):
    """A unit or part: `synonyms` name it, `parts` and `clue` only speak of it."""

    id: str
    name: str
    synonyms: tuple[str, ...] = Field(min_length=1)
    parts: tuple[str, ...] = ()
    clue: tuple[Clue, ...] = ()


class Setting(Frozen):
    """Something the operator can set; `quantity` is the dimension of its value, '' for a choice."""

    id: str
    name: str
    recheck: str
    quantity: str = ""
    synonyms: tuple[str, ...] = Field(min_length=1)
    clue: tuple[Clue, ...] = ()


class Frequency(Frozen):
    """How often a defect shows: the words, and the chance in [0, 1] that they stand for."""

    id: str
    name: str
    chance: float = Field(ge=0, le=1)
    status: str
    reason: str
    words: tuple[str, ...]


class Harm(Frozen):
    """Words that speak of harm."""

    words: tuple[str, ...]


class Components(Frozen):
    """The file components.toml."""

    component: tuple[Component, ...]


class Settings(Frozen):
    """The file settings.toml."""

    setting: tuple[Setting, ...]


class Condition(Frozen):
    """Something under which a defect shows, and which a planned job can state."""

    id: str
    name: str
    words: tuple[str, ...] = Field(min_length=1)


class Conditions(Frozen):
    """The file conditions.toml."""

    frequency: tuple[Frequency, ...]
    harm: Harm
    condition: tuple[Condition, ...]


@cache
def components() -> tuple[Component, ...]:
    """All components, in the order of the file."""
    return load_table("components.toml", Components).component


@cache
def settings() -> tuple[Setting, ...]:
    """All settings, in the order of how much they matter in the air."""
    return load_table("settings.toml", Settings).setting


@cache
def similar_words() -> frozenset[str]:
    """Ordinary words that differ from a vocabulary word by a letter or two."""
    return load_words("similar_words.txt")


@cache
def conditions() -> Conditions:
    """Words of frequency and of harm."""
    return load_table("conditions.toml", Conditions)
