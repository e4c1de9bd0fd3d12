"""How sure: draws over the classifier's calibrated chances and over the posteriors."""

from __future__ import annotations

import hashlib

import numpy as np

from triage.advice import tables
from triage.advice.gain import Gains, worth
from triage.advice.risk import Outlook
from triage.advice.rule import judge
from triage.advice.stakes import Kinds
from triage.advice.weigh import Case
from triage.domain.advice import Certainty, Verdict
from triage.domain.policy import Policy

_WORDS = ((0.9, "firm"), (0.75, "fairly firm"), (0.5, "a close call"))
_LEANING = {
    Verdict.WAIT: "precaution: the draws more often allow the move than not",
    Verdict.UPDATE: "lenient: the draws more often advise against the move than not",
}


def seed(case: Case, policy: Policy, outlook: Outlook) -> int:
    """A seed made of all that weighs, so that the same inputs give the same draws."""
    total = hashlib.sha256(policy.model_dump_json().encode())
    for stake in case.stakes:
        total.update(f"{stake.item.item.ref}\n".encode())
    for array in (case.chance, case.flight_map, case.plain_map, case.stay_flight):
        total.update(array.tobytes())
    for evidence in (case.days, case.clean, case.trouble, outlook.shift):
        total.update(evidence.tobytes())
    return int.from_bytes(total.digest()[:16], "big")


def draw(case: Case, rng: np.random.Generator, draws: int) -> Kinds:
    """Readings of the notes, one a row, each kind of each item drawn by its chance."""
    return Kinds(*(rng.random((draws, row.size), dtype=np.float32) < row for row in case.chance))


def certainty(
    case: Case, policy: Policy, outlook: Outlook, found: Gains, verdict: Verdict
) -> Certainty:
    """The share of draws that keep `verdict`, and words for it."""
    draws = tables.priors().search.draws
    rng = np.random.Generator(np.random.PCG64(seed(case, policy, outlook)))
    kinds = draw(case, rng, draws)
    ruling = judge(case, policy, kinds, outlook, worth(found, kinds), rng=rng)
    kept = ruling.update if verdict is Verdict.UPDATE else ~ruling.update
    share = float(kept.mean())
    words = next((w for least, w in _WORDS if share >= least), _LEANING[verdict])
    return Certainty(words=words, share=round(share, 4), draws=draws)
