"""An assessment as the note an expert would leave: verdict, why, hazards, conditions, what next."""

from __future__ import annotations

from collections.abc import Sequence

from triage.domain.advice import (
    Assessment,
    Certainty,
    Change,
    Gate,
    Hazard,
    Passed,
    Pointer,
    Reason,
    Sureness,
    Verdict,
)
from triage.domain.finds import FoundBy
from triage.domain.judged import JudgedNotes
from triage.domain.kit import Plan, UnitScope
from triage.render.items import by_kind, release_title
from triage.render.outline import Outline, Paragraph, Point, Points, Section, Table

VERDICT = {Verdict.UPDATE: "UPDATE NOW", Verdict.WAIT: "WAIT AND WATCH"}
_NOTHING = "NOTHING TO DO"
_FEW = 3  # pointers named before the rest is counted
_CANDIDATES = 5  # rows of the newest releases in a brief note
_EVEN = 0.5
_NO_ITEM = ("notice", "release", "issue", "requirement")
_FEW_REFS = 4  # the same within a table
_HAZARDS = 3  # rows of a hazard table in a brief note before the milder ones are counted


def note(
    judged: JudgedNotes, scope: UnitScope, plan: Plan | None, advice: Assessment, *, brief: bool
) -> Outline:
    """The note for one group of units; `brief` leaves out items, the maker's words and cautions."""
    sections = [
        _head(judged, scope, advice, brief=brief),
        *_why(advice),
        *_section("First questions", _first(advice, brief=brief)),
        *_hazards(advice, brief=brief),
    ]
    sections += _gates(advice)
    sections += _candidates(judged, advice, brief=brief)
    sections += _section("What would change this", [*_changes(advice), *_waits(advice)])
    sections += _plan(plan, scope)
    sections += _recheck(judged, advice, brief=brief)
    if not brief:
        sections += _section("The maker tells you to", _told(advice))
        sections += _items(judged, advice)
        sections += _section("Assumed", _assumed(advice))
        sections += _section("Cautions", [Point(text=c.text) for c in advice.cautions])
    return tuple(sections)


def verdict_words(advice: Assessment) -> str:
    """The verdict in capitals; where there is nothing to move to, that."""
    return _NOTHING if advice.subject is None else VERDICT[advice.verdict]


def pointed(pointers: Sequence[Pointer]) -> str:
    """'item 3 (line 12), item 7 (line 31)', the rest counted."""
    if not pointers:
        return ""
    more = f" and {len(pointers) - _FEW} more" if len(pointers) > _FEW else ""
    lines = [p for p in pointers[:_FEW] if p.ref in _NO_ITEM]
    items = [p for p in pointers[:_FEW] if p.ref not in _NO_ITEM]
    parts = [f"line {p.line}" for p in lines]
    if items:
        named = ", ".join(f"{p.ref} (line {p.line})" for p in items)
        parts.insert(0, f"item{'s' * (len(items) > 1)} {named}")
    return ", ".join(parts) + more


def _watch(what: Sequence[str], few: int | None) -> str:
    more = f"; and {len(what) - few} more" if few and len(what) > few else ""
    return f"Watch for: {'; '.join(what[:few])}{more}."


def _head(judged: JudgedNotes, scope: UnitScope, advice: Assessment, *, brief: bool) -> Section:
    unit = scope.unit
    names = ", ".join(scope.labels)
    verdict = verdict_words(advice)
    title = f"{verdict}: {unit.name or unit.component} ({names})"
    if unit.name in scope.labels or unit.label == unit.component:
        title = f"{verdict}: {unit.name or unit.label}"
    said = " until " in advice.headline
    until = f" Until {advice.until.isoformat()}." if advice.until and not said else ""
    installed = scope.installed or "version not stated"
    lines = [
        f"{_sentence(advice.headline)}{until}",
        *([] if advice.subject is None else [how_sure(advice.certainty)]),
        f"Installed: {installed}. Policy: {advice.policy}. Day: {advice.day.isoformat()}.",
    ]
    if advice.due and advice.verdict is Verdict.WAIT:
        lines.append(f"Last good day before the deadline: {advice.due.isoformat()}.")
    if advice.try_first:
        lines.append(_sentence(advice.try_first))
    blocks = [Paragraph(text=line) for line in lines]
    if advice.watch_for:
        blocks.append(Paragraph(text=_watch(advice.watch_for, _FEW if brief else None)))
    if advice.warning:
        source = pointed(advice.warning_pointers)
        text = f"{advice.warning} [{source}]" if source else advice.warning
        blocks.insert(0, Paragraph(text=text, strong=True))
    return Section(title=title, blocks=tuple(blocks), level=1)


def how_sure(certainty: Certainty) -> str:
    """The certainty in a sentence: its word, the share where draws were made, what is nearest."""
    text = f"How sure: {certainty.words.value}"
    if certainty.rests_on:
        text += f": {certainty.rests_on}"
    if certainty.draws and certainty.share < _EVEN:
        text += ", decided by caution: read otherwise, it would more often turn than not"
    elif certainty.draws and certainty.words is not Sureness.FIRM:
        text += f" (in {round(100 * certainty.share)} of 100 cases it would be the same)"
    return f"{text}; {certainty.nearest}." if certainty.nearest else f"{text}."


def _first(advice: Assessment, *, brief: bool) -> list[Point]:
    """The first questions; in a brief note only those that decide or were answered by the notes."""
    shown = [a for a in advice.first if a.decides or a.pointers] if brief else advice.first
    return [
        Point(text=f"{a.asks} {_sentence(a.answer)}", source=pointed(a.pointers)) for a in shown
    ]


def _waits(advice: Assessment) -> list[Point]:
    return [
        Point(text=f"Waiting until {w.day.isoformat()} buys {w.buys}: {w.text}.")
        for w in advice.waits
    ]


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
    unmet = [_gate(g) for g in advice.gates if g.passed is Passed.NO]
    asked: dict[str, list[Gate]] = {}
    for gate in advice.gates:
        if gate.passed is Passed.CHECK:
            asked.setdefault(gate.name, []).append(gate)
    points = [*unmet, *(_asked(gates) for gates in asked.values())]
    passed = [g.name for g in advice.gates if g.passed is Passed.YES]
    if passed:
        points.append(Point(text="Met: " + ", ".join(dict.fromkeys(passed)) + "."))
    return _section("Conditions", points)


def _asked(gates: Sequence[Gate]) -> Point:
    """Gates of one name as one point."""
    why = "; ".join(dict.fromkeys(gate.why for gate in gates))
    return Point(text=f"For you to check: {gates[0].name}: {why}.")


def _gate(gate: Gate) -> Point:
    return Point(text=f"Not met: {gate.name}: {gate.why}.")


def _candidates(judged: JudgedNotes, advice: Assessment, *, brief: bool) -> list[Section]:
    if len(advice.candidates) < 2:
        return []
    rows = tuple(
        (
            release_title(judged.notes.releases[c.release]),
            VERDICT[c.verdict].lower(),
            c.until.isoformat() if c.until else "-",
            c.because,
        )
        for c in advice.candidates[-_CANDIDATES if brief else None :]
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
    alike: dict[tuple[int, str, str, bool, int | None], list[str]] = {}
    for move in plan.moves:
        line = move.requirement.place.line if move.requirement else None
        key = (move.step, move.installed, move.version, move.back, line)
        alike.setdefault(key, []).append(move.unit)
    points = []
    for (step, installed, version, back, line), units in sorted(
        alike.items(), key=lambda entry: entry[0][0]
    ):
        target = f"{'back to ' if back else ''}{version or 'the newest version'}"
        text = f"{step}. {', '.join(units)}: {installed or 'version not stated'} -> {target}"
        source = "" if line is None or units[0] in scope.labels else f"line {line}"
        points.append(Point(text=text, source=source))
    return _section("Units that move, in this order", points)


def _recheck(judged: JudgedNotes, advice: Assessment, *, brief: bool) -> list[Section]:
    named = _named_settings(judged)
    guess = {
        r.setting: not any((p.ref, r.setting) in named for p in r.pointers) for r in advice.recheck
    }
    if brief and advice.recheck:
        words = [
            f"{'perhaps ' * guess[r.setting]}{r.name}{f' ({r.recorded})' * bool(r.recorded)}"
            for r in advice.recheck
        ]
        return [
            Section(title="Settings to recheck", blocks=(Paragraph(text=", ".join(words) + "."),))
        ]
    points = [
        Point(
            text=f"{r.name}: {r.how or r.why}"
            + (f" Recorded: {r.recorded}." if r.recorded else " Not recorded yet.")
            + " The notes do not name it; it is read from what they say." * guess[r.setting],
            source=pointed(r.pointers),
        )
        for r in advice.recheck
    ]
    return _section("Settings to recheck", points)


def _named_settings(judged: JudgedNotes) -> set[tuple[str, str]]:
    """Items and the settings that they or their headings name in words."""
    return {
        (item.item.ref, find.id)
        for item in judged.items
        for find in item.finds.settings
        if find.by is not FoundBy.MODEL
    }


def _told(advice: Assessment) -> list[Point]:
    told = (*advice.requirements, *advice.instructions)
    return [Point(text=t.text, source=f"{t.kind}, line {t.line}") for t in told]


def _items(judged: JudgedNotes, advice: Assessment) -> list[Section]:
    sections = [Section(title="Items by kind"), *by_kind(judged)]
    unweighed = [Point(text=u.text, source=f"{u.why}, line {u.line}") for u in advice.not_weighed]
    return [*sections, *_section("Read, and not weighed", unweighed)]


def _assumed(advice: Assessment) -> list[Point]:
    return [Point(text=f"{_sentence(a.text)} Better: {a.mend}.") for a in advice.assumptions]


def _sentence(text: str) -> str:
    if not text:
        return text
    end = "" if text[-1] in ".!?" else "."
    return f"{text[0].upper()}{text[1:]}{end}"
