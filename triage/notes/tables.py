"""Tables of versions: a row a release, or a row a unit; other tables are lists of statements."""

from __future__ import annotations

from typing import NamedTuple

from triage.domain.notes import Comparison, Place, Requirement, Status
from triage.notes import headers
from triage.notes.blocks import Block
from triage.notes.clean import unmarked
from triage.notes.dates import FoundDate
from triage.notes.units import component_mentions, component_of
from triage.notes.versions import is_version_value, read_value

# Labels that name no unit.
_BARE = (
    "version",
    "release",
    "firmware",
    "firmware version",
    "software version",
    "版本",
    "固件版本",
)


class RowRelease(NamedTuple):
    """A release told by a table: its header, what it asks of other units, and its items."""

    title: str
    header: headers.Header
    place: Place
    requirements: tuple[Requirement, ...]
    items: tuple[tuple[str, Block], ...]
    many: bool = False
    asked: tuple[Requirement, ...] = ()  # all rows of a table of units, the release's own too


class Table(NamedTuple):
    """What a run of rows says: releases, or plain statements."""

    releases: tuple[RowRelease, ...] = ()
    items: tuple[tuple[str, Block], ...] = ()


def read_table(rows: list[Block]) -> Table:
    """Read rows that stand together; the first may be their heading."""
    rows = [row for row in rows if any(cell.strip("-:= ") for cell in row.cells)]
    if not rows:
        return Table()
    plain = [row._replace(cells=tuple(unmarked(cell) for cell in row.cells)) for row in rows]
    head = plain[0].cells
    body = plain[1:]
    if len(head) >= 2 and body and _is_release_head(head) and any(_holds_version(r) for r in body):
        return Table(
            releases=tuple(
                _row_release(head, row, raw) for row, raw in zip(body, rows[1:], strict=True)
            )
        )
    units = [row for row in plain if len(row.cells) >= 2 and is_version_value(row.cells[1])]
    dated = all(_role(row.cells[0]) == "date" for row in units)
    if units and (len(units) >= len(plain) - 1) and (dated or _names_units(units)):
        return Table(releases=(_unit_rows(units),))
    told = list(zip(plain, rows, strict=True))[1 if len(rows) > 1 else 0 :]
    return Table(items=tuple((": ".join(c for c in row.cells if c), raw) for row, raw in told))


def _holds_version(row: Block) -> bool:
    return sum(is_version_value(cell) for cell in row.cells) >= 1


def _is_release_head(head: tuple[str, ...]) -> bool:
    """A heading row: no versions in it, and two cells or more that name a unit, version, date."""
    if any(is_version_value(cell) for cell in head):
        return False
    return sum(bool(_role(cell)) for cell in head) >= 2


def _role(cell: str) -> str:
    low = cell.lower()
    if "date" in low or low in ("released", "released on", "day", "日期"):
        return "date"
    if any(
        word in low
        for word in ("change", "what's new", "note", "description", "detail", "content", "summary")
    ):
        return "text"
    if component_mentions(cell) or any(
        w in low for w in ("firmware", "version", "software", "app", "release", "版本", "固件")
    ):
        return "version"
    return ""


def _names_units(rows: list[Block]) -> bool:
    return any(
        component_mentions(r.cells[0]) or "firmware" in r.cells[0].lower() for r in rows
    ) or (len(rows) >= 2 and any(_role(r.cells[0]) == "version" for r in rows))


def _label(cell: str) -> str:
    return " ".join(cell.strip(" :*").split())


def _requirement(label: str, value: str, place: Place) -> Requirement | None:
    version, _ = read_value(value)
    if not version:
        return None
    return Requirement(
        component=component_of(label),
        name=label,
        comparison=Comparison.AT_LEAST,
        version=version,
        text=f"{label}: {value}",
        place=place,
    )


def _row_release(head: tuple[str, ...], row: Block, raw: Block) -> RowRelease:
    date: FoundDate | None = None
    version = unit = component = title = ""
    wanted: list[Requirement] = []
    texts: list[tuple[str, Block]] = []
    for label, cell in zip(head, row.cells, strict=False):
        role = _role(label)
        if role == "date":
            date = read_value(cell)[1] or date
        elif role == "version" and is_version_value(cell):
            found, day = read_value(cell)
            date = date or day
            if not version and found:
                version, title = found, f"{_label(label)} {cell}"
                bare = _label(label).lower() in (
                    "version",
                    "release",
                    "firmware",
                    "firmware version",
                )
                unit = "" if bare else _label(label)
                component = component_of(label)
            elif (asked := _requirement(_label(label), cell, row.place())) is not None:
                wanted.append(asked)
        elif role == "text" and cell:
            texts.append((raw.cells[head.index(label)], raw))
    status = headers.status_of(" ".join(row.cells)) if version else Status.RELEASED
    return RowRelease(
        title or " ".join(row.cells),
        headers.Header(unit, component, version, date, status),
        row.place(),
        tuple(wanted),
        tuple(texts),
        many=True,
    )


def _unit_rows(rows: list[Block]) -> RowRelease:
    """The aircraft's row (else the first with a version) is the release, the others its needs."""
    date = next((d for r in rows if (d := read_value(r.cells[1])[1])), None)
    versions = [r for r in rows if read_value(r.cells[1])[0]]
    place = Place(
        start=rows[0].start, end=rows[-1].end, line=rows[0].line, end_line=rows[-1].end_line
    )
    own = next((r for r in versions if component_of(r.cells[0]) == "aircraft"), None)
    own = own or (versions[0] if versions else None)
    if own is None:
        title = ": ".join(rows[0].cells[:2])
        return RowRelease(title, headers.Header("", "", "", date, Status.RELEASED), place, (), ())
    label, value = _label(own.cells[0]), own.cells[1]
    wanted = [
        _requirement(_label(r.cells[0]), r.cells[1], r.place()) for r in versions if r is not own
    ]
    bare = label.lower() in _BARE
    header = headers.Header(
        "" if bare else label,
        component_of(label),
        read_value(value)[0],
        date,
        headers.status_of(value),
    )
    asked = [_requirement(_label(r.cells[0]), r.cells[1], r.place()) for r in versions]
    return RowRelease(
        f"{label} {value}",
        header,
        place,
        tuple(r for r in wanted if r),
        (),
        asked=tuple(r for r in asked if r),
    )
