"""Reviews that are due as an iCalendar file (RFC 5545), for any calendar to take in."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Iterable

from icalendar import Alarm, Calendar, Event

from triage import __version__
from triage.domain.journal import JournalEntry, RecordedDecision

_SPACE = uuid.UUID("5f1d6a52-6c3b-5b53-9d3e-0f0a5d7f4a11")  # any; tells these from other UIDs
_MORNING = dt.timedelta(hours=9)


def to_ical(
    journal_id: str, due: Iterable[tuple[JournalEntry, RecordedDecision]], *, names: bool = True
) -> bytes:
    """An all-day event for each entry that asks for a review of the decision beside it.

    The same decision keeps its UID, so that taking a newer file in moves the event.
    """
    calendar = Calendar()
    calendar.add("prodid", f"-//triage//decision journal {__version__}//EN")
    calendar.add("version", "2.0")
    for entry, decision in due:
        calendar.add_component(_event(journal_id, entry, decision, names))
    return bytes(calendar.to_ical())


def _event(journal_id: str, entry: JournalEntry, decision: RecordedDecision, names: bool) -> Event:
    payload = entry.record.payload
    about = entry.seq if isinstance(payload, RecordedDecision) else payload.about
    assert payload.due is not None
    event = Event()
    event.add("uid", str(uuid.uuid5(_SPACE, f"{journal_id}/{about}")))
    event.add("dtstamp", entry.record.at)
    event.add("dtstart", payload.due)
    event.add("dtend", payload.due + dt.timedelta(days=1))
    event.add("sequence", entry.seq)
    event.add("transp", "TRANSPARENT")
    event.add("class", "PRIVATE")
    event.add("summary", f"Review decision {about}" + (f": {_subject(decision)}" if names else ""))
    event.add(
        "description",
        f"Look at how it went, then: triage journal outcome {about}, or: triage journal review "
        f"{about}. The maker's manual and your local rules decide.",
    )
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", f"Review decision {about}")
    alarm.add("trigger", _MORNING)
    event.add_component(alarm)
    return event


def _subject(decision: RecordedDecision) -> str:
    parts = []
    for made in decision.decisions:
        advised = next(a for a in decision.advised if a.units == made.units)
        unit = advised.name or ", ".join(made.units)
        parts.append(f"{made.choice.value} {unit} {advised.version}".strip())
    return "; ".join(parts)
