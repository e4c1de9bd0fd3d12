"""How well and how fast notes are read: boundaries, headers, dates, requirements, speed, memory.

Run: python tests/benchmarks/bench_notes.py [folder of real notes]
The folder holds the documents named in tests/data/notes/item-starts.json; their text is not kept.
"""

from __future__ import annotations

import json
import os
import random
import resource
import sys
import time
from collections import Counter
from contextlib import suppress
from pathlib import Path

from triage.domain.notes import Notes, Place, SourceFormat
from triage.errors import TriageError
from triage.notes import read, read_text
from triage.notes.requirements import requirements_in

DATA = Path(__file__).parents[1] / "data" / "notes"
NOWHERE = Place(start=0, end=0, line=1, end_line=1)


def boundaries(folder: Path) -> None:
    """Precision and recall of item starts, headers and dates, per document."""
    truth = json.loads((DATA / "item-starts.json").read_text(encoding="utf-8"))
    print(
        f"{'document':42} {'items':>5} {'precision':>9} {'recall':>7} {'headers':>9} {'dates':>7}"
    )
    for name, labels in truth.items():
        if not (folder / name).is_file():
            print(f"{name:42} not found in {folder}")
            continue
        notes = read((folder / name).read_bytes(), name)
        want = set(labels["items"])
        got = {place.line for r in notes.releases for i in r.items for place in i.places}
        hit = len(want & got)
        headers, dates, dated = header_hits(notes, labels["headers"])
        print(
            f"{name:42} {len(want):5} {hit / max(1, len(got)):9.3f} {hit / max(1, len(want)):7.3f}"
            f" {headers:4}/{len(labels['headers']):<4} {dates:3}/{dated:<3}"
        )


def header_hits(notes: Notes, labels: list[tuple[int, str, str | None]]) -> tuple[int, int, int]:
    """Headers found with their version; dates right; dates stated."""
    found = {r.place.line: r for r in notes.releases if r.version}
    right = dates = dated = 0
    for line, version, day in labels:
        release = found.get(line)
        right += release is not None and release.version == version
        if day:
            dated += 1
            stated = release.date.day if release and release.date else None
            dates += stated is not None and stated.isoformat() == day
    return right, dates, dated


def requirements(name: str) -> None:
    """F1 over (component, comparison, version) on a file of labelled sentences."""
    right = wrong = missed = 0
    for line in (DATA / name).read_text(encoding="utf-8").splitlines():
        if not line.strip() or line.startswith("#"):
            continue
        label, sentence = line.split(" | ", 1)
        want: Counter[tuple[str, ...]] = Counter(
            tuple(w.split(",")) for w in label.split(";") if w != "-"
        )
        got: Counter[tuple[str, ...]] = Counter(
            (r.component, r.comparison.value, r.version) for r in requirements_in(sentence, NOWHERE)
        )
        right += (want & got).total()
        wrong += (got - want).total()
        missed += (want - got).total()
    f1 = 2 * right / (2 * right + wrong + missed)
    print(f"{name:32} right {right:3} wrong {wrong:2} missed {missed:2}  F1 {f1:.3f}")


WORDS = [
    "hover",
    "drift",
    "strong",
    "wind",
    "support",
    "for",
    "new",
    "battery",
    "gimbal",
    "camera",
    "return",
    "home",
    "altitude",
    "when",
    "app",
    "link",
    "quality",
    "shown",
    "early",
    "landing",
    "slow",
    "climb",
    "turn",
    "map",
    "screen",
    "language",
    "stick",
    "expo",
    "motor",
]
STARTS = ("Fixed", "Added", "Improved", "Corrected", "The", "Reduced", "Board", "Updated")


def document(items: int, form: SourceFormat = SourceFormat.TEXT) -> str:
    """Invented notes with 50 items a release."""
    dice = random.Random(7)
    lines = []
    for number in range(items):
        if number % 50 == 0:
            mark = "## " if form is SourceFormat.MARKDOWN else ""
            lines += ["", f"{mark}Release 4.{number // 50}.1 03 Sep 2024", "", "Bug fixes", ""]
        words = dice.choices(WORDS, k=dice.randint(4, 16))
        lines.append(f"- {dice.choice(STARTS)} {' '.join(words)}")
    if form is SourceFormat.HTML:
        return "<ul>" + "\n".join(f"<li>{line[2:]}</li>" for line in lines if line) + "</ul>"
    return "\n".join(lines)


def speed() -> None:
    """Items a second, the best of three; and how time grows with length."""
    for form in (SourceFormat.TEXT, SourceFormat.MARKDOWN, SourceFormat.HTML):
        took = {}
        for items in (2_500, 10_000):
            text = document(items, form)
            took[items] = min(timed(text, form) for _ in range(3))
        growth = took[10_000] / took[2_500]
        print(
            f"{form.value:9} 10,000 items in {took[10_000]:.2f} s = {10_000 / took[10_000]:,.0f}/s;"
            f" 4 times the length takes {growth:.1f} times as long"
        )


def timed(text: str, form: SourceFormat | None) -> float:
    """Processor seconds to read a text, an own error counting as read."""
    begin = time.process_time()
    with suppress(TriageError):
        read_text(text, "bench", format=form)
    return time.process_time() - begin


# Openers that make careless patterns backtrack; '_' stands for a blank, '~' for a line break.
OPENERS = """
[ [a]( ( *a_ ` 1. 1.2.3_ < <a_ <a_href=" <!-- <ul><li> <div> thanks_to_ by_@a_ #1_ abcdef1_
http:// &lt; requires_app_5.3_ update_before_ A._ " | a: **a_ 1_May_2020_ a~ -_a~ - \\ ![a](
Release_1.2_1_May_2020~ see_http://a_ Signed-off-by:_a_ &#0; <b> <script> ```~ [a]:_b~ a<br> >_
"""
ADVERSARIAL = [p.replace("_", " ").replace("~", "\n") for p in OPENERS.split()]
ADVERSARIAL += ["_a ", "\x1b[", "\x1b]", "\t", " "]


def adversarial() -> None:
    """Repeated openers that make careless patterns backtrack: 10 and 40 thousand of each."""
    worst = []
    for piece in ADVERSARIAL:
        for form in (SourceFormat.TEXT, SourceFormat.MARKDOWN, SourceFormat.HTML):
            short, long = ("- " + piece * count for count in (10_000, 40_000))
            first = max(timed(short, form), 0.005)
            second = timed(long, form)
            worst.append((second / first, second, len(long), repr(piece), form.value))
    for growth, seconds, size, shown, name in sorted(worst, reverse=True)[:5]:
        print(
            f"{shown:28} {name:9} {size:7,} characters {seconds:5.2f} s, growth {growth:.1f} for 4"
        )


def memory(megabytes: int) -> None:
    """Time and peak memory of one long document."""
    base = document(5_000)
    data = (base * (megabytes * 1_048_576 // len(base))).encode()
    begin = time.process_time()
    notes = read(data, "long.txt")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    items = sum(len(r.items) for r in notes.releases)
    print(
        f"{len(data) / 1_048_576:.0f} MB, {items:,} items: {time.process_time() - begin:.0f} s,"
        f" peak {peak:,.0f} MB"
    )


if __name__ == "__main__":
    given = sys.argv[1] if len(sys.argv) > 1 else os.environ.get("TRIAGE_REAL_NOTES", "")
    boundaries(Path(given) if given else Path(__file__).parents[3] / "shared" / "real-notes")
    requirements("requirements.txt")
    requirements("requirements-held-out.txt")
    speed()
    adversarial()
    memory(int(os.environ.get("TRIAGE_BENCH_MB", "10")))
