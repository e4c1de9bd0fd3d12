"""Calibration and payoff of the certainty on simulated operators; see tests/advice/simulation.py.

Run: PYTHONPATH=. python tests/benchmarks/bench_decisions.py [worlds]. Prints the calibration plot
and exits with 1 where a share is off by more than .05 or the payoff is under .95.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.advice.simulation import calibration, payoff, simulate

WORLDS, OFF, LEAST, FEW = 2400, 0.05, 0.95, 100


def main() -> int:
    """Simulate, print, and say whether the figures hold."""
    worlds = simulate(int(sys.argv[1]) if len(sys.argv) > 1 else WORLDS)
    print(f"{len(worlds)} worlds; stated share, share right, worlds (bins under {FEW} not judged)")
    holds = True
    for stated, right, count in calibration(worlds, bins=10):
        line = [" "] * 51
        line[round(50 * stated)], line[round(50 * right)] = "|", "o"
        print(f"  {stated:.3f} {right:.3f} {count:5d}  {''.join(line)}")
        holds &= count < FEW or abs(stated - right) <= OFF
    stated = float(np.mean([w.share for w in worlds]))
    right = float(np.mean([w.right for w in worlds]))
    reached = payoff(worlds)
    print(f"  all   stated {stated:.3f}, right {right:.3f}; | stated, o right")
    print(f"  payoff {reached:.3f} of what knowing everything would reach")
    return 0 if holds and abs(stated - right) <= OFF and reached >= LEAST else 1


if __name__ == "__main__":
    sys.exit(main())
