"""The operator's units, installed versions, jobs and needs; and what the kit room finds out."""

from __future__ import annotations

import datetime as dt
from typing import Literal

from triage.domain.base import Frozen
from triage.domain.notes import Requirement


class Unit(Frozen):
    """One physical or software thing with a version.

    `label` is the operator's own short name and unique in the kit (`battery-3`, `phone`).
    `component` is a vocabulary id; `name` the maker's name of the thing; `version` as the unit
    shows it, '' when unknown. `reversible` is None when the operator does not know.
    `functions` are function ids the operator relies on with this unit, beside the kit's.
    """

    label: str
    component: str
    name: str = ""
    version: str = ""
    reversible: bool | None = None
    functions: tuple[str, ...] = ()


class Job(Frozen):
    """A flight the operator has promised.

    `conditions` are ids of conditions.toml (cold, wind, mission...) that it will be flown in,
    `functions` the function ids without which it can't be flown.
    """

    day: dt.date
    what: str = ""
    conditions: tuple[str, ...] = ()
    functions: tuple[str, ...] = ()


class Kit(Frozen):
    """All units of an operator.

    `assumed` is true when no kit file exists and a default stands in for it.
    `functions` are vocabulary function ids the operator relies on with any unit; see
    `triage.kit.relied_on` for those of one unit.
    """

    units: tuple[Unit, ...]
    jobs: tuple[Job, ...] = ()
    needs: tuple[str, ...] = ()
    functions: tuple[str, ...] = ()
    assumed: bool = False


class Order(Frozen):
    """How two versions stand: -1 before, 0 the same, 1 after; None with the reason why not."""

    sign: Literal[-1, 0, 1] | None
    reason: str = ""


class Offer(Frozen):
    """A release a unit could move to.

    `release` and `covers` are indexes into the notes' releases. `covers` are all releases that
    come with the move, oldest first, the candidate itself last: their items count together.
    """

    release: int
    version: str
    covers: tuple[int, ...]


class Unplaced(Frozen):
    """A release that is offered to no unit, or not to this one, with the reason."""

    release: int
    reason: str


class UnitScope(Frozen):
    """What a document offers one unit, oldest first; () when nothing is newer than the installed.

    `labels` are all units this holds for: those alike in everything but their label. `installed`
    is the version as the unit shows it, that of the other unit for 'same as the aircraft'.
    `known` is false when it is not known or cannot be compared: then every release is offered.
    """

    unit: Unit
    labels: tuple[str, ...]
    installed: str
    known: bool
    offers: tuple[Offer, ...]
    unplaced: tuple[Unplaced, ...] = ()
    remarks: tuple[str, ...] = ()


class Scope(Frozen):
    """What a document offers the kit; `elsewhere` are releases for things not in the kit.

    `kit` is the kit used: where none was stated, one unit for each thing the document is for.
    """

    units: tuple[UnitScope, ...]
    elsewhere: tuple[Unplaced, ...] = ()
    remarks: tuple[str, ...] = ()
    kit: Kit


class Move(Frozen):
    """One unit's update within a plan.

    `step` counts from 1; moves with the same step belong together, in any order. `version` is ''
    when the maker states none: the newest offered. `release` is an index into the notes'
    releases, None when the document does not hold the release: its own notes are to be read too.
    `back` is true when the unit has to return to an earlier version.
    """

    unit: str
    step: int
    installed: str
    version: str
    release: int | None
    back: bool = False
    reason: str
    requirement: Requirement | None = None


class Unmet(Frozen):
    """A requirement that the plan cannot meet or cannot check, in plain words.

    `unit` is the label of the unit it is about, '' when no unit of the kit is.
    """

    unit: str
    reason: str
    requirement: Requirement


class KitPlan(Frozen):
    """All units of the notes that are advised to move, in one order.

    `left_behind` are units that stay and can no longer do what is said; `try_first` tells how to
    try the move on one unit before the rest, '' where the kit does not allow it.
    """

    moves: tuple[Move, ...]
    left_behind: tuple[Unmet, ...] = ()
    unchecked: tuple[Unmet, ...] = ()
    try_first: str = ""


class Plan(Frozen):
    """What moving one unit to one release takes across the kit.

    `blocks` keep the move from being made; `left_behind` are units that would no longer work with
    the rest; `unchecked` could not be judged (version unknown, not in the kit, cannot compare).
    """

    unit: str
    release: int
    moves: tuple[Move, ...]
    blocks: tuple[Unmet, ...] = ()
    left_behind: tuple[Unmet, ...] = ()
    unchecked: tuple[Unmet, ...] = ()

    @property
    def possible(self) -> bool:
        """Whether nothing blocks and no unit is left behind."""
        return not (self.blocks or self.left_behind)
