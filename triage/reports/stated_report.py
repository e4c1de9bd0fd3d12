"""A look as an operator states it, with its words resolved and checked."""

from __future__ import annotations

import datetime as dt

from triage.domain.outcomes import Outcome
from triage.domain.reports import Look, Seen
from triage.errors import ConfigError
from triage.kit.units import component_id, function_names


def stated(
    version: str,
    seen: Seen,
    day: dt.date,
    *,
    today: dt.date,
    where: str = "",
    component: str = "",
    unit: str = "",
    users: int = 1,
    function: str = "",
    words: str = "",
    flights: int = 1,
    outcome: str = "",
    explained: str = "",
) -> Look:
    """Build a look; ConfigError when a word names nothing known or the day lies ahead."""
    if not version.strip():
        raise ConfigError("the version is empty", mend="state the release as the notes write it")
    if day > today:
        raise ConfigError(f"{day} lies ahead", mend="state the day on which you looked")
    if users < 1:
        raise ConfigError(f"{users} users", mend="state 1 or more")
    kind = component_id(component) if component else ""
    if component and not kind:
        raise ConfigError(f"'{component}' is no component", mend="see: triage kit kinds")
    if function and function not in function_names():
        raise ConfigError(f"'{function}' is no function", mend="see: triage kit use --list")
    known = [one.value for one in Outcome if one is not Outcome.NONE]
    if outcome and outcome not in known:
        raise ConfigError(f"'{outcome}' is no outcome", mend=f"take one of {', '.join(known)}")
    if flights < 1:
        raise ConfigError(f"{flights} flights", mend="state 1 or more")
    if seen is Seen.CLEAN and (outcome or explained):
        raise ConfigError("a clean report has no outcome to state or explain", mend="leave it out")
    return Look(
        day=day,
        where=where.strip(),
        version=version.strip(),
        component=kind,
        unit=unit.strip(),
        users=users,
        seen=seen,
        function=function,
        words=words.strip(),
        flights=flights,
        outcome=Outcome(outcome) if outcome else None,
        explained=explained.strip(),
    )
