"""Items and releases while they are read, and how they become the frozen ones."""

from __future__ import annotations

from dataclasses import dataclass, field

from triage.domain.notes import Item, Place, Release, Requirement, StatedDate, Status
from triage.notes.headers import Header
from triage.notes.instructions import instructions_in
from triage.notes.lean import lean
from triage.notes.requirements import requirements_in

_NOWHERE = Place(start=0, end=0, line=1, end_line=1)
_NO_HEADER = Header("", "", "", None, Status.RELEASED)


@dataclass(slots=True)
class ItemDraft:
    """An item before it is numbered: cleaned text, heading path, level, and its places."""

    text: str
    heading: tuple[str, ...]
    level: int
    places: list[Place]


@dataclass(slots=True)
class ReleaseDraft:
    """A release while it is read."""

    title: str = ""
    header: Header = _NO_HEADER
    place: Place = _NOWHERE
    level: str = ""
    items: list[ItemDraft] = field(default_factory=list)
    requirements: list[Requirement] = field(default_factory=list)
    asides: list[tuple[str, Place]] = field(default_factory=list)
    plain: bool = False

    @property
    def empty(self) -> bool:
        """Whether nothing was told of the release so far."""
        return not self.items


def finish_release(
    draft: ReleaseDraft, date: StatedDate | None, source: str, first_ref: int
) -> Release:
    """Number the items from `first_ref` and freeze the release."""
    items = tuple(
        lean(
            Item(
                ref=str(first_ref + number),
                text=item.text,
                original=source[item.places[0].start : item.places[0].end],
                places=tuple(item.places),
                heading=item.heading,
                level=item.level,
            )
        )
        for number, item in enumerate(draft.items)
    )
    said = [*draft.asides, *((item.text, item.places[0]) for item in draft.items)]
    component, unit = draft.header.component, draft.header.unit
    wanted, orders = list(draft.requirements), []
    for text, place in said:
        wanted += requirements_in(text, place, component=component, unit=unit)
        orders += instructions_in(text, place)
    return Release(
        title=draft.title,
        component=component,
        unit=unit,
        version=draft.header.version,
        date=date,
        status=draft.header.status,
        items=items,
        requirements=tuple(wanted),
        instructions=tuple(orders),
        place=draft.place,
    )
