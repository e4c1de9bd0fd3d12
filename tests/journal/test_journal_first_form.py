"""A journal exported in the first form of entries: every later version has to read it.

Where this fails, the form of an entry has changed: give the new one a higher `payload_version`, and
make `canon.read_entry` read the old one too. The file itself is never written anew.
"""

from __future__ import annotations

from pathlib import Path

from triage.domain.journal import Correction, DecisionOutcome, RecordedDecision, Review
from triage.journal.exchange import export_lines, import_lines
from triage.journal.history import cases
from triage.journal.learning import stats
from triage.journal.store import Journal
from triage.journal.verify import verify

FILE = Path(__file__).with_name("first-form.jsonl")


def test_the_first_form_is_read_for_good(in_file: Journal) -> None:
    with FILE.open("rb") as lines:
        assert import_lines(in_file, lines, FILE.name).entries == 4
    assert verify(in_file).fault is None
    payloads = [entry.record.payload for entry in in_file.entries()]
    assert [type(p) for p in payloads] == [RecordedDecision, DecisionOutcome, Review, Correction]
    assert "".join(export_lines(in_file)) == FILE.read_text()
    assert stats(cases(in_file)).decisions == 1 and len(in_file.search("frost", 5)) == 1
