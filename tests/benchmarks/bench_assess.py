"""Cold start and throughput of the main job.

Run: python tests/benchmarks/bench_assess.py
Prints the bare import time of the libraries, `triage --help` and `triage demo` from cold start,
and items a second of reading, recognising and classifying a document of 10,000 items.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time

from triage.app.read import engine, read_and_judge

ITEMS = 10_000
TIMES = 5
START = "from triage.cli.main import main; main()"
LIBRARIES = "import spacy.lang.en, spacy.matcher, numpy, pydantic, typer, rapidfuzz, tomllib"
PLAIN = "import typer, pydantic"

SENTENCES = (
    "Fixed drift of the hover point beside metal roofs (#{n})",
    "Added map layer {n} to the planner",
    "Return to home climbs {n} m before it turns",
    "Needs the app in version 5.{n} or later",
    "PLAN_OPT_{n} renamed to PLAN_MODE_{n}",
    "The gimbal could tilt after {n} fast turns in a row",
    "Battery warning at {n} % sounds twice",
    "Kestra F{n} board support",
)


def seconds(code: str, *arguments: str) -> float:
    """The median wall time of a fresh interpreter, file cache warm."""
    taken = []
    for _ in range(TIMES):
        start = time.perf_counter()
        subprocess.run(
            [sys.executable, "-c", code, *arguments], check=True, stdout=subprocess.DEVNULL
        )
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def document(items: int) -> bytes:
    lines = [f"- {SENTENCES[n % len(SENTENCES)].format(n=n)}" for n in range(items)]
    return ("Quillmere Heron 2 9.9.0 (2026-11-01)\n\n" + "\n".join(lines) + "\n").encode()


def main() -> None:
    bare = seconds("pass")
    libraries = seconds(LIBRARIES)
    print(f"python alone                 {bare:6.3f} s")
    print(f"bare imports, libraries      {libraries:6.3f} s")
    print(f"bare imports, typer+pydantic {seconds(PLAIN):6.3f} s")
    print(f"triage --help                {seconds(START, '--help'):6.3f} s  (aim: under 0.3 s)")
    cold = seconds(START, "demo")
    ratio = cold / libraries
    print(f"triage demo, cold            {cold:6.3f} s  = {ratio:.2f} x libraries (aim: 1.3)")

    machine = engine()
    data = document(ITEMS)
    read_and_judge(document(50), "warm.txt", machine)
    start = time.perf_counter()
    judged = read_and_judge(data, "notes.txt", machine)
    taken = time.perf_counter() - start
    print(
        f"split and classify           {len(judged.items):,} items in {taken:.2f} s = "
        f"{len(judged.items) / taken:,.0f} items/s (aim: 5,000)"
    )


if __name__ == "__main__":
    main()
