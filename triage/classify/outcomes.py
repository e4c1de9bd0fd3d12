"""What can happen by a statement: the chances of the outcomes, and whether they are decided."""

from __future__ import annotations

from collections.abc import Mapping

from triage.domain.outcomes import Outcome, OutcomeChances

_LEFT_OUT = 0.01
# Chosen on statements kept out: a grave outcome is missed rarely, as missing one costs most.
_GRAVE_FROM = 0.08
_SURE_FROM = 0.6
GRAVE = (
    Outcome.FALLS,
    Outcome.FLIES_AWAY,
    Outcome.MOTORS,
    Outcome.FIRE,
    Outcome.RETURN_FAILS,
    Outcome.HITS_OBSTACLE,
)


def outcome_chances(chances: Mapping[str, float]) -> OutcomeChances:
    """The outcomes by the encoder's chances, gravest first.

    Not sure where none is likely, and where a grave one is possible beside a likelier one.
    """
    if not chances:
        return OutcomeChances()
    first = max(chances, key=lambda name: chances[name])
    grave = sum(chances.get(o.value, 0.0) for o in GRAVE)
    doubtful = first not in GRAVE and grave >= _GRAVE_FROM
    return OutcomeChances(
        chances=tuple(
            (outcome, round(chances[outcome.value], 3))
            for outcome in Outcome
            if chances.get(outcome.value, 0.0) >= _LEFT_OUT
        ),
        sure=chances[first] >= _SURE_FROM and not doubtful,
    )
