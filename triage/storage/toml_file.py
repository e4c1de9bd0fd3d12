"""TOML files of the operator and of the package: read, validated, and edited with comments kept.

Errors: ConfigError naming file, line and mend; StoreError when a file cannot be read or written.
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_left
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from pydantic import BaseModel, ValidationError

from triage.errors import ConfigError
from triage.storage.atomic_write import locked, read_text, replace_text

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails
    from tomlkit import TOMLDocument

Model = TypeVar("Model", bound=BaseModel)
Loc = tuple[int | str, ...]


class MisplacedError(ValueError):
    """For validators: 'problem; mend', and where below the validated field it stands."""

    def __init__(self, words: str, *loc: int | str) -> None:
        super().__init__(words)
        self.loc = loc


def load_toml(path: Path, model: type[Model]) -> Model:
    """Read and validate a TOML file.

    Errors: ConfigError naming file, line and mend; StoreError when it cannot be read.
    """
    return parse_toml(read_text(path), model, where=str(path))


def parse_toml(text: str, model: type[Model], where: str) -> Model:
    """Validate TOML text; `where` names it in errors."""
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise _broken(text, error, where) from error
    try:
        return model.model_validate(data)
    except ValidationError as error:
        details = error.errors(include_url=False)[0]
        problem, mend = _in_plain_words(details, model)
        inner = getattr(details.get("ctx", {}).get("error"), "loc", ())
        line = line_of(text, (*details["loc"], *inner))
        raise ConfigError(problem, where=where, line=line, mend=mend) from error


def edit_toml(
    path: Path, model: type[Model], change: Callable[[TOMLDocument], None], start: str = ""
) -> Model:
    """Change a TOML file in place, comments kept; returns the validated result.

    `start` is the text to begin with when there is no file. Nothing is written when the file, or
    what `change` makes of it, does not hold.
    """

    def change_text(text: str) -> str:
        import tomlkit

        document = tomlkit.parse(text)
        change(document)
        return tomlkit.dumps(document)

    return edit_text(path, model, change_text, start)


def edit_text(
    path: Path, model: type[Model], change: Callable[[str], str], start: str = ""
) -> Model:
    """As `edit_toml`, with a change to the TOML text."""
    with locked(path) as target:
        text = read_text(target) if target.exists() else start
        parse_toml(text, model, where=str(path))
        changed = change(text)
        try:
            result = parse_toml(changed, model, where=str(path))
        except ConfigError as error:  # its line is one of the text that is not written
            raise ConfigError(error.problem, where=str(path), mend=error.mend) from error
        if changed != text or not target.exists():
            replace_text(target, changed)
    return result


def without(text: str, loc: Loc) -> str:
    """TOML text without the table at `loc`; comments outside its first and last key stay."""
    lines = _lines(text)
    first = line_of(text, loc)
    table = _at(tomllib.loads(text), loc)
    assert first is not None
    last = max([first, *(line_of(text, (*loc, key)) or 0 for key in table)])
    last = next(n for n in range(last, len(lines) + 1) if _read("".join(lines[:n])) is not None)
    return "".join(lines[: first - 1] + lines[last:])


def line_of(text: str, loc: Loc) -> int | None:
    """The line on which the key at `loc` starts, or the nearest table around it that is there.

    Found as the shortest run of lines that holds the key: TOML keeps all it has read so far.
    """
    lines = _lines(text)

    def read_to(count: int) -> Any:
        runs = ("".join(lines[:end]) for end in range(count, len(lines) + 1))
        return next((data for data in map(_read, runs) if data is not None), None)

    whole = read_to(len(lines))
    while loc and not _holds(whole, loc):
        loc = loc[:-1]
    if not loc:
        return None
    return bisect_left(range(len(lines) + 1), True, key=lambda n: _holds(read_to(n), loc))


def _lines(text: str) -> list[str]:
    """Lines as TOML counts them, ends kept; `str.splitlines` knows too many line ends."""
    return [line for line in re.split(r"(?<=\n)", text) if line]


def _read(text: str) -> Any:
    """The data, None when the text stops inside a value."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return None


def _at(data: Any, loc: Loc) -> Any:
    for part in loc:
        data = data[part]
    return data


def _holds(data: Any, loc: Loc) -> bool:
    try:
        _at(data, loc)
    except (KeyError, IndexError, TypeError):
        return False
    return True


def _broken(text: str, error: tomllib.TOMLDecodeError, where: str) -> ConfigError:
    """The parser's complaint, its '(at line 3, column 5)' taken apart."""
    message, _, place = str(error).partition(" (at ")
    digits = "".join(c for c in place.partition(",")[0] if c.isdigit())
    line = int(digits) if digits else text.count("\n") + 1
    return ConfigError(
        f"is not TOML: {message[:1].lower()}{message[1:]}",
        where=where,
        line=line,
        mend='write text as key = "value" and [[table]] on a line of its own',
    )


_TYPES = {
    "string_type": ("text", "put it in quotes"),
    "bool_type": ("true or false", "write true or false without quotes"),
    "bool_parsing": ("true or false", "write true or false without quotes"),
    "int_type": ("a whole number", "write a whole number without quotes"),
    "int_parsing": ("a whole number", "write a whole number without quotes"),
    "float_type": ("a number", "write a number without quotes"),
    "float_parsing": ("a number", "write a number without quotes"),
    "date_type": ("a date", "write it as 2026-05-31"),
    "date_parsing": ("a date", "write it as 2026-05-31"),
    "date_from_datetime_parsing": ("a date", "write it as 2026-05-31"),
    "date_from_datetime_inexact": ("a date", "write it as 2026-05-31"),
    "tuple_type": ("a list", 'write ["one", "two"] or a [[table]]'),
    "list_type": ("a list", 'write ["one", "two"] or a [[table]]'),
    "model_type": ("a table", "write it as a [table] of keys"),
    "dict_type": ("a table", "write it as a [table] of keys"),
}


def _in_plain_words(details: ErrorDetails, model: type[BaseModel]) -> tuple[str, str]:
    """A validation error as (problem, mend)."""
    loc, kind = details["loc"], details["type"]
    name = _spoken(loc)
    if kind == "missing":
        return f"{name} is missing", f"add {loc[-1]} = ..."
    if kind == "extra_forbidden":
        known = _keys(model, loc[:-1])
        return f"{name} is not a key known here", (
            f"known are: {', '.join(known)}" if known else "remove it"
        )
    if kind in _TYPES:
        wanted, mend = _TYPES[kind]
        return f"{name} is {details['input']!r}, not {wanted}", mend
    if kind == "value_error":  # our own validators write 'problem; mend'
        problem, _, mend = str(details["ctx"]["error"]).partition("; ")
        return f"{name}: {problem}" if name else problem, mend
    message = details["msg"].removeprefix("Input ")
    return f"{name} is {details['input']!r}", f"it {message}"


def _spoken(loc: Loc) -> str:
    """`('unit', 2, 'version')` as 'version of unit 3'."""
    words = ""
    for part in loc:
        if isinstance(part, int):
            words = f"{words} {part + 1}"
        else:
            words = f"{part} of {words}" if words else part
    return words


def _keys(model: type[BaseModel], loc: Loc) -> tuple[str, ...]:
    """The keys of the model at `loc`, () where that is no model."""
    from typing import get_args

    here: Any = model
    for part in loc:
        if isinstance(part, str):
            if not (isinstance(here, type) and issubclass(here, BaseModel)):
                return ()
            field = here.model_fields.get(part)
            here = field.annotation if field else None
        inner = [a for a in get_args(here) if isinstance(a, type) and issubclass(a, BaseModel)]
        here = inner[0] if inner else here
    if isinstance(here, type) and issubclass(here, BaseModel):
        return tuple(here.model_fields)
    return ()
