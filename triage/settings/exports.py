"""Settings from CSV, JSON and TOML, in the shapes that exports and scripts have.

Errors: SourceError naming file, line where there is one, and mend.
"""

from __future__ import annotations

import csv
import io
import json
import re
import tomllib
from collections.abc import Iterator
from typing import Any

from triage.errors import SourceError
from triage.settings.pasted_text import Pair, with_unit
from triage.settings.setting_names import field_called, plain

_NAMES = frozenset({"name", "setting", "parameter", "key", "item", "param"})
_VALUES = frozenset({"value", "setting value", "current", "current value"})
_UNITS = frozenset({"unit", "units"})
_DEEPEST = 8


def from_csv(text: str, where: str) -> list[Pair]:
    """Columns name, value and unit where a head names them, else the first two or three."""
    try:
        dialect: Any = csv.Sniffer().sniff(text[:4096], delimiters=",;\t|")
    except csv.Error:
        dialect = csv.excel
    reader = csv.reader(io.StringIO(text), dialect, strict=True)
    try:
        rows = [(reader.line_num, [c.strip() for c in row]) for row in reader if any(row)]
    except csv.Error as error:
        raise SourceError(
            f"is not CSV: {error}", where=where, line=reader.line_num, mend="check its quotes"
        ) from error
    name, value, unit = 0, 1, 2
    if rows:
        head = [cell.casefold() for cell in rows[0][1]]
        names = [n for n, cell in enumerate(head) if cell in _NAMES]
        values = [n for n, cell in enumerate(head) if cell in _VALUES]
        if names and values:
            name, value = names[0], values[0]
            unit = next((n for n, cell in enumerate(head) if cell in _UNITS), -1)
            rows = rows[1:]
    pairs = []
    for line, row in rows:
        if len(row) <= max(name, value):
            raise SourceError(
                "has no value in this row", where=where, line=line, mend="write name,value"
            )
        stated = row[unit] if 0 <= unit < len(row) else ""
        pairs.append(with_unit(Pair(row[name], _joined(row[value], stated), line)))
    return pairs


def from_json(text: str, where: str) -> list[Pair]:
    """An object of names and values, also in sections, or a list of objects with name and value."""
    try:
        data = json.loads(text, parse_float=str, parse_int=str)
    except json.JSONDecodeError as error:
        raise SourceError(
            f"is not JSON: {error.msg.lower()}",
            where=where,
            line=error.lineno,
            mend="export it again",
        ) from error
    except RecursionError as error:
        raise SourceError("is nested too deep", where=where, mend="export it again") from error
    return list(_walked(data, where))


def from_toml(text: str, where: str) -> list[Pair]:
    """Keys and values, also in tables, or an array of tables with name and value."""
    try:
        data = tomllib.loads(text, parse_float=str)
    except tomllib.TOMLDecodeError as error:
        raise SourceError(
            f"is not TOML: {error}", where=where, mend='write name = "value"'
        ) from error
    return list(_walked(data, where))


def stated_unit(text: str, kind: str) -> str:
    """The unit that a JSON or TOML file says it is of, '' when it says none."""
    try:
        data = json.loads(text) if kind == "json" else tomllib.loads(text)
    except (ValueError, RecursionError):
        return ""
    found = data.get("unit", "") if isinstance(data, dict) else ""
    return found if isinstance(found, str) else ""


def _walked(
    data: Any, where: str, above: tuple[str, ...] = (), held: set[str] | None = None
) -> Iterator[Pair]:
    """Every scalar under a name; sections lend theirs where the name alone says too little."""
    held = set() if held is None else held
    if len(above) > _DEEPEST:
        raise SourceError("is nested too deep", where=where, mend="export fewer levels")
    if isinstance(data, list):
        for n, entry in enumerate(data, start=1):
            if isinstance(entry, dict) and _named(entry):
                yield _named_pair(_name(str(_get(entry, _NAMES)), above, held), entry)
            elif isinstance(entry, dict) and above:
                yield from _walked(entry, where, (*above[:-1], f"{above[-1]} {n}"), held)
            else:
                raise SourceError(
                    "holds a list of other than settings",
                    where=where,
                    mend='write {"name": ..., "value": ...}',
                )
        return
    if not isinstance(data, dict):
        raise SourceError("holds no settings", where=where, mend="write names and values")
    for name, value in data.items():
        if not above and name in ("unit", "taken", "version"):
            continue  # about the snapshot, not in it
        if isinstance(value, dict) and _get(value, _VALUES) is not None:
            yield _named_pair(_name(name, above, held), value)
        elif isinstance(value, list) and not any(isinstance(v, dict | list) for v in value):
            text = ", ".join(_text(v) for v in value) or "none"
            yield with_unit(Pair(_name(name, above, held), text))
        elif isinstance(value, dict | list):
            yield from _walked(value, where, (*above, name), held)
        else:
            yield with_unit(Pair(_name(name, above, held), _text(value)))


def _name(name: str, above: tuple[str, ...], held: set[str]) -> str:
    """The name, with that of its sections where it is not known or not the only one without."""
    name = _spaced(name)
    longer = [" ".join((*map(_spaced, above[at:]), name)) for at in range(len(above) - 1, -1, -1)]
    candidates = [name, *longer]
    chosen = next((c for c in candidates if field_called(c) and plain(c) not in held), None)
    chosen = chosen or next((c for c in candidates if plain(c) not in held), candidates[-1])
    held.add(plain(chosen))
    return chosen


def _spaced(name: str) -> str:
    """'maxAltitude' as 'max altitude'; names with blanks or marks stay."""
    if re.fullmatch(r"[a-z]+(?:[A-Z][a-z0-9]*)+", name):
        return re.sub(r"(?=[A-Z])", " ", name).casefold()
    return name


def _named(entry: dict[str, Any]) -> bool:
    return _get(entry, _NAMES) is not None and _get(entry, _VALUES) is not None


def _named_pair(name: str, entry: dict[str, Any]) -> Pair:
    unit = _get(entry, _UNITS)
    return with_unit(Pair(name, _joined(_text(_get(entry, _VALUES)), str(unit or ""))))


def _get(entry: dict[str, Any], keys: frozenset[str]) -> Any:
    return next((value for key, value in entry.items() if key.casefold() in keys), None)


def _joined(value: str, unit: str) -> str:
    return f"{value} {unit}".strip()


def _text(value: Any) -> str:
    if value is None:
        return "none"
    return ("on" if value else "off") if isinstance(value, bool) else str(value)
