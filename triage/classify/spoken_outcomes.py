"""What can have happened by the words of a report."""

from __future__ import annotations

from collections.abc import Sequence

from triage.classify.encoder_file import shipped
from triage.classify.heads import Heads
from triage.classify.outcomes import outcome_chances
from triage.domain.outcomes import OutcomeChances


def outcomes_of(texts: Sequence[str]) -> list[OutcomeChances]:
    """The chances of the outcomes for each text, by the shipped encoder."""
    opened = shipped()
    heads = Heads(opened.manifest.targets)
    rows = opened.encoder.scores([(" : ", text) for text in texts])
    return [outcome_chances(heads.chances(row, "outcome")) for row in rows]
