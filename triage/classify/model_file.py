"""The trained model on disk: one zip of plain arrays and a manifest; no pickle, no code.

    kinds.zip
      manifest.json   protocol, kinds, group weights, blends, digests, library versions
      names.txt       features, one a line, in column order
      rarity.npy      float64 (columns,)
      weights.npy     float64 (columns, kinds)
      intercepts.npy  float64 (kinds,)

To change the layout, raise PROTOCOL and train again.
"""

from __future__ import annotations

import hashlib
from pathlib import Path

import numpy as np
from pydantic import ConfigDict

from triage.classify import sealed_zip
from triage.classify.vectoriser import Floats
from triage.domain.base import Frozen
from triage.domain.kinds import Kind
from triage.errors import ModelError

PROTOCOL = 2
NAME = "kinds.zip"
MEND = "train it again with `triage model train`"


class Blend(Frozen):
    """Chance = 1 / (1 + exp(-(words * score of the words + order * of the encoder + shift)))."""

    words: float
    order: float
    shift: float


class Manifest(sealed_zip.Sealed):
    """What the model is and what made it."""

    kinds: tuple[Kind, ...]
    group_weights: tuple[float, ...]
    blends: tuple[Blend, ...]
    encoder_sha256: str
    corpus_sha256: str
    vocabulary_sha256: str
    items: int
    corrections: int
    libraries: dict[str, str]


class Artefact(Frozen):
    """A model in memory; arrays as the layout above gives them."""

    model_config = ConfigDict(frozen=True, arbitrary_types_allowed=True)

    manifest: Manifest
    names: tuple[str, ...]
    rarity: Floats
    weights: Floats
    intercepts: Floats


def save(artefact: Artefact, path: Path) -> str:
    """Write the model whole or not at all; returns the SHA-256 of the file."""
    members = {
        "names.txt": "\n".join(artefact.names).encode(),
        "rarity.npy": sealed_zip.dump(artefact.rarity.astype("<f8")),
        "weights.npy": sealed_zip.dump(artefact.weights.astype("<f8")),
        "intercepts.npy": sealed_zip.dump(artefact.intercepts.astype("<f8")),
    }
    return sealed_zip.write(path, artefact.manifest, members)


def load(path: Path) -> tuple[Artefact, str]:
    """The model and the SHA-256 of its file; ModelError when anything is not as it was written."""
    return sealed_zip.read(path, Manifest, PROTOCOL, _unpack, MEND)


def _unpack(manifest: Manifest, members: dict[str, bytes]) -> Artefact:
    if manifest.vocabulary_sha256 != vocabulary_digest():
        raise ModelError("trained with other vocabularies or another tokenizer")
    names = tuple(members["names.txt"].decode().split("\n"))
    rarity, weights, intercepts = (
        sealed_zip.parse(members[f"{part}.npy"]).astype(np.float64)
        for part in ("rarity", "weights", "intercepts")
    )
    shapes = (rarity.shape, weights.shape, intercepts.shape)
    n, kinds = len(names), len(manifest.kinds)
    if shapes != ((n,), (n, kinds), (kinds,)) or len(manifest.blends) != kinds:
        raise ModelError("arrays of the wrong shape")
    if not all(np.isfinite(array).all() for array in (rarity, weights, intercepts)):
        raise ModelError("a weight is not a number")
    return Artefact(
        manifest=manifest, names=names, rarity=rarity, weights=weights, intercepts=intercepts
    )


def vocabulary_digest() -> str:
    """SHA-256 over what the features rest on besides the corpora."""
    from importlib.metadata import version

    from triage.classify.phrases import phrases

    digest = hashlib.sha256(f"spacy {'.'.join(version('spacy').split('.')[:2])}\n".encode())
    for key, phrase in phrases():
        digest.update(f"{key}={phrase}\n".encode())
    return digest.hexdigest()
