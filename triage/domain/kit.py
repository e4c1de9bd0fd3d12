"""The operator's units, installed versions, jobs and needs."""

from __future__ import annotations

import datetime as dt

from triage.domain.base import Frozen


class Unit(Frozen):
    """One physical or software thing with a version.

    `label` is the operator's own short name and unique in the kit (`battery-3`, `phone`).
    `component` is a vocabulary id; `name` the maker's name of the thing; `version` as the unit
    shows it, '' when unknown. `reversible` is None when the operator does not know.
    """

    label: str
    component: str
    name: str = ""
    version: str = ""
    reversible: bool | None = None
    functions: tuple[str, ...] = ()


class Job(Frozen):
    """A flight the operator has promised."""

    day: dt.date
    what: str = ""


class Kit(Frozen):
    """All units of an operator.

    `assumed` is true when no kit file exists and a default stands in for it.
    `functions` are vocabulary function ids the operator relies on; () means not stated, so all.
    """

    units: tuple[Unit, ...]
    jobs: tuple[Job, ...] = ()
    needs: tuple[str, ...] = ()
    functions: tuple[str, ...] = ()
    assumed: bool = False
