"""An item with the classifier's judgement."""

from __future__ import annotations

from enum import StrEnum

from triage.domain.base import Frozen
from triage.domain.finds import Finds
from triage.domain.kinds import Kind
from triage.domain.notes import Item, KnownIssue, Notes, Notice
from triage.domain.outcomes import OutcomeChances


class Standing(StrEnum):
    """What may be said of one kind of one item."""

    YES = "yes"
    NO = "no"
    UNSURE = "unsure"


class Judgement(Frozen):
    """The calibrated chance that the item is of the kind, and what follows from it.

    `settled` is true when the operator has corrected it; `chance` is then 0 or 1.
    """

    kind: Kind
    chance: float
    standing: Standing
    settled: bool = False


class JudgedItem(Frozen):
    """One item with its judgements (one per kind, in the order of `Kind`), finds and outcome.

    `release` is the index of its release in the notes.
    """

    item: Item
    release: int
    judgements: tuple[Judgement, ...]
    finds: Finds
    outcome: OutcomeChances = OutcomeChances()

    def judgement(self, kind: Kind) -> Judgement:
        """The judgement of one kind."""
        return next(j for j in self.judgements if j.kind is kind)

    @property
    def kinds(self) -> tuple[Kind, ...]:
        """The kinds the item is held to be of."""
        return tuple(j.kind for j in self.judgements if j.standing is Standing.YES)

    @property
    def unsure(self) -> tuple[Kind, ...]:
        """The kinds the classifier does not decide."""
        return tuple(j.kind for j in self.judgements if j.standing is Standing.UNSURE)


class JudgedIssue(Frozen):
    """A known issue, or a word against a release, with what can happen by it.

    `release` is the index of its release in the notes.
    """

    issue: KnownIssue | Notice
    release: int
    finds: Finds
    outcome: OutcomeChances


class JudgedNotes(Frozen):
    """The notes with every item judged, and the digest of the model that judged."""

    notes: Notes
    items: tuple[JudgedItem, ...]
    issues: tuple[JudgedIssue, ...] = ()
    model_sha256: str
