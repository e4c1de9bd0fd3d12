"""Which items of the corpora are kept out of all fitting: to calibrate on, and to measure with."""

from __future__ import annotations

import json
from collections.abc import Sequence
from functools import cache

import numpy as np
import numpy.typing as npt

from triage.domain.corpus import CorpusItem
from triage.reference.shipped import folder

KEPT_OUT = (
    "commit-log",
    "consumer-aircraft",
    "gimbal-camera",
    "machine-config",
    "mixed-release",
    "motor-drive",
    "names-and-parameters",
    "paragraph-notes",
    "radio-os",
    "vtol-fixedwing",
)  # whole styles, of every sort of unit, so that what is measured is a style never seen


def kept_out(items: Sequence[CorpusItem]) -> npt.NDArray[np.bool_]:
    """For each item whether it is kept out: by its style, or because two readers labelled it."""
    twice = _labelled_twice()
    return np.array([i.style in KEPT_OUT or (i.document, i.text) in twice for i in items], bool)


@cache
def _labelled_twice() -> frozenset[tuple[str, str]]:
    lines = (folder("corpora") / "second-labels.jsonl").read_text(encoding="utf-8").splitlines()
    return frozenset((row["document"], row["text"]) for row in map(json.loads, lines))
