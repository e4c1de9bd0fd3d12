"""What all candidates of one unit share, and the hazards that somebody states."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

from triage.advice import tables
from triage.advice.items_matrix import ItemsMatrix, Owner
from triage.domain.advice import Evidence, HazardKind, Pointer
from triage.domain.judged import JudgedNotes
from triage.domain.kit import Kit
from triage.domain.notes import StatedDate
from triage.domain.outcomes import Outcome

Needs = Mapping[str, Mapping[str, float]]


@dataclass(frozen=True)
class Stated:
    """A hazard of moving that somebody states.

    `chances` are those of the categories 1 to 4, `real` the chance that it is one at all, and
    `shows` the mean and `pseudo` the Beta parameters of its chance per flight; `weighs` is false
    for what is no harm in the air.
    """

    kind: HazardKind
    name: str
    outcome: Outcome
    function: str
    chances: tuple[float, float, float, float]
    real: float
    shows: float
    pointers: tuple[Pointer, ...] = ()
    evidence: str = ""
    weighs: bool = True
    trouble: float = 0.0
    clean: float = 0.0


@dataclass(frozen=True)
class Ground:
    """What all candidates of one unit share."""

    notes: JudgedNotes
    matrix: ItemsMatrix
    owner: Owner
    kit: Kit
    evidence: tuple[Evidence, ...]
    needs: Needs
    today: dt.date
    first_seen: dt.date | None
    prior: tables.PriorTable


def release_day(date: StatedDate | None, today: dt.date) -> dt.date | None:
    """The day a release came out; of two readings the later one that is not to come."""
    if date is None:
        return None
    readings = sorted(day for day in (date.day, date.or_else) if day is not None)
    past = [day for day in readings if day <= today]
    return past[-1] if past else (readings[0] if readings else None)


def one_category(severity: int) -> tuple[float, float, float, float]:
    """The chances of the categories 1 to 4 where one is certain."""
    found = [float(severity == one) for one in (1, 2, 3, 4)]
    return (found[0], found[1], found[2], found[3])
