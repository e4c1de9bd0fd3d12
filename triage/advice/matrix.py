"""The risk matrix of MIL-STD-882E: severity category and probability level to risk level."""

from __future__ import annotations

from triage.domain.policy import Level

SEVERITY = {1: "catastrophic", 2: "critical", 3: "marginal", 4: "negligible"}
LIKELIHOOD = {
    "A": "frequent",
    "B": "probable",
    "C": "occasional",
    "D": "remote",
    "E": "improbable",
}
"""Probability levels of Table II, most likely first; F (eliminated) has no risk."""

EDGES = (1e-1, 1e-2, 1e-3, 1e-6)
"""Lower edges of A to D (Table A-II, guidance of the standard); below the last is E."""

_ROWS = {"A": "HHSM", "B": "HHSM", "C": "HSML", "D": "SMML", "E": "MMML"}
_LETTER = {"H": Level.HIGH, "S": Level.SERIOUS, "M": Level.MEDIUM, "L": Level.LOW}
RANK = {level: rank for rank, level in enumerate(Level)}
"""Order of the risk levels, 0 the lowest."""


def band(chance: float) -> str:
    """The probability level, A to E, of a chance in [0, 1]."""
    return next((b for b, edge in zip("ABCD", EDGES, strict=True) if chance >= edge), "E")


def level(severity: int, probability: str) -> Level:
    """The risk level of a severity category 1-4 at a probability level A-E (Table III)."""
    return _LETTER[_ROWS[probability][severity - 1]]


RISK: dict[tuple[int, str], Level] = {
    (severity, probability): level(severity, probability)
    for probability in _ROWS
    for severity in SEVERITY
}


def allowed(severity: int, ceiling: Level) -> float:
    """The chance per flight below which a hazard of that category is at most at `ceiling`."""
    edges = zip((1.0, *EDGES), "ABCDE", strict=True)
    taken = [edge for edge, row in edges if RANK[RISK[severity, row]] <= RANK[ceiling]]
    return max(taken, default=0.0)
