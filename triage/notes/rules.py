"""Loads the word lists and patterns of this room, validated, once a run.

Errors: ConfigError naming the file, should an edited copy not hold.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from functools import cache
from importlib.resources import files
from typing import TypeVar

from pydantic import BaseModel, ValidationError

from triage.domain.base import Frozen
from triage.domain.notes import InstructionKind
from triage.errors import ConfigError

Model = TypeVar("Model", bound=BaseModel)


class Lexicon(Frozen):
    """The file lexicon.toml: words by which layout is told from language."""

    section: str
    participle: str
    beside: str
    verb: str
    around: str
    not_in_header: tuple[str, ...]
    section_core: tuple[str, ...]
    changes_from: tuple[str, ...]
    furniture: tuple[str, ...]
    preamble: tuple[str, ...]


class Demands(Frozen):
    """How sentences ask for other units; '{update}' stands for `updating`."""

    need: tuple[str, ...]
    weak: tuple[str, ...]
    refuse: tuple[str, ...]
    first: tuple[str, ...]
    together: tuple[str, ...]
    change: tuple[str, ...]


class DemandWords(Frozen):
    """Words that a sentence has to hold before a demand is looked for."""

    trigger: str
    refuse: str
    first: str
    need: str
    together: str
    back: str
    no_name: str


class RequirementRules(Frozen):
    """The file requirements.toml."""

    updating: str
    demands: Demands
    words: DemandWords


class InstructionRule(Frozen):
    """Patterns of one kind of instruction; `heads` gate it by the first letters of words."""

    kind: InstructionKind
    spoken: bool
    heads: str
    patterns: tuple[str, ...]


class InstructionRules(Frozen):
    """The file instructions.toml."""

    modal: tuple[str, ...]
    imperative: tuple[str, ...]
    address: tuple[str, ...]
    change: tuple[str, ...]
    order: tuple[str, ...]
    advice: tuple[str, ...]
    other_heads: str
    rule: tuple[InstructionRule, ...]


def _load(name: str, model: type[Model]) -> Model:
    text = (files("triage.notes") / name).read_text(encoding="utf-8")
    try:
        return model.model_validate(tomllib.loads(text))
    except (tomllib.TOMLDecodeError, ValidationError) as error:
        problem = str(error).splitlines()[0]
        raise ConfigError(problem, where=name, mend="reinstall the package") from error


@cache
def lexicon() -> Lexicon:
    """Words of layout."""
    return _load("lexicon.toml", Lexicon)


@cache
def requirement_rules() -> RequirementRules:
    """Words and patterns of requirement sentences."""
    return _load("requirements.toml", RequirementRules)


@cache
def instruction_rules() -> InstructionRules:
    """Words and patterns of instructions."""
    return _load("instructions.toml", InstructionRules)


def pattern(alternatives: Iterable[str]) -> re.Pattern[str]:
    """One pattern of alternatives, without regard to case."""
    return re.compile("|".join(alternatives), re.IGNORECASE)


def word_set(words: str) -> frozenset[str]:
    """The words of a list that is written as running text."""
    return frozenset(words.split())
