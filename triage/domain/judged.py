"""An item with the classifier's judgement."""

from __future__ import annotations

from enum import StrEnum

from triage.domain.base import Frozen
from triage.domain.finds import Finds
from triage.domain.kinds import Kind
from triage.domain.notes import Item, Notes


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
    """One item with its judgements (one per kind, in the order of `Kind`) and finds.

    `release` is the index of its release in the notes.
    """

    item: Item
    release: int
    judgements: tuple[Judgement, ...]
    finds: Finds

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


class JudgedNotes(Frozen):
    """The notes with every item judged, and the digest of the model that judged."""

    notes: Notes
    items: tuple[JudgedItem, ...]
    model_sha256: str
