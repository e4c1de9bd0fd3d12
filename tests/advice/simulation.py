"""Simulated operators: worlds whose truth is known, read with doubt, decided, and scored.

Assumptions, all invented: a release has 1 to 6 statements; the reader's chances of kind, outcome
and change are calibrated (the truth is drawn from them); a statement names its version in one of
four cases; a defect shows between half and double as often as its words say, and a prior is right
within the same factor, two times in three; one outcome in ten lies one category off; nobody has
reported anything. The right verdict of a world is what the rule says when all of this is known.
The harm of a choice is that of moving or of staying, in the weights of outcomes.toml.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.advice import situations_made as making
from triage.advice import presets, tables
from triage.advice.assess import Beside, ground_of
from triage.advice.chance import Noise
from triage.advice.confidence import certainty
from triage.advice.evaluation import evaluate
from triage.advice.first_questions import Facts
from triage.advice.gain import worth
from triage.advice.hazards import build
from triage.advice.items_matrix import Kinds
from triage.advice.rule import Drawn, apply_rule
from triage.domain.advice import Verdict
from triage.domain.judged import JudgedItem, Judgement, Standing
from triage.domain.kinds import Kind
from triage.domain.outcomes import Outcome, OutcomeChances

_OUTCOMES = [o for o in Outcome if o is not Outcome.NONE]
_SETTINGS = ["motor-esc", "gnss", "rth-behaviour", "gimbal", "video-osd", "battery-thresholds"]
_ORDER = (Kind.FLIGHT_BEHAVIOUR, Kind.COMPATIBILITY, Kind.FIX, Kind.FEATURE)
_WEIGHT = (0.35, 0.1, 0.55, 0.3)


@dataclass(frozen=True)
class World:
    """One simulated decision: the stated share, whether the verdict was right, and the harms."""

    share: float
    right: bool
    chosen: float
    best: float
    worst: float


def _judgement(dice: np.random.Generator, kind: Kind, weight: float) -> Judgement:
    held = dice.random() < weight
    chance = float(dice.beta(6, 1) if held else dice.beta(1, 6))
    standing = Standing.YES if chance > 0.6 else Standing.NO if chance < 0.2 else Standing.UNSURE
    if standing is Standing.NO:
        chance = 0.0  # what is ruled out is not drawn, and is not true
    return Judgement(kind=kind, chance=chance, standing=standing)


def _item(dice: np.random.Generator, ref: int) -> JudgedItem:
    made = making.item(
        ref=str(ref),
        kinds="",
        settings=[str(dice.choice(_SETTINGS))],
        often=str(dice.choice(["", "", "sometimes", "rarely"])),
        versions=[str(dice.choice(["1.3", "1.4"]))] if dice.random() < 0.25 else [],
        chance=float(dice.choice([1.0, 0.9, 0.7])),
    )
    first, second = dice.choice(len(_OUTCOMES), 2, replace=False)
    lead = float(dice.choice([0.98, 0.85, 0.6]))
    chances = ((_OUTCOMES[first], lead), (_OUTCOMES[second], 1 - lead))
    judged = {k: _judgement(dice, k, w) for k, w in zip(_ORDER, _WEIGHT, strict=True)}
    fixes = judged[Kind.FIX].standing
    return made.model_copy(
        update={
            "outcome": OutcomeChances(chances=chances, sure=fixes is Standing.YES),
            "judgements": tuple(judged[kind] for kind in Kind),
        }
    )


def _truth(dice: np.random.Generator, items: list[JudgedItem]) -> tuple[Kinds, Drawn]:
    """What holds in the world, drawn from the reader's own chances."""
    doubt, present = tables.priors().doubt, tables.priors().defect.present
    rows = []
    for item in items:
        kinds = [dice.random() < item.judgement(k).chance * item.item.chance for k in _ORDER]
        outcomes, chances = zip(*item.outcome.chances, strict=True)
        outcome = outcomes[int(dice.random() >= chances[0])]
        category = tables.severity_of(outcome) - 1
        if dice.random() < doubt.severity_off:
            category = int(np.clip(category + dice.choice([-1, 1]), 0, 3))
        has = dice.random() < present if not item.item.versions else item.item.versions == ("1.3",)
        often = {"": 0.002, "sometimes": 0.005, "rarely": 0.0005}[item.finds.frequency]
        shows = min(1.0, often * float(np.exp(dice.normal(0, np.log(doubt.chance_factor)))))
        rows.append((*kinds, has, category, shows))
    columns = list(zip(*rows, strict=True))
    true = Kinds(*(np.array([column], dtype=bool) for column in columns[:4]))
    drawn = Drawn(
        present=np.array([columns[4]], dtype=bool),
        category=np.array([columns[5]]),
        chance=np.array([columns[6]], dtype=float),
    )
    return true, drawn


def simulate(worlds: int, seed: int = 15) -> list[World]:
    """So many worlds; the same seed gives the same worlds."""
    dice = np.random.default_rng(seed)
    policies = [preset.policy for preset in presets().values()]
    found = []
    for _ in range(worlds):
        items = [_item(dice, ref) for ref in range(1, int(dice.integers(2, 8)))]
        judged = making.notes([making.release(items=items, days=int(dice.integers(0, 70)))], items)
        policy, scope, kit = policies[dice.integers(3)], making.scope(judged), making.kit()
        ground = ground_of(judged, kit, scope, (), making.DAY, Beside())
        facts = Facts(build(ground, scope[0]), ground, scope)
        read = evaluate(facts, policy)
        if not facts.case.entries:
            continue
        held = [entry.item for entry in facts.case.entries]
        kinds, drawn = _truth(dice, held)
        spread = np.exp(dice.normal(0, np.log(tables.priors().doubt.prior_factor), 1))
        empty = np.zeros((1, 0))
        noise = Noise(spread, np.ones(1), empty.astype(bool), empty.astype(int))
        matter = read.matter
        gain = worth(matter.gains, kinds, np.zeros((1, len(held)), bool))
        true = apply_rule(
            matter.case, matter.standing, policy, kinds, matter.outlook, gain, noise, drawn
        )
        moves = read.verdict is Verdict.UPDATE
        harms = float(true.staying.harm[0]), float(true.risks.harm[0])
        found.append(
            World(
                share=certainty(read).share,
                right=bool(true.update[0]) == moves,
                chosen=harms[int(moves)],
                best=min(harms),
                worst=max(harms),
            )
        )
    return found


def calibration(worlds: list[World], bins: int = 5) -> list[tuple[float, float, int]]:
    """Stated share, share that was right, and number of worlds, by equal bins of the former."""
    rows = []
    for at in range(bins):
        low, high = at / bins, (at + 1) / bins
        inside = [w for w in worlds if low <= w.share < high or (at == bins - 1 and w.share == 1)]
        if inside:
            stated = float(np.mean([w.share for w in inside]))
            right = float(np.mean([w.right for w in inside]))
            rows.append((stated, right, len(inside)))
    return rows


def payoff(worlds: list[World]) -> float:
    """Share of the harm avoided that knowing everything would have avoided."""
    worst, best = (sum(getattr(w, name) for w in worlds) for name in ("worst", "best"))
    return float((worst - sum(w.chosen for w in worlds)) / (worst - best))
