"""A look as an operator states it, with its words resolved and checked."""

from __future__ import annotations

import datetime as dt

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
    )
