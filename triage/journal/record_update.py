"""Update runs in the journal: written once however often they are handed over.

A run follows the newest decision before its end, by the same pilot, about its unit, that was made
on the same notes or for the same version.
"""

from __future__ import annotations

from collections.abc import Iterator

from triage.domain.advice import Verdict
from triage.domain.journal import Correction, JournalEntry, RecordedDecision, Updated
from triage.domain.update_run import RunPlan, Summary
from triage.journal.followups import add_later, in_force
from triage.journal.schema import entry
from triage.journal.store import Journal
from triage.journal.writer import Writer

KIND = "update"
_LOOKED_BACK = 1000  # decisions; a run follows its decision within weeks
_AT_ONCE = 50
_E = entry.c


def keep_update(journal: Journal, summary: Summary, pilot: str = "") -> JournalEntry:
    """Record a run that is over, on the disk before this returns; the entry it has, if it has one.

    StoreError when the entry could not be written.
    """
    with journal.writing() as writer:
        day = summary.finished.date()
        for kept in writer.entries(_E.kind == KIND, _E.day == day):
            if is_of(kept, summary):
                return kept
        about, due = writer.tail[0] + 1, None
        if decision := _decision(writer, summary, pilot):
            about = decision.seq
            due = writer.entries(_E.about == about, newest=True, limit=1)[0].record.payload.due
        payload = Updated(about=about, day=day, summary=summary, due=due)
        return writer.add(payload, {}, update_words(payload), pilot)


def is_of(kept: JournalEntry, summary: Summary) -> bool:
    """Whether an entry tells of that run; ids of runs count anew in every user folder."""
    payload = kept.record.payload
    return (
        isinstance(payload, Updated)
        and payload.summary.run == summary.run
        and payload.summary.started == summary.started
    )


def _decision(writer: Writer, summary: Summary, pilot: str) -> JournalEntry | None:
    for decision in _newest_decisions(writer):
        made = decision.record.payload
        if (
            isinstance(made, RecordedDecision)
            and decision.record.pilot == pilot
            and decision.record.at <= summary.finished
            and _carried_out(made, summary)
        ):
            return decision
    return None


def _carried_out(made: RecordedDecision, summary: Summary) -> bool:
    decided = [d.units for d in made.decisions if summary.unit in d.units]
    versions = [a.version for a in made.advised if a.units in decided]
    same_version = bool(summary.version) and summary.version in versions
    return bool(decided) and (made.notes.sha256 == summary.digests.notes or same_version)


def _newest_decisions(writer: Writer) -> Iterator[JournalEntry]:
    before = writer.tail[0] + 1
    for _ in range(_LOOKED_BACK // _AT_ONCE):
        wanted = (_E.kind == "decision", _E.seq < before)
        batch = writer.entries(*wanted, newest=True, limit=_AT_ONCE)
        yield from batch
        if len(batch) < _AT_ONCE:
            return
        before = batch[-1].seq


def decision_to_update(journal: Journal, plan: RunPlan, pilot: str = "") -> JournalEntry | None:
    """The decision that a run about to begin carries out: the newest of its units, if to update."""
    with journal.writing() as writer:
        for decision in _newest_decisions(writer):
            made = decision.record.payload
            if not isinstance(made, RecordedDecision) or decision.record.pilot != pilot:
                continue
            later = writer.entries(_E.about == decision.seq, _E.seq != decision.seq)
            about = [d for d in in_force(made, later) if plan.unit in d.units]
            if about and made.notes.sha256 == plan.digests.notes:
                return decision if all(d.choice is Verdict.UPDATE for d in about) else None
    return None


def take_back(journal: Journal, summary: Summary, entry: int, pilot: str = "") -> None:
    """Correct the decision that a run filed for itself, where it was given up and nothing moved."""
    payload = journal.entry(entry).record.payload
    about = getattr(payload, "about", entry)
    if about == entry:
        return
    made = journal.entry(about).record.payload
    words = f"update run {summary.run} begun"
    if not isinstance(made, RecordedDecision) or any(d.reason != words for d in made.decisions):
        return
    corrected = tuple(
        d.model_copy(update={"choice": Verdict.WAIT, "reason": f"given up: {summary.abandoned}"})
        for d in made.decisions
    )
    add_later(
        journal,
        Correction(
            about=about,
            day=summary.finished.date(),
            decisions=corrected,
            words=f"update run {summary.run} was given up before a unit moved",
        ),
        pilot,
    )


def updates(journal: Journal) -> Iterator[JournalEntry]:
    """All update runs in the order they were written, a batch at a time."""
    return journal.entries(kind=KIND)


def moved(summary: Summary) -> tuple[str, ...]:
    """The versions before and as read back, unit by unit."""
    return tuple(f"{c.unit} {c.before or 'not known'} -> {c.after}" for c in summary.versions)


def update_words(payload: Updated) -> str:
    """What an update run is found by."""
    over = payload.summary
    parts = [over.unit, over.title, over.version, *moved(over), *over.left, over.abandoned]
    parts += [*over.owed, *(f"{f.title}: {f.came} {f.words}".rstrip() for f in over.flights)]
    parts += [word for told in (*over.skipped, *over.failed) for word in (told.title, told.reason)]
    return "\n".join(parts)
