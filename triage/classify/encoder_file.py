"""The encoder on disk: its matrices as bytes with a scale a row; no pickle, no code.

    encoder.zip
      manifest.json      protocol, targets, origin, what was kept out, corpora, library versions
      pieces.txt         word pieces, one a line, in order of their numbers
      NAME.npy           float32
      NAME.bytes.npy     int8 (rows, columns), and NAME.scale.npy float32 (rows,): their product
                         is the matrix, whose transpose the encoder multiplies by

To change the layout, raise PROTOCOL and fit again.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import NamedTuple

import numpy as np

from triage.classify import sealed_zip
from triage.classify.encoder import Arrays, Encoder, Table
from triage.errors import ModelError
from triage.reference.shipped import folder

PROTOCOL = 1
NAME = "encoder.zip"
_MEND = "restore the file, or install the package again"
_BYTES, _SCALE, _PLAIN = ".bytes.npy", ".scale.npy", ".npy"
_VOCABULARY = "pieces.txt"
_TABLE = "pieces"  # looked up by row, not multiplied by
_STEPS = 127  # of an int8 either side of nought
_LARGE = 16_384  # numbers from which rounding to bytes is worth it


class Manifest(sealed_zip.Sealed):
    """What the encoder is and what made it."""

    targets: tuple[str, ...]
    origin: str
    kept_out_styles: tuple[str, ...]
    kept_out_items: int
    items: int
    corpus_sha256: str
    libraries: dict[str, str]


class Opened(NamedTuple):
    """An encoder, and what its file says of it."""

    encoder: Encoder
    manifest: Manifest
    sha256: str


def save(manifest: Manifest, arrays: Arrays, vocabulary: tuple[str, ...], path: Path) -> str:
    """Write the encoder whole or not at all; returns the SHA-256 of the file.

    Large matrices are rounded to bytes, by row of their transpose.
    """
    members = {_VOCABULARY: "\n".join(vocabulary).encode()}
    for name, array in sorted(arrays.items()):
        if name != _TABLE and (array.ndim < 2 or array.size < _LARGE):
            members[f"{name}{_PLAIN}"] = sealed_zip.dump(array.astype("<f4"))
            continue
        rows = array if name == _TABLE else array.T
        scale = np.maximum(np.abs(rows).max(axis=1), np.finfo(np.float32).tiny) / _STEPS
        members[f"{name}{_BYTES}"] = sealed_zip.dump(
            np.round(rows / scale[:, None]).astype(np.int8)
        )
        members[f"{name}{_SCALE}"] = sealed_zip.dump(scale.astype("<f4"))
    return sealed_zip.write(path, manifest, members)


def load(path: Path) -> Opened:
    """The encoder at `path`; ModelError when it is missing, altered or of another layout."""
    (encoder, manifest), sha256 = sealed_zip.read(path, Manifest, PROTOCOL, _unpack, _MEND)
    return Opened(encoder, manifest, sha256)


@cache
def shipped() -> Opened:
    """The encoder that comes with the package."""
    return load(folder("models") / NAME)


def _unpack(manifest: Manifest, members: dict[str, bytes]) -> tuple[Encoder, Manifest]:
    vocabulary = members.pop(_VOCABULARY).decode().split("\n")
    parts = {name: sealed_zip.parse(data) for name, data in members.items()}
    exact = {n: p.astype(np.float32) for n, p in parts.items() if not n.endswith(_BYTES)}
    if not all(np.isfinite(part).all() for part in exact.values()):
        raise ModelError("a weight is not a number")
    rounded = {
        name.removesuffix(_BYTES): Table(part.astype(np.int8), exact[name.replace(_BYTES, _SCALE)])
        for name, part in parts.items()
        if name.endswith(_BYTES)
    }
    table = rounded.pop(_TABLE)
    arrays = {
        name.removesuffix(_PLAIN): part for name, part in exact.items() if not name.endswith(_SCALE)
    }
    for name, (rows, scale) in rounded.items():
        arrays[name] = np.multiply(rows, scale[:, None], dtype=np.float32).T
    if len(vocabulary) != len(table.rows) or arrays["head"].shape[1] != len(manifest.targets):
        raise ModelError("arrays of the wrong shape")
    return Encoder(table, arrays, vocabulary), manifest
