"""The annotated documents of the corpora: text as an operator saves it, and what each place is."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from triage.errors import ConfigError

_MARK = re.compile(r"⟦([^⟧|]*)\|([^⟧]*)⟧")
_END = "%% end"


class Span(NamedTuple):
    """One marked statement: characters [start, end) of the document's text.

    `role` is the letter of the guideline, `words` what stands behind it (kinds, sort, number);
    `attributes` are (name, fields); `release` the number of the release it belongs to.
    """

    start: int
    end: int
    role: str
    words: tuple[str, ...]
    attributes: tuple[tuple[str, tuple[str, ...]], ...]
    release: int

    def fields(self, name: str) -> Iterator[tuple[str, ...]]:
        """The fields of every attribute of that name."""
        return (fields for own, fields in self.attributes if own == name)


class StatedRelease(NamedTuple):
    """A release as the head of the document states it; units are (component, name, version)."""

    number: int
    version: str
    date: str
    withdrawn: bool
    prerelease: bool
    units: tuple[tuple[str, str, str], ...]


class Annotated(NamedTuple):
    """A document without its marks, the marked statements in order, and its releases."""

    name: str
    layout: str
    text: str
    spans: tuple[Span, ...]
    releases: tuple[StatedRelease, ...]


def read_annotated(path: Path) -> Annotated:
    """One file; ConfigError when its head or its marks do not hold."""
    return annotated_from(path.read_text(encoding="utf-8"), path.name, str(path))


def annotated_from(written: str, name: str, where: str = "") -> Annotated:
    """A document from its head and marked text."""
    head, mark, body = written.partition(_END)
    if not mark:
        raise ConfigError(f"no '{_END}'", where=where, mend="end the head with that line")
    body = body.removeprefix("\n")
    layout = re.search(r"^%% layout: *(\S+)", head, re.M)
    releases = tuple(_release(line) for line in re.findall(r"^%% release (.*)$", head, re.M))
    text, spans = _unmarked(body)
    return Annotated(name, layout[1] if layout else name, text, spans, releases)


def _release(line: str) -> StatedRelease:
    number = line.split()[0]
    parts = re.split(r"\s(?=version=|date=|unit=|withdrawn\b|prerelease\b)", line)
    found = {"version": "", "date": ""}
    units = []
    flags = set()
    for part in parts[1:]:
        name, _, value = part.strip().partition("=")
        if name == "unit":
            fields = [*(field.strip() for field in value.split("~")), "", ""]
            units.append((fields[0], fields[1], fields[2]))
        elif name in found:
            found[name] = value.strip()
        else:
            flags.add(name)
    return StatedRelease(
        int(number),
        found["version"],
        found["date"],
        "withdrawn" in flags,
        "prerelease" in flags,
        tuple(units),
    )


def _unmarked(body: str) -> tuple[str, tuple[Span, ...]]:
    parts: list[str] = []
    spans: list[Span] = []
    length = at = 0
    release = 1
    for found in _MARK.finditer(body):
        parts.append(body[at : found.start()])
        length += found.start() - at
        role, words, attributes = tag_of(found[1])
        if role == "v" and words and words[0].isdigit():
            release = int(words[0])
        own = next(
            (int(name[1:]) for name, _ in attributes if re.fullmatch(r"@\d+", name)), release
        )
        spans.append(Span(length, length + len(found[2]), role, words, attributes, own))
        parts.append(found[2])
        length += len(found[2])
        at = found.end()
    parts.append(body[at:])
    return "".join(parts), tuple(spans)


def tag_of(
    written: str,
) -> tuple[str, tuple[str, ...], tuple[tuple[str, tuple[str, ...]], ...]]:
    """Role, the words behind it, and the attributes of a tag as written."""
    first, *rest = written.split(";")
    role, *words = first.split()
    attributes = []
    for part in rest:
        name, sign, value = part.strip().partition("=")
        attributes.append((name, tuple(f.strip() for f in value.split("~")) if sign else ()))
    return role, tuple(words), tuple(attributes)
