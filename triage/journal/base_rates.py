"""The operator's own base rates, in the form from which the advice starts.

Of every update with an outcome, each function that its changes put at stake was flown as often as
the outcome states. Trouble in such a function counts against what opened its hazard, any other
against the changes that nobody named. The advice's prior Beta(a, n - a) meets k problems in m such
flights: its mean becomes (a + k) / (n + m). The shape a stays, and with it how soon reports
outweigh the prior: the own record tells where a new release is likely to stand, not how it will be.

The record is of updates that were chosen, so it may look better than releases are; that is why the
own priors are shown, and used only where asked for.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from triage.advice.tables import Prior, PriorTable
from triage.domain.advice import OwnRecord
from triage.domain.base import Frozen
from triage.domain.journal import Opener
from triage.journal.history import PastDecision
from triage.journal.journal_tables import learning
from triage.journal.share_interval import Share, share_of

UNNAMED = "unnamed"
_ORDER = (Opener.CHANGE, Opener.FIX, Opener.COMPATIBILITY)
_LEAST_FLIGHTS = 1.01  # a prior has to have more flights than 1, see `Prior`


class OwnRate(Frozen):
    """Problems in flights with what opens a hazard: change, compatibility, fix or unnamed."""

    opener: str
    problems: Share


@dataclass
class Tally:
    """Counts cases one at a time."""

    flights: dict[str, int] = field(default_factory=dict)
    problems: dict[str, int] = field(default_factory=dict)

    def take(self, case: PastDecision) -> None:
        """Count an update that was flown; a wait tells nothing of the release."""
        if not case.updated or not case.flights:
            return
        opened = case.advised.opened
        for opener, functions in opened.items():
            self._add(self.flights, opener, case.flights * len(functions))
        self._add(self.flights, UNNAMED, case.flights)
        for problem in case.problems:
            at = next((o for o in _ORDER if problem.function in opened.get(o, ())), UNNAMED)
            self._add(self.problems, at, 1)

    @staticmethod
    def _add(counts: dict[str, int], key: str, more: int) -> None:
        counts[key] = counts.get(key, 0) + more

    def rates(self) -> tuple[OwnRate, ...]:
        """A rate for each row of the advice's priors."""
        return tuple(
            OwnRate(
                opener=name,
                problems=share_of(
                    min(self.problems.get(name, 0), self.flights.get(name, 0)),
                    self.flights.get(name, 0),
                    learning().least_flights,
                ),
            )
            for name in (*(o.value for o in Opener), UNNAMED)
        )


def own_priors(rates: Iterable[OwnRate], shipped: PriorTable) -> PriorTable:
    """The advice's prior table with the own record in it; rows with too few flights stay."""
    rows = {}
    for rate in rates:
        prior: Prior = shipped.rows[rate.opener]
        k, m = rate.problems.hits, rate.problems.of
        told: dict[str, object] = {
            "own": OwnRecord(problems=k, flights=m, used=rate.problems.tells)
        }
        if rate.problems.tells:
            flights = shipped.shape * (prior.flights + m) / (shipped.shape + k)
            told |= {
                "flights": max(_LEAST_FLIGHTS, flights),
                "reason": f"{prior.reason} Own record: {k} problems in {m} flights.",
                "status": "own record over an assumption",
            }
        rows[rate.opener] = prior.model_copy(update=told)
    return shipped.model_copy(update=rows)


def flights_of(table: PriorTable) -> dict[str, float]:
    """The rows that the own record moved, as an entry keeps them."""
    rows = table.rows.items()
    return {name: row.flights for name, row in rows if row.own is not None and row.own.used}


def record_of(table: PriorTable) -> dict[str, OwnRecord]:
    """What the own record held for each row, whether it told or not."""
    return {name: row.own for name, row in table.rows.items() if row.own is not None}


def with_flights(
    shipped: PriorTable, kept: Mapping[str, float], record: Mapping[str, OwnRecord]
) -> PriorTable | None:
    """The prior table that an entry's advice started from; None for the shipped one."""
    if not kept and not record:
        return None
    rows = {}
    for name, row in shipped.rows.items():
        told: dict[str, object] = {"own": record.get(name)}
        if name in kept:
            told |= {
                "flights": kept[name],
                "reason": "Own record as kept.",
                "status": "own record",
            }
        rows[name] = row.model_copy(update=told)
    return shipped.model_copy(update=rows)
