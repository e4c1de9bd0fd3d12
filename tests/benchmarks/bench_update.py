"""What update day costs: imports, conversions, an acknowledged step, a comparison.

Run: python tests/benchmarks/bench_update.py. Prints figures and asserts nothing.
"""

from __future__ import annotations

import datetime as dt
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from triage.domain.snapshots import Foretold, Origin, Snapshot  # noqa: E402
from triage.settings.comparison import compare_snapshots  # noqa: E402
from triage.settings.entries import entries_from  # noqa: E402
from triage.settings.pasted_text import Pair  # noqa: E402
from triage.settings.snapshots import keep_snapshot  # noqa: E402

SETTINGS, LINES, SNAPSHOTS = 300, 200, 100


def main() -> None:
    """Time each part."""
    bare = started("pass")
    for words in ("triage.update.run_log", "pint"):
        print(f"import {words}: {1000 * (started(f'import {words}') - bare):.0f} ms")
    before, after = snapshot("Setting"), snapshot("Settings")
    told = [Foretold(line=n, text=f"Setting number {n} is better now.") for n in range(LINES)]
    print(
        f"first comparison: {1000 * timed(lambda: compare_snapshots(before, after, told)):.0f} ms"
    )
    print(
        f"{SETTINGS} settings all renamed, {LINES} statements: "
        f"{1000 * timed(lambda: compare_snapshots(before, after, told)):.0f} ms"
    )
    with tempfile.TemporaryDirectory() as folder:
        os.environ["TRIAGE_HOME"] = folder
        taken = timed(lambda: [keep_snapshot(before) for _ in range(SNAPSHOTS)])
        print(f"a snapshot kept, {SNAPSHOTS} in a row: {1000 * taken / SNAPSHOTS:.1f} ms each")


def snapshot(called: str) -> Snapshot:
    """Many settings that the vocabulary does not know."""
    pairs = [Pair(f"{called} number {n}", f"{n} m", n) for n in range(1, SETTINGS + 1)]
    return Snapshot(
        unit="heron",
        taken=dt.datetime.now(dt.UTC),
        origin=Origin.FILE,
        entries=entries_from(pairs).entries,
    )


def timed(work: Callable[[], object]) -> float:
    """Seconds."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def started(code: str) -> float:
    """Seconds of a whole process, the best of three."""
    return min(
        timed(lambda: subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=True))
        for _ in range(3)
    )


if __name__ == "__main__":
    main()
