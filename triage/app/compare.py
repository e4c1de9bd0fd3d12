"""Use case: the same notes and inputs under each ready policy and the operator's own."""

from __future__ import annotations

from triage.advice import presets
from triage.app.assess import advise, prepare_moves
from triage.domain.advice import Assessment
from triage.domain.answer import Inputs
from triage.domain.judged import JudgedNotes
from triage.domain.kit import UnitScope


def compare_policies(
    judged: JudgedNotes, inputs: Inputs
) -> tuple[tuple[UnitScope, dict[str, Assessment]], ...]:
    """For each unit concerned the advice by policy name, the strictest preset first.

    The policy of `inputs` comes last, where it is no preset.
    """
    policies = {name: preset.policy for name, preset in presets().items()}
    own = inputs.policy
    if own not in policies.values():
        policies[own.name if own.name not in policies else "own"] = own
    prepared = prepare_moves(judged, inputs.kit, inputs.unit)
    found = {
        name: advise(judged, inputs._replace(policy=policy), prepared).units
        for name, policy in policies.items()
    }
    return tuple(
        (scope, {name: units[at].assessment for name, units in found.items()})
        for at, scope in enumerate(prepared.scope.units)
    )
