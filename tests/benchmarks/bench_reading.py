"""How well and how fast documents are read, on those kept out of all fitting.

Run with `PYTHONPATH=. .venv/bin/python tests/benchmarks/bench_reading.py [FOLDER]`; FOLDER holds
annotated documents of others. Prints recall and precision of items, instructions and known issues
(a text counts as found from a ratio of 85), versions and days, and statements a second.
"""

from __future__ import annotations

import re
import sys
import time
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from rapidfuzz import fuzz

from triage.reading.reader import read
from triage.reading.tools import shipped_tools
from triage.training.corpora import annotated
from triage.training.documents import Annotated
from triage.training.facts_fit import same_version
from triage.training.gold import gold_of
from triage.training.held_out import document_kept_out

_SAME = 85


def plain(text: str) -> str:
    """Lower-case words and digits alone."""
    return re.sub(r"[^a-z0-9]+", " ", text.lower()).strip()


def found(gold: Sequence[str], got: Sequence[str]) -> int:
    """How many of the texts have a twin, each used once, best pairs first."""
    scored = sorted(
        (
            (fuzz.ratio(plain(a), plain(b)), i, j)
            for i, a in enumerate(gold)
            for j, b in enumerate(got)
        ),
        reverse=True,
    )
    left: set[int] = set()
    right: set[int] = set()
    for ratio, i, j in scored:
        if ratio >= _SAME and i not in left and j not in right:
            left.add(i)
            right.add(j)
    return len(left)


def measure(documents: Sequence[Annotated]) -> Counter[str]:
    """Counts over all documents."""
    tools = shipped_tools()
    n: Counter[str] = Counter()
    for document in documents:
        gold: dict[str, Any] = gold_of(document)
        notes = read(document.text.encode("utf-8"), document.name, tools)
        for what, ours in (
            ("items", [i.text for r in notes.releases for i in r.items]),
            ("instructions", [i.text for r in notes.releases for i in r.instructions]),
            ("known_issues", [i.text for r in notes.releases for i in r.known_issues]),
        ):
            theirs = [x["text"] for r in gold["releases"] for x in r[what]]
            n[f"{what} gold"] += len(theirs)
            n[f"{what} said"] += len(ours)
            n[f"{what} found"] += found(theirs, ours)
        for release in gold["releases"]:
            twin = next(
                (r for r in notes.releases if same_version(r.version, release["version"])), None
            )
            n["versions gold"] += bool(release["version"])
            n["versions found"] += bool(release["version"]) and twin is not None
            n["days gold"] += bool(release["date"])
            day = twin.date.day if twin and twin.date else None
            n["days found"] += bool(day) and day.isoformat() == release["date"] if day else 0
        n["statements"] += sum(
            len(r.items) + len(r.instructions) + len(r.known_issues) for r in notes.releases
        ) + len(notes.aside)
    return n


def main() -> None:
    """Print the measures."""
    if len(sys.argv) > 1:
        documents = list(annotated(Path(sys.argv[1])))
    else:
        documents = [d for d in annotated() if document_kept_out(d.name, d.layout)]
    shipped_tools()
    begun = time.perf_counter()
    n = measure(documents)
    seconds = time.perf_counter() - begun
    print(f"{len(documents)} documents")
    for what in ("items", "instructions", "known_issues"):
        hit = n[f"{what} found"]
        recall, precision = hit / max(1, n[f"{what} gold"]), hit / max(1, n[f"{what} said"])
        print(f"{what}: recall {recall:.3f}, precision {precision:.3f}")
    print(
        f"versions {n['versions found']}/{n['versions gold']}, days {n['days found']}/{n['days gold']}"
    )
    print(f"{n['statements'] / seconds:.0f} statements/s read")


if __name__ == "__main__":
    main()
