"""The kit file: commented TOML that the operator and the commands both write.

Errors: ConfigError naming file, line and mend; StoreError when it cannot be read or written.
"""

from __future__ import annotations

import datetime as dt
import tomllib
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pydantic import Field, field_validator

from triage.domain.base import Frozen
from triage.domain.kit import Job, Kit, Unit
from triage.errors import ConfigError
from triage.kit.units import component_id, function_names
from triage.reference.vocabulary import components, conditions
from triage.storage.toml_file import MisplacedError, edit_text, edit_toml, load_toml, without
from triage.storage.user_folder import user_file

if TYPE_CHECKING:
    from tomlkit import TOMLDocument

NAME = "kit.toml"

START = """\
# Everything of mine that has a version. `triage kit` commands change this file and keep what is
# written in it; so may you. After a change, `triage kit check` tells what is missing.

# What I rely on with any unit, by its id (`triage kit use --list`). None stated means all.
functions = []

# What I hope an update brings, in my own words.
needs = []

# A unit:
#   [[unit]]
#   label = "battery-1"           my own short name for it
#   component = "battery"         what kind of thing it is
#   name = "..."                  the maker's name of it, as the release notes write it
#   version = "01.00.0500"        as the unit shows it, or "same as the aircraft"
#   reversible = true             whether it can go back to an earlier version
#   functions = ["return-home"]   what I rely on with this unit
# A flight I have promised:
#   [[job]]
#   day = 2026-05-31
#   what = "roof survey"
#   conditions = ["cold", "wind"] what it will be flown in (`triage kit job --help`)
#   functions = ["fence"]         without which it can't be flown
"""


class _UnitEntry(Unit):
    label: str = Field(pattern=r"^\S(.*\S)?$")

    @field_validator("component")
    @classmethod
    def _known_component(cls, words: str) -> str:
        if found := component_id(words):
            return found
        known = ", ".join(component.id for component in components())
        raise ValueError(f"'{words}' is no component; write one of {known}")

    @field_validator("functions")
    @classmethod
    def _known_functions(cls, ids: tuple[str, ...]) -> tuple[str, ...]:
        return _functions(ids)


class _JobEntry(Job):
    @field_validator("conditions")
    @classmethod
    def _known_conditions(cls, ids: tuple[str, ...]) -> tuple[str, ...]:
        known = [condition.id for condition in conditions().condition]
        for at, id in enumerate(ids):
            if id not in known:
                raise MisplacedError(
                    f"'{id}' is no condition; write some of {', '.join(known)}", at
                )
        return ids

    @field_validator("functions")
    @classmethod
    def _known_functions(cls, ids: tuple[str, ...]) -> tuple[str, ...]:
        return _functions(ids)


class _KitFile(Frozen):
    unit: tuple[_UnitEntry, ...] = ()
    job: tuple[_JobEntry, ...] = ()
    needs: tuple[str, ...] = ()
    functions: tuple[str, ...] = ()

    @field_validator("functions")
    @classmethod
    def _known_functions(cls, ids: tuple[str, ...]) -> tuple[str, ...]:
        return _functions(ids)

    @field_validator("unit")
    @classmethod
    def _own_labels(cls, units: tuple[_UnitEntry, ...]) -> tuple[_UnitEntry, ...]:
        labels = [unit.label.casefold() for unit in units]
        for at, label in enumerate(labels):
            if label in labels[:at]:
                raise MisplacedError(
                    f"two are called '{label}'; give each its own label", at, "label"
                )
        return units

    def as_kit(self) -> Kit:
        return Kit(
            units=tuple(Unit(**unit.model_dump()) for unit in self.unit),
            jobs=tuple(Job(**job.model_dump()) for job in self.job),
            needs=self.needs,
            functions=self.functions,
        )


def _functions(ids: tuple[str, ...]) -> tuple[str, ...]:
    for at, name in enumerate(ids):
        if name not in function_names():
            known = ", ".join(function_names())
            raise MisplacedError(f"'{name}' is no function; write some of {known}", at)
    return ids


def kit_path(path: Path | None) -> Path:
    """The kit file meant: the stated one, or the one in the user folder."""
    return path or user_file(NAME)


def load_kit(path: Path | None = None) -> Kit:
    """The operator's kit; one aircraft of unknown version, marked assumed, when there is no file.

    A file that is named has to exist.
    """
    if path is None and not kit_path(None).exists():
        return Kit(units=(Unit(label="aircraft", component="aircraft"),), assumed=True)
    return load_toml(kit_path(path), _KitFile).as_kit()


def add_unit(path: Path | None, unit: Unit) -> Kit:
    """Add a unit under a label of its own."""

    def change(document: TOMLDocument) -> None:
        if _find(document, unit.label) is not None:
            raise ConfigError(
                f"there is already a unit called '{unit.label}'",
                where=str(kit_path(path)),
                mend="choose another label, or change it with: triage kit set",
            )
        stated = unit.model_dump(exclude_defaults=True)
        _append(document, "unit", {**stated, "functions": list(unit.functions) or None})

    return _edit(path, change)


def set_unit(path: Path | None, label: str, /, **changes: Any) -> Kit:
    """Change the named fields of a unit; an empty text, () or None takes the field out."""

    def change(document: TOMLDocument) -> None:
        table = _find(document, label)
        if table is None:
            raise _no_unit(path, _read(document.as_string()).unit, label)
        for key, value in changes.items():
            if value in ("", (), None):
                table.pop(key, None)
            else:
                table[key] = list(value) if isinstance(value, tuple) else value

    return _edit(path, change)


def remove_unit(path: Path | None, label: str) -> Kit:
    """Take a unit out."""

    def change(text: str) -> str:
        labels = [unit.label.casefold() for unit in _read(text).unit]
        if label.casefold() not in labels:
            raise _no_unit(path, _read(text).unit, label)
        return without(text, ("unit", labels.index(label.casefold())))

    return edit_text(kit_path(path), _KitFile, change, START).as_kit()


def add_job(
    path: Path | None,
    day: dt.date,
    what: str = "",
    flown_in: Sequence[str] = (),
    functions: Sequence[str] = (),
) -> Kit:
    """Note a promised flight, what it will be flown in, and what it can't be flown without."""
    entry = {
        "day": day,
        "what": what or None,
        "conditions": list(flown_in) or None,
        "functions": list(functions) or None,
    }
    return _edit(path, lambda document: _append(document, "job", entry))


def remove_job(path: Path | None, day: dt.date) -> Kit:
    """Take out all jobs of a day."""

    def change(text: str) -> str:
        places = [at for at, job in enumerate(_read(text).job) if job.day == day]
        if not places:
            raise ConfigError(
                f"no job on {day}", where=str(kit_path(path)), mend="see: triage kit list"
            )
        for at in reversed(places):
            text = without(text, ("job", at))
        return text

    return edit_text(kit_path(path), _KitFile, change, START).as_kit()


def add_words(path: Path | None, key: str, words: Sequence[str]) -> Kit:
    """Add to `needs` or `functions`; what is there already stays once."""

    def change(document: TOMLDocument) -> None:
        there = document.setdefault(key, [])
        for text in words:
            if text not in there:
                there.append(text)

    return _edit(path, change)


def remove_words(path: Path | None, key: str, words: Sequence[str]) -> Kit:
    """Take out of `needs` or `functions`."""

    def change(document: TOMLDocument) -> None:
        there: Any = document.get(key, [])
        for text in words:
            if text not in there:
                raise ConfigError(
                    f"'{text}' is not among the {key}",
                    where=str(kit_path(path)),
                    mend="see: triage kit list",
                )
            there.remove(text)

    return _edit(path, change)


def _edit(path: Path | None, change: Callable[[TOMLDocument], None]) -> Kit:
    return edit_toml(kit_path(path), _KitFile, change, start=START).as_kit()


def _append(document: TOMLDocument, key: str, entry: dict[str, Any]) -> None:
    import tomlkit

    if key not in document:
        document.append(key, tomlkit.aot())
    table = tomlkit.table()
    table.update({name: value for name, value in entry.items() if value is not None})
    tables: Any = document[key]
    tables.append(table)


def _find(document: TOMLDocument, label: str) -> Any:
    tables: Any = document.get("unit", [])
    return next((t for t in tables if str(t.get("label")).casefold() == label.casefold()), None)


def _read(text: str) -> _KitFile:
    return _KitFile.model_validate(tomllib.loads(text))


def _no_unit(path: Path | None, units: Sequence[Unit], label: str) -> ConfigError:
    labels = ", ".join(unit.label for unit in units)
    return ConfigError(
        f"there is no unit called '{label}'",
        where=str(kit_path(path)),
        mend=f"it holds {labels}" if labels else "add one with: triage kit add",
    )
