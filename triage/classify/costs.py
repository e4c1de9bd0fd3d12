"""From a calibrated chance to yes, no or unsure, by stated costs."""

from __future__ import annotations

from functools import cache

from pydantic import Field

from triage.domain.base import Frozen
from triage.domain.judged import Standing
from triage.domain.kinds import Kind
from triage.reference.loader import load_table


class Cost(Frozen):
    """Costs of one kind, in units of one needless recheck."""

    kind: Kind
    missed: float = Field(gt=0)
    mistaken: float = Field(gt=0)
    asking: float = Field(ge=0)
    reason: str

    @property
    def threshold(self) -> float:
        """The chance from which YES is cheaper than NO, were asking not possible."""
        return self.mistaken / (self.mistaken + self.missed)

    @property
    def yes_from(self) -> float:
        """The chance from which the item is said to be of the kind, asking being possible."""
        return max(self.threshold, 1 - self.asking / self.mistaken)

    def standing(self, chance: float) -> Standing:
        """The cheapest of yes, no and asking."""
        if_yes, if_no = (1 - chance) * self.mistaken, chance * self.missed
        if self.asking < min(if_yes, if_no):
            return Standing.UNSURE
        return Standing.YES if if_yes <= if_no else Standing.NO


class Costs(Frozen):
    """The file costs.toml."""

    cost: tuple[Cost, ...]


@cache
def costs() -> dict[Kind, Cost]:
    """The costs of each kind."""
    return {cost.kind: cost for cost in load_table("costs.toml", Costs).cost}
