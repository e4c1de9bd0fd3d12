"""Which items of the corpora are kept out of all fitting: to calibrate on, and to measure with."""

from __future__ import annotations

import json
from collections.abc import Sequence
from functools import cache
from zlib import crc32

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


_STYLES, _DOCUMENTS = (
    8,
    10,
)  # one in so many styles, and documents of the other layouts, are kept out


def style_kept_out(style: str) -> bool:
    """Whether a style of statements, or a layout of documents, is kept out of all fitting."""
    return crc32(style.encode("utf-8")) % _STYLES == 0


def document_kept_out(name: str, layout: str) -> bool:
    """Whether a document is kept out: with its layout, or by itself."""
    return style_kept_out(layout) or crc32(name.encode("utf-8")) % _DOCUMENTS == 0


def kept_out(items: Sequence[CorpusItem]) -> npt.NDArray[np.bool_]:
    """For each item whether it is kept out: by its style, or because two readers labelled it."""
    twice = _labelled_twice()
    return np.array([_held(item, twice) for item in items], bool)


def _held(item: CorpusItem, twice: frozenset[tuple[str, str]]) -> bool:
    later = item.outcome != ""  # items of the later rounds carry one; their styles are drawn by lot
    by_style = style_kept_out(item.style) if later else item.style in KEPT_OUT
    return by_style or (item.document, item.text) in twice


@cache
def _labelled_twice() -> frozenset[tuple[str, str]]:
    lines = (folder("corpora") / "second-labels.jsonl").read_text(encoding="utf-8").splitlines()
    return frozenset((row["document"], row["text"]) for row in map(json.loads, lines))
