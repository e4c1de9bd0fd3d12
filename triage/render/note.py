"""An assessment as the note an expert would leave: verdict, why, hazards, conditions, what next."""

from __future__ import annotations

from collections.abc import Sequence

from triage.domain.advice import (
    Assessment,
    Change,
    Gate,
    Hazard,
    Passed,
    Pointer,
    Reason,
    Verdict,
)
from triage.domain.judged import JudgedNotes
from triage.domain.kit import Plan, UnitScope
from triage.render.items import by_kind, release_title
from triage.render.outline import Outline, Paragraph, Point, Points, Section, Table

VERDICT = {Verdict.UPDATE: "UPDATE NOW", Verdict.WAIT: "WAIT AND WATCH"}
_FEW = 3  # pointers named before the rest is counted
_FEW_REFS = 4  # the same within a table
_HAZARDS = 3  # rows of a hazard table in a brief note before the milder ones are counted


def note(
    judged: JudgedNotes, scope: UnitScope, plan: Plan | None, advice: Assessment, *, brief: bool
) -> Outline:
    """The note for one group of units; `brief` leaves out items, the maker's words and cautions."""
    sections = [_head(judged, scope, advice), *_why(advice), *_hazards(advice, brief=brief)]
    sections += _gates(advice)
    sections += _candidates(judged, advice)
    sections += _section("What would change this", _changes(advice))
    sections += _plan(plan, scope)
    sections += _recheck(advice)
    if not brief:
        sections += _section("The maker tells you to", _told(advice))
        sections += _items(judged, advice)
        sections += _section("Assumed", _assumed(advice))
        sections += _section("Cautions", [Point(text=c.text) for c in advice.cautions])
    return tuple(sections)


def pointed(pointers: Sequence[Pointer]) -> str:
    """'item 3 (line 12), item 7 (line 31)', the rest counted."""
    if not pointers:
        return ""
    named = ", ".join(f"{p.ref} (line {p.line})" for p in pointers[:_FEW])
    more = f" and {len(pointers) - _FEW} more" if len(pointers) > _FEW else ""
    return f"item{'s' * (len(pointers) > 1)} {named}{more}"


def _head(judged: JudgedNotes, scope: UnitScope, advice: Assessment) -> Section:
    unit = scope.unit
    names = ", ".join(scope.labels)
    title = f"{VERDICT[advice.verdict]}: {unit.name or unit.component} ({names})"
    if unit.name in scope.labels or unit.label == unit.component:
        title = f"{VERDICT[advice.verdict]}: {unit.name or unit.label}"
    until = f" Until {advice.until.isoformat()}." if advice.until else ""
    installed = scope.installed or "version not stated"
    blocks = [
        Paragraph(text=f"{_sentence(advice.headline)}{until}"),
        Paragraph(
            text=f"How sure: {advice.certainty.words}; the advice stays the same in "
            f"{round(100 * advice.certainty.share)} of 100 draws over what is not known."
        ),
        Paragraph(
            text=f"Installed: {installed}. Policy: {advice.policy}. Day: {advice.day.isoformat()}."
        ),
    ]
    if advice.watch_for:
        blocks.append(Paragraph(text="Watch for: " + "; ".join(advice.watch_for) + "."))
    if advice.warning:
        source = pointed(advice.warning_pointers)
        text = f"{advice.warning} [{source}]" if source else advice.warning
        blocks.insert(0, Paragraph(text=text, strong=True))
    return Section(title=title, blocks=tuple(blocks), level=1)


def _section(title: str, points: Sequence[Point]) -> list[Section]:
    return [Section(title=title, blocks=(Points(points=tuple(points)),))] if points else []


def _why(advice: Assessment) -> list[Section]:
    points = tuple(_reason(reason) for reason in advice.reasons)
    return [Section(title="Why", blocks=(Points(points=points, numbered=True),))] if points else []


def _reason(reason: Reason) -> Point:
    return Point(text=_sentence(reason.text), source=pointed(reason.pointers))


def _hazards(advice: Assessment, *, brief: bool) -> list[Section]:
    sections = []
    for title, hazards in (("If you move", advice.moving), ("If you stay", advice.staying)):
        if not hazards:
            continue
        shown = hazards[: _HAZARDS if brief else None]
        table = Table(
            head=("What could happen", "Harm", "Likely", "Risk", "Items"),
            rows=tuple(_row(hazard) for hazard in shown),
        )
        said = dict.fromkeys(hazard.likelihood for hazard in shown)
        legend = "; ".join(said).replace(": ", " means ") + "."
        if len(hazards) > len(shown):
            legend += f" {len(hazards) - len(shown)} more of the same risk or milder."
        blocks: list[Table | Paragraph] = [table, Paragraph(text=_sentence(legend))]
        if not brief:
            evidence = "; ".join(f"{hazard.name}: {hazard.evidence}" for hazard in shown)
            blocks.append(Paragraph(text=f"Behind it: {evidence}."))
        sections.append(Section(title=title, blocks=tuple(blocks)))
    return sections


def _row(hazard: Hazard) -> tuple[str, ...]:
    risk = hazard.level.value if hazard.accepted else f"{hazard.level.value}, above your policy"
    refs = [p.ref for p in hazard.pointers]
    items = ", ".join(refs[:_FEW_REFS]) + (" ..." if len(refs) > _FEW_REFS else "")
    likely = hazard.likelihood.partition(":")[0]
    return (hazard.outcome, hazard.severity, likely, risk, items or "-")


def _gates(advice: Assessment) -> list[Section]:
    open_gates = [g for g in advice.gates if g.passed is not Passed.YES]
    points = [_gate(g) for g in sorted(open_gates, key=lambda g: g.passed is not Passed.NO)]
    passed = [g.name for g in advice.gates if g.passed is Passed.YES]
    if passed:
        points.append(Point(text="Met: " + ", ".join(dict.fromkeys(passed)) + "."))
    return _section("Conditions", points)


def _gate(gate: Gate) -> Point:
    word = {Passed.NO: "Not met", Passed.CHECK: "For you to check"}[gate.passed]
    return Point(text=f"{word}: {gate.name}: {gate.why}.")


def _candidates(judged: JudgedNotes, advice: Assessment) -> list[Section]:
    if len(advice.candidates) < 2:
        return []
    rows = tuple(
        (
            release_title(judged.notes.releases[c.release]),
            VERDICT[c.verdict].lower(),
            c.until.isoformat() if c.until else "-",
            c.because,
        )
        for c in advice.candidates
    )
    table = Table(head=("Release", "Advice", "Until", "Because"), rows=rows)
    return [Section(title="Each release you could move to", blocks=(table,))]


def _changes(advice: Assessment) -> list[Point]:
    return [_change(change) for change in (*advice.changes, *advice.unsure)]


def _change(change: Change) -> Point:
    return Point(text=_sentence(change.text), source=pointed(change.pointers))


def _plan(plan: Plan | None, scope: UnitScope) -> list[Section]:
    if plan is None or {move.unit for move in plan.moves} <= set(scope.labels):
        return []
    points = []
    for move in sorted(plan.moves, key=lambda m: m.step):
        back = "back to " if move.back else ""
        target = move.version or "the newest version"
        installed = f"{move.installed} -> " if move.installed else ""
        why = "" if move.unit in scope.labels else f": {move.reason}"
        line = (
            f"line {move.requirement.place.line}"
            if move.requirement and move.unit not in scope.labels
            else ""
        )
        points.append(
            Point(text=f"{move.step}. {move.unit}: {installed}{back}{target}{why}", source=line)
        )
    return _section("Units that move, in this order", points)


def _recheck(advice: Assessment) -> list[Section]:
    points = [
        Point(
            text=f"{r.name}: {r.how or r.why}"
            + (f" Recorded: {r.recorded}." if r.recorded else " Not recorded yet."),
            source=pointed(r.pointers),
        )
        for r in advice.recheck
    ]
    return _section("Settings to recheck", points)


def _told(advice: Assessment) -> list[Point]:
    told = (*advice.requirements, *advice.instructions)
    return [Point(text=t.text, source=f"{t.kind}, line {t.line}") for t in told]


def _items(judged: JudgedNotes, advice: Assessment) -> list[Section]:
    skipped = {p.ref for p in advice.not_weighed}
    refs = frozenset(i.item.ref for i in judged.items) - skipped
    sections = [Section(title="Items by kind"), *by_kind(judged, refs)]
    if skipped:
        line = "Items for units you do not own, shown but not weighed: "
        text = line + ", ".join(p.ref for p in advice.not_weighed) + "."
        sections.append(Section(title="", blocks=(Paragraph(text=text),)))
    return sections


def _assumed(advice: Assessment) -> list[Point]:
    return [Point(text=f"{_sentence(a.text)} Better: {a.mend}.") for a in advice.assumptions]


def _sentence(text: str) -> str:
    if not text:
        return text
    end = "" if text[-1] in ".!?" else "."
    return f"{text[0].upper()}{text[1:]}{end}"
