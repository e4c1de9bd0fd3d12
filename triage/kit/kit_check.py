"""What in a kit keeps advice from being as good as it could be."""

from __future__ import annotations

import datetime as dt
from collections import Counter

from triage.domain.kit import Kit
from triage.kit.units import component_name, installed


def kit_remarks(kit: Kit, today: dt.date) -> tuple[str, ...]:
    """Remarks in plain words, each with its mend; () when nothing is missing."""
    if kit.assumed:
        return (
            "no kit is stated: one aircraft of unknown version is assumed, and every release "
            "counts as new; state yours with: triage kit add",
        )
    remarks = [] if kit.units else ["the kit holds no unit; add one with: triage kit add"]
    alike = Counter(unit.component for unit in kit.units if not unit.name)
    for unit in kit.units:
        _, why = installed(kit, unit)
        if why:
            remarks.append(
                f"{unit.label}: {why}, so every release counts as new; read it off the unit and "
                f"state it with: triage kit set '{unit.label}' --version"
            )
        if unit.reversible is None:
            remarks.append(
                f"{unit.label}: whether it can go back is not stated, so no longer wait is asked "
                "for where there is none; ask the maker and state it with: triage kit set "
                f"'{unit.label}' --back yes"
            )
        if not unit.name and alike[unit.component] < len(
            [u for u in kit.units if u.component == unit.component]
        ):
            remarks.append(
                f"{unit.label}: the maker's name is not stated, though there are several of the "
                f"kind '{component_name(unit.component)}'; state it with: triage kit set "
                f"'{unit.label}' --name"
            )
    remarks += [
        f"the job of {job.day} is over; take it out with: triage kit job {job.day} --remove"
        for job in kit.jobs
        if job.day < today
    ]
    if kit.units and not (kit.functions or any(unit.functions for unit in kit.units)):
        remarks.append(
            "no function is stated, so all are taken to be relied on; state yours with: "
            "triage kit use"
        )
    return tuple(remarks)
