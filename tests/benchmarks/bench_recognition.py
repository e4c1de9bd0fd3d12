"""Precision and recall of what is recognised in labelled items, and its speed: by the words alone,
and as the encoder bears them out.

Run: python tests/benchmarks/bench_recognition.py [LABELLED.jsonl] [--errors]. Prints figures and
asserts nothing. Without a file it reads tests/data/recognition/labelled.jsonl: our own sentences,
labelled twice without sight of each other; where the two readers differed, a third decided by
corpora/GUIDELINE.md without seeing the recogniser's answer. Only words of the sentence itself
count, not those of its heading.
"""

from __future__ import annotations

import json
import sys
import time
from collections import Counter
from pathlib import Path
from typing import NamedTuple

sys.path.insert(0, str(Path(__file__).parents[2]))

from triage.classify import shipped
from triage.classify.recogniser import Recogniser
from triage.domain.finds import Finds

LABELLED = Path(__file__).parents[1] / "data" / "recognition" / "labelled.jsonl"
FAMILIES = ("settings", "components")
_NOTHING = {"other"}  # names no unit of its own


class Item(NamedTuple):
    """A sentence, and the ids that belong to it by family."""

    text: str
    heading: str
    ids: dict[str, set[str]]


class Tally(NamedTuple):
    """Ids found and right, found and wrong, and missed: counts by id."""

    right: Counter[str]
    wrong: Counter[str]
    missed: Counter[str]

    def line(self) -> str:
        """Micro precision, recall and F1 in [0, 1]."""
        right = self.right.total()
        precision = right / max(1, right + self.wrong.total())
        recall = right / max(1, right + self.missed.total())
        f1 = 2 * precision * recall / max(1e-9, precision + recall)
        return f"precision {precision:.3f}  recall {recall:.3f}  F1 {f1:.3f}"


def labelled(path: Path) -> list[Item]:
    """The labelled items of a file with one JSON object a line."""
    rows = [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]
    return [
        Item(row["text"], row.get("heading", ""), {f: set(row[f]) - _NOTHING for f in FAMILIES})
        for row in rows
    ]


def found(finds: Finds, family: str) -> set[str]:
    """The ids found in the text itself."""
    return {find.id for find in getattr(finds, family) if find.start >= 0} - _NOTHING


def tally(read: list[Finds], items: list[Item], family: str) -> Tally:
    """Compares what is found in all items with their labels."""
    result = Tally(Counter(), Counter(), Counter())
    for finds, item in zip(read, items, strict=True):
        here, wanted = found(finds, family), item.ids[family]
        result.right.update(here & wanted)
        result.wrong.update(here - wanted)
        result.missed.update(wanted - here)
    return result


def main() -> None:
    """Measure one file."""
    names = [a for a in sys.argv[1:] if not a.startswith("-")]
    items = labelled(Path(names[0]) if names else LABELLED)
    start = time.perf_counter()
    recogniser = Recogniser()
    print(f"{len(items)} items; recogniser built in {time.perf_counter() - start:.2f} s")
    readings = [recogniser.read(i.text, (i.heading,) if i.heading else ()) for i in items]
    borne_out = shipped().read(readings, [""] * len(items)).finds
    for name, read_by in (
        ("by the words", [reading.finds for reading in readings]),
        ("as borne out", borne_out),
    ):
        for family in FAMILIES:
            result = tally(read_by, items, family)
            print(f"{name}: {family:11}{result.line()}")
            if "--errors" in sys.argv:
                print(f"  wrong  {result.wrong.most_common(10)}")
                print(f"  missed {result.missed.most_common(10)}")
    start, rounds = time.perf_counter(), 10
    for _ in range(rounds):
        for item in items:
            recogniser.read(item.text, (item.heading,) if item.heading else ())
    words = sum(len(recogniser.read(item.text).tokens) for item in items) / len(items)
    rate = rounds * len(items) / (time.perf_counter() - start)
    print(f"{rate:,.0f} items/s of {words:.0f} tokens on average, headings included")


if __name__ == "__main__":
    main()
