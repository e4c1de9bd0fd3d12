"""Puts what the rule found into plain words: hazard rows, gates, and their evidence."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

import numpy as np

from triage.advice import matrix, tables
from triage.advice.change import Matter
from triage.advice.rule import Ruling, accepted, passed
from triage.advice.stakes import Kinds, Stake
from triage.advice.weigh import Case
from triage.domain.advice import Gate, Hazard, Passed, Pointer
from triage.domain.policy import Level, Policy

LIKELY = {
    "A": "frequent: 1 flight in 10 or more",
    "B": "probable: 1 flight in 100 to 1 in 10",
    "C": "occasional: 1 flight in 1,000 to 1 in 100",
    "D": "remote: under 1 flight in 1,000",
    "E": "improbable: under 1 flight in a million",
}
_LEVELS = tuple(Level)


def plural(count: float, one: str, many: str = "") -> str:
    """`3 changes`, `1 change`; figures with thousands separators."""
    figure = f"{count:,.0f}"
    return f"{figure} {one if count == 1 else many or one + 's'}"


def day_text(day: dt.date) -> str:
    """A date as a person writes it: 3 Feb 2026."""
    return f"{day.day} {day:%b %Y}"


def _pointers(stakes: Iterable[Stake]) -> tuple[Pointer, ...]:
    return tuple(stake.pointer for stake in stakes)


def moving_rows(matter: Matter, ruling: Ruling) -> tuple[Hazard, ...]:
    """The hazards of moving, worst first; the last column is what nobody named."""
    case, kinds = matter.case, matter.case.cautious
    order = sorted(
        np.flatnonzero(ruling.risks.present[0]),
        key=lambda k: (-ruling.risks.level[0, k], case.severity[k], -ruling.risks.chance[0, k], k),
    )
    return tuple(_moving_row(case, kinds, matter.policy, ruling, int(k)) for k in order)


def _moving_row(case: Case, kinds: Kinds, policy: Policy, ruling: Ruling, column: int) -> Hazard:
    severity, chance = int(case.severity[column]), float(ruling.risks.chance[0, column])
    level = _LEVELS[int(ruling.risks.level[0, column])]
    unnamed = column == case.severity.size - 1
    functions = tables.functions()
    if unnamed:
        id, name, outcome = "", "changes the notes leave out", "something nobody named may differ"
        stakes: list[Stake] = []
        unsure = 0
    else:
        function = functions[column // 2]
        id, name, outcome = function.id, function.name, function.outcome
        if column % 2:
            name += " (by working together)"
            rows = case.plain_map[:, column // 2] * kinds.compatibility[0] * ~kinds.flight[0]
        else:
            rows = case.flight_map[:, column // 2] * kinds.flight[0]
        stakes = [case.stakes[i] for i in np.flatnonzero(rows)]
        sure = case.strict.compatibility if column % 2 else case.strict.flight
        unsure = len(stakes) - int((rows * sure[0]).astype(bool).sum())
    return Hazard(
        function=id,
        name=name,
        outcome=outcome,
        severity=matrix.SEVERITY[severity],
        likelihood=LIKELY[matrix.band(chance)],
        level=level,
        evidence=_evidence(case, column, len(stakes), unsure),
        known=False,
        accepted=accepted(level, severity, policy),
        pointers=_pointers(stakes),
    )


def _evidence(case: Case, column: int, changes: int, unsure: int) -> str:
    doubt = f" ({unsure} unsure)" if unsure else ""
    parts = [plural(changes, "change") + doubt] if changes else []
    if case.days_known or case.days[column] > 0:
        parts.append(f"{plural(case.days[column], 'day')} out")
    clean, trouble = float(case.clean[column]), float(case.trouble[column])
    if clean:
        parts.append(plural(clean, "clean user"))
    if trouble:
        parts.append(f"trouble from {plural(trouble, 'user')}")
    if not clean and not trouble:
        parts.append("no looks")
    return ", ".join(parts)


def staying_rows(case: Case, policy: Policy) -> tuple[Hazard, ...]:
    """The known defects of the installed version, worst first, alike ones in one row."""
    kinds = case.cautious
    groups: dict[tuple[int, str, str], list[Stake]] = {}
    for row in np.flatnonzero(kinds.fix[0]):
        stake = case.stakes[row]
        found = stake.defect_severity(bool(kinds.flight[0, row]))
        if found is not None:
            key = (found[0], matrix.band(stake.defect_chance), found[1].id)
            groups.setdefault(key, []).append(stake)
    rows = []
    for (severity, band, id), stakes in groups.items():
        function = tables.function(id)
        level = matrix.RISK[severity, band]
        rows.append(
            Hazard(
                function=id,
                name=function.name if function else id,
                outcome=function.outcome if function else "",
                severity=matrix.SEVERITY[severity],
                likelihood=LIKELY[band],
                level=level,
                evidence=f"named in the notes: {plural(len(stakes), 'fix', 'fixes')}",
                known=True,
                accepted=accepted(level, severity, policy),
                pointers=_pointers(stakes),
            )
        )
    names = list(matrix.SEVERITY.values())
    rows.sort(key=lambda h: (-matrix.RANK[h.level], names.index(h.severity), h.likelihood, h.name))
    return tuple(rows)


def gate_rows(matter: Matter, ruling: Ruling, blocking: str) -> tuple[Gate, ...]:
    """Every gate, passed or not, and why."""
    case, policy = matter.case, matter.policy
    out = case.days[-1]
    grave = bool((ruling.risks.present[0, :-1] & (case.severity[:-1] <= 2)).any())
    least = policy.min_days_flight if grave else policy.min_days_other
    age = f"{plural(out, 'day')} out" if case.days_known else "date of release not known"
    clean = case.release_clean * policy.clean_weight
    jobs = sorted(d for d in matter.outlook.job_distance if d >= 0)
    next_job = f"next job in {plural(jobs[0], 'day')}" if jobs else "no job planned"
    back = {True: "there is a way back", False: "no way back", None: "way back not known"}
    if case.way_back is False:
        back[False] += f": asked for are {plural(policy.no_way_back_days, 'day')}, {age}"
    reported = (
        f"trouble reported by {plural(case.grave_trouble, 'user')}, "
        f"counted as {case.grave_trouble * policy.problem_weight:g}, against "
        f"{clean:g} counted clean"
        if case.grave_trouble
        else "no trouble recorded in a function that matters"
    )
    why = {
        "status": f"the maker calls it {case.release.status.value}",
        "days": f"{age}, at least {plural(least, 'day')} asked for",
        "looks": (
            f"{clean:g} clean users counted of {policy.min_clean_users}, "
            f"or {plural(policy.days_instead_of_looks, 'day')} without trouble"
            if grave
            else "asked for only where flight is touched"
        ),
        "trouble": reported,
        "job": f"{next_job}, {plural(policy.job_days, 'day')} kept free",
        "way-back": back[case.way_back],
    }
    rows = [
        Gate(
            id="possible",
            name="can be installed",
            passed=passed(not blocking),
            why=blocking or "nothing in the kit stands against it",
        )
    ]
    rows += [
        Gate(id=id, name=_GATES[id], passed=passed(bool(value[0])), why=why[id])
        for id, value in ruling.gates.items()
    ]
    rows += [
        Gate(id="needs", name="other units", passed=Passed.CHECK, why=problem.text)
        for problem in case.candidate.problems
        if not problem.blocks
    ]
    charge = f"at least {policy.min_charge} % in every unit, and power for the app's device"
    return (*rows, Gate(id="charge", name="charge", passed=Passed.CHECK, why=charge))


_GATES = {
    "status": "a final release",
    "days": "days since release",
    "looks": "watched enough",
    "trouble": "little trouble reported",
    "job": "no job close by",
    "way-back": "way back",
}


def do_not_fly(case: Case) -> tuple[Stake, ...]:
    """Fixes of a defect that can end in the loss of the aircraft, in words that name the harm."""
    fix = case.strict.fix[0]
    flight = case.cautious.flight[0]
    found = []
    for row in np.flatnonzero(fix & flight):
        severity = case.stakes[row].defect_severity(True)
        if severity is not None and severity[0] == 1:
            found.append(case.stakes[row])
    return tuple(found)
