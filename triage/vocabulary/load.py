"""Reads the vocabularies shipped with the package; each is validated once and kept.

Errors: ConfigError naming file, line and mend, should an edited copy not hold.
"""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import TypeVar

from pydantic import BaseModel, Field, ValidationError

from triage.domain.base import Frozen
from triage.errors import ConfigError

Model = TypeVar("Model", bound=BaseModel)


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


class Conditions(Frozen):
    """The file conditions.toml."""

    frequency: tuple[Frequency, ...]
    harm: Harm


def load_toml(name: str, model: type[Model]) -> Model:
    """Read the shipped data file `name` as `model`."""
    text = (files("triage.vocabulary") / name).read_text(encoding="utf-8")
    try:
        return model.model_validate(tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        raise ConfigError(str(error), where=name, mend="reinstall the package") from error
    except ValidationError as error:
        first = error.errors()[0]
        place = " -> ".join(str(part) for part in first["loc"])
        raise ConfigError(
            f"{place}: {first['msg']}", where=name, mend="reinstall the package"
        ) from error


@cache
def components() -> tuple[Component, ...]:
    """All components, in the order of the file."""
    return load_toml("components.toml", Components).component


@cache
def settings() -> tuple[Setting, ...]:
    """All settings, in the order of how much they matter in the air."""
    return load_toml("settings.toml", Settings).setting


@cache
def look_alikes() -> frozenset[str]:
    """Ordinary words that differ from a vocabulary word by a letter or two."""
    text = (files("triage.vocabulary") / "look_alikes.txt").read_text(encoding="utf-8")
    return frozenset(w for line in text.splitlines() if line[:1] != "#" for w in line.split())


@cache
def conditions() -> Conditions:
    """Words of frequency and of harm."""
    return load_toml("conditions.toml", Conditions)
