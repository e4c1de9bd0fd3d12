"""Settings from a file, a paste or a picture, whatever its form.

Errors: SourceError naming file, line and mend; ConfigError when reading pictures is not installed.
"""

from __future__ import annotations

from pathlib import PurePath
from typing import NamedTuple

from triage.domain.snapshots import Origin, Picture
from triage.errors import SourceError
from triage.settings import exports, screenshots
from triage.settings.parameter_dumps import from_dump, is_dump
from triage.settings.pasted_text import Pair, Unread, lines_in

LIMIT = 5 * 1024 * 1024  # bytes of text; a thousand settings take a fiftieth of it


class SettingsFound(NamedTuple):
    """What a source holds; `unit` is the label it says it is of, '' when it says none.

    `valueless` are names in a picture that came without a value, `headings` lines that group.
    """

    pairs: tuple[Pair, ...]
    origin: Origin
    unread: tuple[Unread, ...] = ()
    valueless: tuple[str, ...] = ()
    picture: Picture | None = None
    unit: str = ""
    headings: tuple[Unread, ...] = ()


def read_settings(data: bytes, name: str, *, pasted: bool = False) -> SettingsFound:
    """The settings in a source; its name's ending tells the form, else the text itself."""
    ending = PurePath(name).suffix.casefold()
    if ending in screenshots.SUFFIXES or _is_picture(data):
        pairs, valueless, picture = screenshots.read_picture(data, name)
        return SettingsFound(pairs, Origin.SCREENSHOT, (), valueless, picture)
    text = _decoded(data, name)
    origin = Origin.PASTED if pasted else Origin.FILE
    unit = ""
    unread: list[Unread] = []
    if ending == ".json" or _is_json(text):
        pairs_found, unit = exports.from_json(text, name), exports.stated_unit(text, "json")
    elif ending == ".toml":
        pairs_found, unit = exports.from_toml(text, name), exports.stated_unit(text, "toml")
    elif ending == ".csv":
        pairs_found = exports.from_csv(text, name)
    elif is_dump(text):
        pairs_found, unread = from_dump(text)
    else:
        pairs_found, unread = lines_in(text)
    if not pairs_found:
        raise SourceError("holds no settings", where=name, mend="write one 'name: value' a line")
    headings = tuple(line for line in unread if line.heading)
    others = tuple(line for line in unread if not line.heading)
    return SettingsFound(tuple(pairs_found), origin, others, unit=unit, headings=headings)


def _is_json(text: str) -> bool:
    start = text.lstrip()[:1]
    return start == "{" or (start == "[" and text.rstrip()[-1:] == "]" and '"' in text)


def _is_picture(data: bytes) -> bool:
    return data.startswith((b"\x89PNG", b"\xff\xd8\xff", b"RIFF"))


def _decoded(data: bytes, name: str) -> str:
    if len(data) > LIMIT:
        raise SourceError(
            f"is larger than {LIMIT >> 20} MB", where=name, mend="is it the right file?"
        )
    try:
        text = data.decode("utf-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise SourceError(
            "is not UTF-8 text", where=name, line=line, mend="save it as UTF-8"
        ) from error
    if "\0" in text:
        raise SourceError("is no text", where=name, mend="name a text file or a picture")
    return text
