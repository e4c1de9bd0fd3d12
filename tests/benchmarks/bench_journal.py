"""How the journal grows: keep, list, search, due, verify and stats at 1,000 to 100,000 entries.

    python tests/benchmarks/bench_journal.py [ENTRIES ...]

Prints milliseconds, the peak of Python's memory and their ratio to the smallest journal. The base
is written in batches; the single keeps are timed on top of it. TRIAGE_BENCH_POSTGRES names an empty
database to measure on a server instead.
"""

from __future__ import annotations

import datetime as dt
import os
import random
import resource
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.journal import making
from triage.domain.journal import Result
from triage.journal.exchange import export_lines
from triage.journal.history import cases
from triage.journal.learning import stats
from triage.journal.record_decision import decision_words
from triage.journal.store import Journal, open_journal
from triage.journal.verify import verify

SIZES = (1_000, 10_000, 100_000)
WORDS = [
    "roof",
    "frost",
    "landing",
    "gutter",
    "slate",
    "goggles",
    "picture",
    "battery",
    "wind",
    "link",
    "hover",
    "chapel",
]
BATCH = 2_000


def fill(journal: Journal, until: int, chance: random.Random) -> None:
    """Two decisions in three entries, one outcome; notes shared by fifty decisions each."""
    while (last := journal.tail()[0]) < until:
        with journal.writing() as writer:
            for n in range(last + 1, min(last + BATCH, until) + 1):
                day = making.DAY + dt.timedelta(days=n // 50)
                if n % 3 == 0:
                    result = Result.PROBLEM if n % 7 == 0 else Result.WELL
                    payload = making.outcome(
                        n - 1, result, words=" ".join(chance.choices(WORDS, k=4))
                    )
                    writer.add(payload, {}, payload.words, "")
                    continue
                notes = f"Release {n // 50}\n- the {WORDS[n // 50 % len(WORDS)]} of it"
                kept, attachments = making.kept(
                    " ".join(chance.choices(WORDS, k=6)),
                    brief=making.advised(share=chance.uniform(0.4, 1)),
                    day=day,
                    due=day + dt.timedelta(days=14),
                    notes=notes,
                )
                writer.add(kept, attachments, decision_words(kept, None), "")


def timed(work: Callable[[], object], times: int) -> float:
    """The median of some runs, in milliseconds."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        taken.append(1000 * (time.perf_counter() - start))
    return statistics.median(taken)


def measures(journal: Journal) -> dict[str, float]:
    """Milliseconds of each command's work."""
    last = journal.tail()[0]
    middle = making.DAY + dt.timedelta(days=last // 100)
    return {
        "keep": timed(lambda: making.add(journal, "one more"), 20),
        "list 20": timed(lambda: journal.newest(limit=20), 20),
        "show": timed(lambda: journal.about(last // 2), 20),
        "search rare": timed(lambda: journal.search("zebra", 20), 20),
        "search common": timed(lambda: journal.search("roof frost", 20), 20),
        "due 20": timed(lambda: journal.due(middle, 20), 20),
        "verify": timed(lambda: verify(journal), 1),
        "stats": timed(lambda: stats(cases(journal)), 1),
        "export": timed(lambda: sum(map(len, export_lines(journal))), 1),
    }


def main(sizes: tuple[int, ...]) -> None:
    chance = random.Random(1)
    with tempfile.TemporaryDirectory() as folder:
        os.environ["TRIAGE_HOME"] = folder
        where = os.environ.get("TRIAGE_BENCH_POSTGRES") or str(Path(folder) / "journal.sqlite")
        journal = open_journal(where, create=True)
        first: dict[str, float] = {}
        for size in sizes:
            start = time.perf_counter()
            fill(journal, size, chance)
            built = time.perf_counter() - start
            file = Path(folder) / "journal.sqlite"
            megabytes = file.stat().st_size / 1e6 if file.exists() else 0
            found = measures(journal)
            found["peak MB (process)"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            first = first or found
            print(f"\n{size:,} entries (base in {built:.0f} s, file {megabytes:.0f} MB)")
            for name, value in found.items():
                print(f"  {name:<18} {value:>10.1f}   x {value / first[name]:.1f}")


if __name__ == "__main__":
    main(tuple(int(size) for size in sys.argv[1:]) or SIZES)
