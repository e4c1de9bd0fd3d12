"""The advice under several policies side by side, and where they part."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from triage.domain.advice import Assessment, Passed
from triage.domain.judged import JudgedNotes
from triage.domain.kit import UnitScope
from triage.render.note import verdict_words
from triage.render.outline import Outline, Paragraph, Point, Points, Section, Table


def policies_compared(
    judged: JudgedNotes, answers: Sequence[tuple[UnitScope, Mapping[str, Assessment]]]
) -> Outline:
    """One section a unit: a row a policy, then what sets them apart."""
    sections = [Section(title=f"{judged.notes.source.name}: the same notes, each policy", level=1)]
    for scope, by_policy in answers:
        rows = tuple(
            (name, verdict_words(a).lower(), a.until.isoformat() if a.until else "-", a.headline)
            for name, a in by_policy.items()
        )
        table = Table(head=("Policy", "Advice", "Until", "In short"), rows=rows)
        title = f"{scope.unit.name or scope.unit.component} ({', '.join(scope.labels)})"
        sections.append(Section(title=title, blocks=(table, *_parting(by_policy))))
    return tuple(sections)


def _parting(by_policy: Mapping[str, Assessment]) -> tuple[Paragraph | Points, ...]:
    """Conditions and hazards that not all policies see alike."""
    if len({a.verdict for a in by_policy.values()} | {a.until for a in by_policy.values()}) == 1:
        return (Paragraph(text="All policies agree."),)
    points = []
    for name, advice in by_policy.items():
        unmet = [g.name for g in advice.gates if g.passed is Passed.NO]
        refused = [h.name for h in advice.moving if not h.accepted]
        parts = []
        if unmet:
            parts.append("conditions not met: " + ", ".join(dict.fromkeys(unmet)))
        if refused:
            parts.append("risk above it: " + ", ".join(dict.fromkeys(refused)))
        points.append(Point(text=f"{name}: {'; '.join(parts) or 'nothing stands against moving'}"))
    return (Paragraph(text="Where they part:"), Points(points=tuple(points)))
