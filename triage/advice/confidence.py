"""How sure: draws over all that is uncertain, and how far the nearest threshold is."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace

import numpy as np

from triage.advice import tables
from triage.advice.affected import affected
from triage.advice.chance import Noise, Outlook
from triage.advice.evaluation import Evaluation
from triage.advice.first_questions import QUESTIONS, Consequence, Facts
from triage.advice.gain import worth
from triage.advice.hazards import Case
from triage.advice.items_matrix import Bools, Floats, Kinds
from triage.advice.rule import Drawn, apply_rule
from triage.advice.words import count_of
from triage.domain.advice import Certainty, Sureness, Verdict
from triage.domain.policy import Policy

_FIRM, _LIKELY, _ALONE = 0.9, 0.75, 0.05
_OLDEST = 30.0  # days by which a release without a date may be older than taken


def seed(case: Case, policy: Policy, outlook: Outlook) -> int:
    """A seed made of all that weighs, so that the same inputs give the same draws."""
    total = hashlib.sha256(policy.model_dump_json().encode())
    for entry in case.entries:
        total.update(f"{entry.item.item.ref}\n".encode())
    rows = case.rows
    for array in (
        case.matrix.chance[:, rows],
        case.flight_map,
        case.matrix.defect_flight[rows],
        case.days,
        case.clean,
        outlook.shift,
    ):
        total.update(array.tobytes())
    return int.from_bytes(total.digest()[:16], "big")


def draw(case: Case, rng: np.random.Generator, draws: int) -> tuple[Kinds, Drawn]:
    """Readings of the notes, one a row: each kind, outcome, version and frequency by its chance."""
    doubt, rows = tables.priors().doubt, case.rows
    shape = (draws, rows.size)
    chance = case.matrix.chance[:, rows]
    kinds = Kinds(*(rng.random(shape, dtype=np.float32) < row for row in chance))
    by_flight, by_plain = (
        np.cumsum(table[rows], axis=1)
        for table in (case.matrix.defect_flight, case.matrix.defect_plain)
    )
    turn = rng.random(shape)[:, :, None]
    category = np.where(
        kinds.flight, (turn >= by_flight - 1e-9).sum(axis=2), (turn >= by_plain - 1e-9).sum(axis=2)
    )
    off = np.where(rng.random(shape) < doubt.severity_off, rng.choice([-1, 1], shape), 0)
    category = np.where(category < 4, np.clip(category + off, 0, 3), 4)
    spread = np.exp(rng.normal(0, np.log(doubt.chance_factor), shape))
    drawn = Drawn(
        present=rng.random(shape) < case.matrix.present[rows],
        category=category,
        chance=np.minimum(1.0, case.matrix.defect_chance[rows] * spread),
    )
    return kinds, drawn


def _noise(case: Case, rng: np.random.Generator, draws: int) -> Noise:
    doubt = tables.priors().doubt
    shape = (draws, len(case.stated))
    real = np.array([s.real for s in case.stated])
    shares = np.cumsum(np.array([s.chances for s in case.stated]).reshape(-1, 4), axis=1)
    return Noise(
        prior=np.exp(rng.normal(0, np.log(doubt.prior_factor), draws)),
        chance=np.exp(rng.normal(0, np.log(doubt.chance_factor), draws)),
        real=rng.random(shape) < real,
        category=(rng.random(shape)[:, :, None] >= shares[None] - 1e-9).sum(axis=2),
    )


@dataclass(frozen=True)
class _Assumed:
    """What was taken for granted, and how likely it is wrong."""

    text: str
    chance: float


def _taken(facts: Facts) -> _Assumed | None:
    """What was taken for granted of whose notes these are and which version is installed."""
    found = list(facts.case.release.assumed)
    if not facts.ground.owner.installed:
        found.append("the installed version is not known, and every release taken as newer")
    wrong = tables.priors().doubt.assumed
    return _Assumed("; ".join(found), 1 - (1 - wrong) ** len(found)) if found else None


def _stop_chance(facts: Facts) -> float:
    """The chance that the candidate is not to be installed: 1 unless only a notice says so."""
    certain = [q for q in QUESTIONS if q.effect is Consequence.STOPS and q.id != "withdrawn"]
    if any(q.test(facts) for q in certain) or facts.case.release.status.value == "withdrawn":
        return 1.0
    clear, release = 1.0, facts.case.release
    for under in facts.ground.notes.notes.releases:
        for notice in under.notices:
            named = affected(notice.versions, release.version)
            if notice.kind.against and (named or (under is release and not notice.versions)):
                clear *= 1 - notice.chance
    return 1 - clear


def certainty(found: Evaluation, rng: np.random.Generator | None = None) -> Certainty:
    """The share of draws that keep the verdict, words for it, and the nearest threshold."""
    matter, facts = found.matter, found.matter.facts
    case, policy = matter.case, matter.policy
    doubt, draws = tables.priors().doubt, tables.priors().search.draws
    rng = rng or np.random.Generator(np.random.PCG64(seed(case, policy, matter.outlook)))
    kinds, drawn = draw(case, rng, draws)
    noise = _noise(case, rng, draws)
    met = rng.random((draws, *matter.gains.need.shape)) < matter.gains.need
    gain = worth(matter.gains, kinds, np.asarray(met.any(axis=1)))
    stop = rng.random(draws) < _stop_chance(facts)
    standing = replace(matter.standing, stopped=False)

    def updates(older: Floats) -> Bools:
        at = replace(matter.outlook, shift=np.zeros(draws), older=older)
        ruling = apply_rule(case, standing, policy, kinds, at, gain, noise, drawn)
        return np.asarray(ruling.update & ~stop)

    plain = updates(np.zeros(draws))
    older = np.zeros(draws)
    if not case.days_known:
        older = rng.random(draws) * _OLDEST
    full = updates(older) if older.any() else plain
    taken = _taken(facts)
    if taken is not None:
        full = full & ~(rng.random(draws) < taken.chance)
    unread = facts.ground.notes.notes.not_understood * doubt.unread
    keeps = found.verdict is Verdict.UPDATE
    kept = (full == keeps) & ~(rng.random(draws) < unread)
    share, alone = float(kept.mean()), float((plain == keeps).mean())
    rests = ""
    if share < _FIRM and alone - share >= _ALONE:
        rests = _rests_on(taken, case, facts)
    return Certainty(
        words=Sureness.ASSUMED if rests else _words(share),
        share=round(share, 4),
        draws=draws,
        nearest=nearest(found),
        rests_on=rests,
    )


def _rests_on(taken: _Assumed | None, case: Case, facts: Facts) -> str:
    parts = [taken.text] if taken is not None else []
    if not case.days_known:
        parts.append("the day of the release is not known")
    if unread := facts.ground.notes.notes.not_understood:
        parts.append(f"{100 * unread:.0f} % of the text could not be read")
    return "; ".join(parts)


def _words(share: float) -> Sureness:
    if share >= _FIRM:
        return Sureness.FIRM
    return Sureness.LIKELY if share >= _LIKELY else Sureness.CLOSE


def nearest(found: Evaluation) -> str:
    """How far the nearest threshold is, in words; '' where nothing near would turn the advice."""
    if found.stopped:
        return ""
    ruling, policy = found.ruling, found.matter.policy
    near: list[tuple[float, str]] = []
    stay, move = float(ruling.staying.harm[0]), float(ruling.risks.harm[0])
    if bool(ruling.staying.serious[0] | ruling.staying.grounds[0]) and move > 0:
        times = max(stay, move) / max(min(stay, move), 1e-9)
        more, less = ("staying", "moving") if stay > move else ("moving", "staying")
        figure = f"{times:.1f}" if times < 3 else f"{times:.0f}" if times < 100 else "over 100"
        near.append((float(np.log(times)), f"{more} weighs {figure} times as much as {less}"))
    limit = 1 - policy.credible
    hidden = float(ruling.doubt[0])
    if hidden > 0.005 and not bool(ruling.presses[0]):
        apart = abs(float(np.log(max(hidden, 1e-9) / limit)))
        near.append(
            (apart, f"the chance of a hazard above your policy is {_percent(hidden)}, "
             f"and it allows {_percent(limit)}")
        )  # fmt: skip
    if found.wait_days:
        days = float(np.log1p(found.wait_days / 7))
        near.append((days, f"it turns by itself in {count_of(found.wait_days, 'day')}"))
    return min(near)[1] if near else ""


def _percent(share: float) -> str:
    return f"{100 * share:.0f} in 100" if share >= 0.01 else "under 1 in 100"
