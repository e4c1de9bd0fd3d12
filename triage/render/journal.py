"""The journal as outlines: lists, one decision, reviews due, verifying and replaying."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence

from triage.domain.advice import Verdict
from triage.domain.journal import (
    Correction,
    Decision,
    DecisionOutcome,
    JournalEntry,
    RecordedDecision,
    Result,
    Updated,
)
from triage.domain.update_run import Summary
from triage.journal.record_update import moved
from triage.journal.replay import Replay
from triage.journal.verify import Verified
from triage.render.outline import Outline, Paragraph, Point, Points, Section, Table

RESULT = {Result.WELL: "went well", Result.PROBLEM: "problem"}
CHOICE = {Verdict.UPDATE: "update", Verdict.WAIT: "wait"}
_SHORT = 60


def listing(entries: Sequence[JournalEntry], title: str) -> Outline:
    """Entries one a line."""
    if not entries:
        return (_words(title, "None."),)
    rows = tuple(
        (str(e.seq), e.record.payload.day.isoformat(), e.record.payload.kind, _short(_gist(e)))
        for e in entries
    )
    return (Section(title=title, blocks=(Table(head=("Entry", "Day", "What", ""), rows=rows),)),)


def decision_shown(decision: JournalEntry, later: Sequence[JournalEntry]) -> Outline:
    """A decision with everything written about it since, or an update run without a decision."""
    kept = decision.record.payload
    if isinstance(kept, Updated):
        return _run_alone(decision, kept)
    assert isinstance(kept, RecordedDecision)
    head = Section(
        title=f"Entry {decision.seq}: {_gist(decision)}",
        blocks=(
            Paragraph(
                text=f"{kept.day.isoformat()}, {kept.source}"
                + (f", by {decision.record.pilot}" if decision.record.pilot else "")
                + f". Written {_moment(decision.record.at)}."
            ),
            Paragraph(text=_due(later[-1].record.payload.due if later else kept.due)),
        ),
        level=1,
    )
    sections = [head, *(_unit(kept, d) for d in kept.decisions)]
    nothing = [a for a in kept.advised if all(d.units != a.units for d in kept.decisions)]
    if nothing:
        labels = ", ".join(label for a in nothing for label in a.units)
        sections.append(_words("", f"Nothing to decide for: {labels}."))
    if later:
        points = tuple(Point(text=line) for entry in later for line in _later_lines(entry))
        sections.append(Section(title="Since then", blocks=(Points(points=points),)))
    for payload in (entry.record.payload for entry in later):
        if isinstance(payload, Updated):
            sections += _run(payload.summary)
    rests = (
        f"Policy {kept.policy.name}; {len(kept.kit.units)} units in the kit; "
        f"{len(kept.evidence)} reports counted of {len(kept.reports)} recorded.",
        f"Notes {kept.notes.sha256[:16]} ({kept.notes.size:,} bytes), model "
        f"{kept.model_sha256[:16]}, tool {kept.tool_version}.",
        f"Digest of the entry: {decision.digest}",
    )
    points = tuple(Point(text=text) for text in rests)
    sections.append(Section(title="It rests on", blocks=(Points(points=points),)))
    return tuple(sections)


def _run_alone(entry: JournalEntry, payload: Updated) -> Outline:
    by = f", by {entry.record.pilot}" if entry.record.pilot else ""
    text = (
        f"{payload.day.isoformat()}{by}. Written {_moment(entry.record.at)}. It follows no "
        "decision that was kept."
    )
    head = Section(
        title=f"Entry {entry.seq}: {_gist(entry)}", blocks=(Paragraph(text=text),), level=1
    )
    digest = Points(points=(Point(text=f"Digest of the entry: {entry.digest}"),))
    return (head, *_run(payload.summary), Section(title="", blocks=(digest,)))


def _run(over: Summary) -> list[Section]:
    from triage.render.update_run import summary

    return [section.model_copy(update={"level": 2}) for section in summary(over)]


def _unit(kept: RecordedDecision, decision: Decision) -> Section:
    advised = next(a for a in kept.advised if a.units == decision.units)
    did = "followed" if decision.choice is advised.verdict else "overruled"
    until = f" until {advised.until.isoformat()}" if advised.until else ""
    points = [
        f"Advice: {CHOICE[advised.verdict]}{until} (stays in {round(100 * advised.share)} of 100 "
        f"draws). {advised.headline}.",
        f"Decided: {CHOICE[decision.choice]}; the advice was {did}.",
        f"Reason: {decision.reason or 'none given'}",
    ]
    unit = f"{advised.name or advised.component} ({', '.join(decision.units)})"
    title = f"{unit}: {advised.installed or 'version not stated'} -> {advised.version}"
    return Section(title=title, blocks=(Points(points=tuple(Point(text=p) for p in points)),))


def _later_lines(entry: JournalEntry) -> Iterator[str]:
    payload = entry.record.payload
    replaced = getattr(payload, "corrects", None)
    mends = f" (replaces entry {replaced})" if replaced else ""
    yield f"{payload.day.isoformat()}, entry {entry.seq}, {payload.kind}{mends}: {_gist(entry)}"


def reviews_shown(
    entries: Sequence[tuple[JournalEntry, RecordedDecision]], today: dt.date
) -> Outline:
    """Reviews by date."""
    if not entries:
        return (_words("Reviews", "None is due."),)
    rows = []
    for entry, decision in entries:
        payload = entry.record.payload
        about = entry.seq if isinstance(payload, RecordedDecision) else payload.about
        assert payload.due is not None
        late = (today - payload.due).days
        when = f"{late} days late" if late > 0 else ("today" if not late else f"in {-late} days")
        rows.append((payload.due.isoformat(), when, str(about), _short(_decided(decision))))
    table = Table(head=("Review", "", "Decision", ""), rows=tuple(rows))
    return (Section(title="Reviews", blocks=(table,)),)


def verified_shown(result: Verified) -> Outline:
    """What verifying showed, and what it cannot show."""
    if result.fault is not None:
        text = f"Entry {result.fault.seq} {result.fault.what}."
        rest = f"Entries before it hold ({result.entries})."
        return (
            Section(
                title="NOT AS WRITTEN",
                blocks=(Paragraph(text=text, strong=True), Paragraph(text=rest)),
                level=1,
            ),
        )
    points = [f"{result.entries} entries, each as written and chained to the one before."]
    if result.entries:
        points.append(f"The end: {result.entries}:{result.digest}")
    if result.anchored is None:
        points.append("No end was remembered here, so a cut-off end would not show.")
    else:
        points.append(
            f"The end remembered beside the journal is entry {result.anchored}; entries cut off "
            "after it would not show."
        )
    points.append(
        "Who can write to the journal and to what remembers its end can rewrite both. Note the end "
        "elsewhere, and check it with: triage journal verify --end NUMBER:DIGEST"
    )
    block = Points(points=tuple(Point(text=p) for p in points))
    return (Section(title="The journal holds", blocks=(block,), level=1),)


def replay_shown(result: Replay) -> Outline:
    """Same, or what differs and why."""
    if result.same:
        text = "The stored inputs give the same advice today, to the last field."
        return (Section(title="SAME", blocks=(Paragraph(text=text),), level=1),)
    stands = all(unit.advice_stands for unit in result.units)
    word = "The advice stands; parts of it differ." if stands else "The advice differs."
    sections = [Section(title="DIFFERS", blocks=(Paragraph(text=word),), level=1)]
    for unit in result.units:
        if unit.fields:
            rows = tuple((name, _short(old), _short(new)) for name, old, new in unit.fields)
            table = Table(head=("What", "Then", "Now"), rows=rows)
            sections.append(Section(title=", ".join(unit.units), blocks=(table,)))
    for title, lines in (("Why", result.why), ("Items judged otherwise", result.items)):
        if lines:
            points = tuple(Point(text=f"{line[:1].upper()}{line[1:]}.") for line in lines)
            sections.append(Section(title=title, blocks=(Points(points=points),)))
    return tuple(sections)


def _gist(entry: JournalEntry) -> str:
    payload = entry.record.payload
    if isinstance(payload, RecordedDecision):
        return _decided(payload)
    if isinstance(payload, DecisionOutcome):
        parts = [RESULT[payload.result], payload.function]
        parts += [f"category {payload.severity}"] if payload.severity else []
        parts += ["went back"] if payload.went_back else []
        parts += [f"{payload.flights} flights"] if payload.flights is not None else []
        parts += [f"avoided: {payload.avoided}"] if payload.avoided else []
        told = ", ".join(part for part in [*parts, payload.words] if part)
    elif isinstance(payload, Correction):
        choices = ", ".join(f"{CHOICE[d.choice]} {', '.join(d.units)}" for d in payload.decisions)
        told = f"decided instead: {choices}" + (f" ({payload.words})" if payload.words else "")
    elif isinstance(payload, Updated):
        told = ran(payload.summary)
        if payload.about == entry.seq:
            return told
    else:
        told = payload.words or "looked at"
    return f"about {payload.about}: {told}"


def ran(over: Summary) -> str:
    """An update run in a line."""
    word = f"abandoned ({over.abandoned})" if over.abandoned else "finished"
    against = ", against the advice" if over.against else ""
    versions = f": {'; '.join(moved(over))}" if over.versions else ""
    return f"update to {over.title} {word}{against}{versions}"


def _decided(kept: RecordedDecision) -> str:
    parts = []
    for decision in kept.decisions:
        advised = next(a for a in kept.advised if a.units == decision.units)
        against = "" if decision.choice is advised.verdict else ", against the advice"
        release = f"{advised.name or advised.component} {advised.version}".strip()
        parts.append(f"{CHOICE[decision.choice]}, {release}{against}")
    return "; ".join(parts)


def _due(day: dt.date | None) -> str:
    return f"Review on {day.isoformat()}." if day else "No review is due."


def _moment(at: dt.datetime) -> str:
    return at.strftime("%Y-%m-%d %H:%M UTC")


def _short(text: str) -> str:
    line = " ".join(text.split())
    return line if len(line) <= _SHORT else f"{line[: _SHORT - 3].rstrip()}..."


def _words(title: str, text: str) -> Section:
    return Section(title=title, blocks=(Paragraph(text=text),))
