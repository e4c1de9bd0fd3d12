"""What reads, and what was read of a document before it is put together."""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np

from triage.classify.encoder import Encoder
from triage.classify.recogniser import Recogniser
from triage.reading.atoms import Atom
from triage.reading.facts import Facts
from triage.reading.models import ReadingModels
from triage.reading.statements import Statement


class Tools(NamedTuple):
    """What reads: built once a process."""

    recogniser: Recogniser
    encoder: Encoder
    targets: tuple[str, ...]
    models: ReadingModels


@cache
def shipped_tools() -> Tools:
    """The tools that come with the package."""
    from triage.classify import encoder_file
    from triage.reading import models

    opened = encoder_file.shipped()
    return Tools(Recogniser(), opened.encoder, opened.manifest.targets, models.shipped())


class Read(NamedTuple):
    """A document's statements with the encoder's scores (statements, targets) and their facts."""

    statements: tuple[Statement, ...]
    scores: np.ndarray[tuple[int, int], np.dtype[np.float64]]
    facts: tuple[Facts, ...]
    following: tuple[Atom | None, ...]
