"""A field report as an operator states it, with its words resolved and checked."""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple

from triage.domain.outcomes import Outcome
from triage.domain.reports import FieldReport, Seen
from triage.errors import ConfigError
from triage.kit.units import component_id, function_names


class Draft(NamedTuple):
    """What was stated; `component` in any words for it, `day` None for the day of recording."""

    version: str
    seen: Seen
    day: dt.date | None = None
    where: str = ""
    component: str = ""
    unit: str = ""
    users: int = 1
    function: str = ""
    words: str = ""
    flights: int = 1
    outcome: str = ""
    explained: str = ""


def resolved(draft: Draft, today: dt.date) -> FieldReport:
    """The report; ConfigError when a word names nothing known or the day lies ahead."""
    day = draft.day or today
    if not draft.version.strip():
        raise ConfigError("the version is empty", mend="state the release as the notes write it")
    if day > today:
        raise ConfigError(f"{day} lies ahead", mend="state the day on which it was seen")
    if draft.users < 1:
        raise ConfigError(f"{draft.users} users", mend="state 1 or more")
    component = component_id(draft.component) if draft.component else ""
    if draft.component and not component:
        raise ConfigError(f"'{draft.component}' is no component", mend="see: triage kit kinds")
    if draft.function and draft.function not in function_names():
        raise ConfigError(f"'{draft.function}' is no function", mend="see: triage kit use --list")
    outcomes = [one.value for one in Outcome if one is not Outcome.NONE]
    if draft.outcome and draft.outcome not in outcomes:
        known = ", ".join(outcomes)
        raise ConfigError(f"'{draft.outcome}' is no outcome", mend=f"take one of {known}")
    if draft.flights < 1:
        raise ConfigError(f"{draft.flights} flights", mend="state 1 or more")
    if draft.seen is Seen.CLEAN and (draft.outcome or draft.explained):
        raise ConfigError("a clean report has no outcome to state or explain", mend="leave it out")
    return FieldReport(
        day=day,
        where=draft.where.strip(),
        version=draft.version.strip(),
        component=component,
        unit=draft.unit.strip(),
        users=draft.users,
        seen=draft.seen,
        function=draft.function,
        words=draft.words.strip(),
        flights=draft.flights,
        outcome=Outcome(draft.outcome) if draft.outcome else None,
        explained=draft.explained.strip(),
    )
