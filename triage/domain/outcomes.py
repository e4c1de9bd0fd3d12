"""What can happen in the air or on the ground: the outcomes a defect can have."""

from __future__ import annotations

from enum import StrEnum

from triage.domain.base import Frozen


class Outcome(StrEnum):
    """The worst that a statement says or plainly means, gravest first; NONE names no defect."""

    FALLS = "falls"
    FLIES_AWAY = "flies-away"
    MOTORS = "motors"
    FIRE = "fire"
    RETURN_FAILS = "return-fails"
    HITS_OBSTACLE = "hits-obstacle"
    COMES_DOWN = "comes-down"
    LINK_LOST = "link-lost"
    DEGRADED = "degraded"
    WRONG_VALUE = "wrong-value"
    NO_TAKEOFF = "no-takeoff"
    PICTURE_LOST = "picture-lost"
    DATA_LOST = "data-lost"
    NUISANCE = "nuisance"
    NONE = "none"


class OutcomeChances(Frozen):
    """Calibrated chances of the outcomes, gravest first, those under .01 left out.

    They sum to about 1; `first` is the likeliest. `sure` is false where the model does not decide.
    """

    chances: tuple[tuple[Outcome, float], ...] = ((Outcome.NONE, 1.0),)
    sure: bool = True

    @property
    def first(self) -> Outcome:
        """The likeliest outcome."""
        return max(self.chances, key=lambda pair: pair[1])[0]

    def chance(self, outcome: Outcome) -> float:
        """The chance of one outcome, in [0, 1]."""
        return dict(self.chances).get(outcome, 0.0)
