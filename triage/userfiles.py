"""Where the operator's own files lie, and how they are read and changed without losing anything.

The folder is TRIAGE_HOME when set, else the platform's place for a user's data. What is made here
is readable by the user alone. A change is written beside the file and put in its place whole, under
a lock, so that neither a crash nor a second process loses a change.

Errors: ConfigError for a file that does not hold, StoreError for one that cannot be read or
written.
"""

from __future__ import annotations

import os
import re
import tempfile
import tomllib
from bisect import bisect_left
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from pydantic import BaseModel, ValidationError

from triage.errors import ConfigError, StoreError

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


LOCK_SECONDS = 10.0  # writes take milliseconds; a longer wait means a process that hangs


def home() -> Path:
    """The user folder; it need not exist yet."""
    if stated := os.environ.get("TRIAGE_HOME"):
        return Path(stated).expanduser()
    from platformdirs import user_data_path

    return user_data_path("triage", appauthor=False)


def user_file(name: str) -> Path:
    """The path of `name` in the user folder."""
    return home() / name


def make_folder(path: Path) -> None:
    """Make the folder and those above it; what is made is the user's alone (0700)."""
    with _as_store_error(path, "name another folder in TRIAGE_HOME"):
        for folder in reversed([path, *path.parents]):
            if not folder.exists():
                with suppress(FileExistsError):  # another process was quicker
                    folder.mkdir(mode=0o700)
        if not path.is_dir():
            raise NotADirectoryError(20, "is a file, not a folder")


@contextmanager
def locked(path: Path) -> Iterator[Path]:
    """Hold the lock of a file, and yield the file that links lead to; its folder is made."""
    from filelock import FileLock, Timeout

    path = path.resolve()
    make_folder(path.parent)
    lock = FileLock(path.with_name(f".{path.name}.lock"), timeout=LOCK_SECONDS, mode=0o600)
    with _as_store_error(path, "check the folder's permissions"):
        try:
            lock.acquire()
        except Timeout as error:
            raise StoreError(
                "another process is changing the file",
                where=str(path),
                mend="try again when it has ended",
            ) from error
    try:
        yield path
    finally:
        lock.release()


def read_bytes(path: Path) -> bytes:
    """The content of a file."""
    with _as_store_error(path, "check the name and the permissions"):
        return path.read_bytes()


def read_text(path: Path) -> str:
    """The text of a UTF-8 file, line ends as they are; ConfigError when it is not UTF-8."""
    data = read_bytes(path)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise ConfigError(
            "is not UTF-8 text", where=str(path), line=line, mend="save it as UTF-8"
        ) from error


def replace_text(path: Path, text: str) -> None:
    """Put `text` in place of the file's content, as `replace_bytes` does."""
    replace_bytes(path, text.encode("utf-8"))


def replace_bytes(path: Path, data: bytes) -> None:
    """Put `data` in place of the file's content, whole or not at all; hold `locked(path)`.

    The permissions of a file that exists are kept; a new one is the user's alone (0600).
    """
    with _as_store_error(path, "check the folder's permissions and the free space"):
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".tmp")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            if path.exists():
                Path(name).chmod(path.stat().st_mode & 0o777)
            Path(name).replace(path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
        sync_folder(path.parent)


def sync_folder(path: Path) -> None:
    """Make a file's new name last through a power cut, where the system can do so."""
    with suppress(OSError):  # some systems do not open folders; the file itself is written
        handle = os.open(path, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


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


@contextmanager
def _as_store_error(path: Path, mend: str) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise StoreError(
            (error.strerror or str(error)).lower(), where=str(path), mend=mend
        ) from error
