"""Seconds of an assessment: 30 releases, 1,000 items, 500 looks, 40 units, 2,000 draws.

Run: python tests/benchmarks/bench_advice.py. Prints figures and asserts nothing.
"""

from __future__ import annotations

import random
import statistics
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.advice import situations_made as making
from triage.advice import assess, presets, tables
from triage.domain.kit import Kit, Unit
from triage.reference.vocabulary import settings

RELEASES, ITEMS, LOOKS, UNITS = 30, 1000, 500, 40


def main() -> None:
    """Build one large situation and time it under each preset."""
    dice = random.Random(20260302)
    ids = [s.id for s in settings()]
    items = [
        making.item(
            ref=str(i),
            line=i,
            kinds=dice.choice(["F", "X", "XB", "FB", "C", "FC", "Fb", "x", ""]),
            text=f"Setting {dice.choice(ids)} now works in mode {i % 17} with {dice.choice(ids)}",
            settings=dice.sample(ids, dice.choice([0, 1, 1, 2])),
            often=dice.choice(["", "", "sometimes", "rarely"]),
            harm=dice.random() < 0.05,
            release=i * RELEASES // (ITEMS + 1),
        )
        for i in range(1, ITEMS + 1)
    ]
    releases = [making.release(f"1.{r}", days=10 * (RELEASES - r)) for r in range(RELEASES)]
    judged = making.notes(releases, items)
    scope = making.scope(judged)
    looks = [
        making.look(
            clean=dice.random() < 0.9,
            users=dice.randint(1, 40),
            function=dice.choice(["", *(f.id for f in tables.functions())]),
            release=dice.randrange(RELEASES),
            days_ago=dice.randrange(30),
        )
        for _ in range(LOOKS)
    ]
    kit = Kit(
        units=tuple(
            Unit(label=f"unit-{u}", component="aircraft", version="1.0") for u in range(UNITS)
        ),
        needs=("fly the same path again", "settings kept in mode 7", "video format"),
    )
    print(f"{RELEASES} releases, {ITEMS} items, {LOOKS} looks, {UNITS} units,", end=" ")
    print(f"{tables.priors().search.draws} draws")
    for name, preset in presets().items():
        seconds, busy = [], time.process_time()
        for _ in range(5):
            start = time.perf_counter()
            found = assess(judged, kit, scope, preset.policy, looks, today=making.DAY)
            seconds.append(time.perf_counter() - start)
        usual, busy = statistics.median(seconds[1:]), (time.process_time() - busy) / len(seconds)
        print(
            f"  {name:13} first {seconds[0]:.3f} s, then median {usual:.3f} s,"
            f" processor time {busy:.3f} s"
            f"  ({found.verdict.value}, {found.certainty.words} {found.certainty.share})"
        )


if __name__ == "__main__":
    main()
