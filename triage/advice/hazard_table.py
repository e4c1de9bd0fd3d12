"""The hazards of moving and of staying as rows in plain words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from triage.advice import matrix, tables
from triage.advice.chance import Risks
from triage.advice.ground import Stated
from triage.advice.hazards import Case
from triage.advice.items_matrix import Entry, Kinds
from triage.advice.rule import Ruling, accepted
from triage.advice.what_if import Matter
from triage.advice.words import count_of, in_series
from triage.domain.advice import Hazard, HazardKind, Pointer
from triage.domain.outcomes import Outcome
from triage.domain.policy import Level, Policy

LIKELY = {
    "A": "frequent: 1 flight in 10 or more",
    "B": "probable: 1 flight in 100 to 1 in 10",
    "C": "occasional: 1 flight in 1,000 to 1 in 100",
    "D": "remote: under 1 flight in 1,000",
    "E": "improbable: under 1 flight in a million",
}
_LEVELS = tuple(Level)


def _pointers(entries: Iterable[Entry]) -> tuple[Pointer, ...]:
    return tuple(entry.pointer for entry in entries)


def moving_rows(matter: Matter, ruling: Ruling) -> tuple[Hazard, ...]:
    """The hazards of moving, worst first; what somebody states before what a change may bring."""
    case, policy, risks = matter.case, matter.policy, ruling.risks
    rows = [_stated_row(s, risks, at, policy) for at, s in enumerate(risks.stated)]
    columns = np.flatnonzero(risks.present[0])
    rows += [_change_row(case, case.cautious, policy, risks, int(k)) for k in columns]
    return tuple(sorted(rows, key=_gravest))


def _gravest(row: Hazard) -> tuple[int, int, bool, float, str]:
    names = list(matrix.SEVERITY.values())
    return (
        -matrix.RANK[row.level],
        names.index(row.severity),
        not row.known,
        -row.chance,
        row.name,
    )


def _shown(chance: float, shares: Sequence[float]) -> tuple[int, float]:
    """The gravest category at the row's level, and the chance per flight of it or worse."""
    worse = np.cumsum(np.array(shares))
    found = [
        (matrix.RANK[matrix.RISK[severity, matrix.band(chance * total)]], -severity)
        for severity, total in enumerate(worse, start=1)
        if shares[severity - 1] > 0
    ]
    severity = -max(found)[1] if found else 4
    return severity, chance * float(worse[severity - 1])


def _stated_row(stated: Stated, risks: Risks, at: int, policy: Policy) -> Hazard:
    severity, chance = _shown(float(risks.stated_chance[0, at]), stated.chances)
    level = _LEVELS[int(risks.stated_level[0, at])]
    return Hazard(
        kind=stated.kind,
        chance=chance,
        function=stated.function,
        name=stated.name,
        outcome=tables.outcome_row(stated.outcome).name,
        severity=matrix.SEVERITY[severity],
        likelihood=LIKELY[matrix.band(chance)],
        level=level,
        evidence=stated.evidence,
        known=stated.kind in (HazardKind.KNOWN_ISSUE, HazardKind.REPORTED, HazardKind.LOST),
        accepted=accepted(level, severity, policy),
        pointers=stated.pointers,
    )


def _change_row(case: Case, kinds: Kinds, policy: Policy, risks: Risks, column: int) -> Hazard:
    severity, chance = _shown(float(risks.chance[0, column]), case.split[column].tolist())
    level = _LEVELS[int(risks.level[0, column])]
    kind = HazardKind.WORKING_TOGETHER if column % 2 else HazardKind.CHANGE
    entries: list[Entry] = []
    unsure = 0
    if column == case.severity.size - 1:
        kind, id, name = HazardKind.UNNAMED, "", "changes the notes leave out"
        outcome = "something nobody named may differ"
    else:
        function = tables.functions()[column // 2]
        id, name, outcome = function.id, function.name, function.outcome
        if column % 2:
            name += " (by working together)"
            rows = case.plain_map[:, column // 2] * kinds.compatibility[0] * ~kinds.flight[0]
        else:
            rows = case.flight_map[:, column // 2] * kinds.flight[0]
        entries = [case.entries[i] for i in np.flatnonzero(rows)]
        sure = case.strict.compatibility if column % 2 else case.strict.flight
        unsure = len(entries) - int((rows * sure[0]).astype(bool).sum())
    return Hazard(
        kind=kind,
        chance=chance,
        function=id,
        name=name,
        outcome=outcome,
        severity=matrix.SEVERITY[severity],
        likelihood=LIKELY[matrix.band(chance)],
        level=level,
        evidence=_evidence(case, column, len(entries), unsure),
        known=False,
        accepted=accepted(level, int(case.severity[column]), policy),
        pointers=_pointers(entries),
    )


def _evidence(case: Case, column: int, changes: int, unsure: int) -> str:
    doubt = f" ({unsure} unsure)" if unsure else ""
    parts = [count_of(changes, "change") + doubt] if changes else []
    if case.days_known or case.days[column] > 0:
        parts.append(f"{count_of(case.days[column], 'day')} out")
    if clean := float(case.clean[column]):
        parts.append(count_of(clean, "clean flight"))
    else:
        parts.append("no clean reports")
    return ", ".join(parts)


def staying_rows(case: Case, policy: Policy) -> tuple[Hazard, ...]:
    """The known defects of the installed version, worst first, alike ones in one row."""
    kinds = case.cautious
    groups: dict[tuple[int, str, Outcome], list[tuple[Entry, tables.Function]]] = {}
    for row in np.flatnonzero(kinds.fix[0]) if case.entries else ():
        entry, flight = case.entries[row], bool(kinds.flight[0, row])
        severity, function = entry.severity(flight), entry.function(flight)
        if severity is None or function is None or not entry.present:
            continue
        band = matrix.band(entry.chance * entry.present)
        key = (severity, band, entry.outcomes[0 if flight else 1])
        groups.setdefault(key, []).append((entry, function))
    rows = [_defect_row(*key, found, policy) for key, found in groups.items()]
    return tuple(sorted(rows, key=_gravest))


def _defect_row(
    severity: int,
    band: str,
    outcome: Outcome,
    found: Sequence[tuple[Entry, tables.Function]],
    policy: Policy,
) -> Hazard:
    level = matrix.RISK[severity, band]
    functions = list(dict.fromkeys(function for _, function in found))
    worst = min(functions, key=lambda f: f.severity)
    return Hazard(
        kind=HazardKind.DEFECT,
        chance=max(e.chance * e.present for e, _ in found),
        function=worst.id,
        name=in_series([f.name for f in functions]),
        outcome=tables.outcome_row(outcome).name,
        severity=matrix.SEVERITY[severity],
        likelihood=LIKELY[band],
        level=level,
        evidence=f"named in the notes: {count_of(len(found), 'fix', 'fixes')}",
        known=True,
        accepted=accepted(level, severity, policy),
        pointers=_pointers(entry for entry, _ in found),
    )
