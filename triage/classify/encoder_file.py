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

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from triage.classify import archive
from triage.classify.encoder import Encoder, Table
from triage.errors import ModelError
from triage.resources import folder

PROTOCOL = 1
NAME = "encoder.zip"
_MEND = "restore the file, or install the package again"
_BYTES, _SCALE, _PLAIN = ".bytes.npy", ".scale.npy", ".npy"
_VOCABULARY = "pieces.txt"
_TABLE = "pieces"  # looked up by row, not multiplied by
_STEPS = 127  # of an int8 either side of nought
_LARGE = 16_384  # numbers from which rounding to bytes is worth it

Arrays = Mapping[str, npt.NDArray[np.float32]]


class Manifest(archive.Sealed):
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
            members[f"{name}{_PLAIN}"] = archive.dump(array.astype("<f4"))
            continue
        rows = array if name == _TABLE else array.T
        scale = np.maximum(np.abs(rows).max(axis=1), np.finfo(np.float32).tiny) / _STEPS
        members[f"{name}{_BYTES}"] = archive.dump(np.round(rows / scale[:, None]).astype(np.int8))
        members[f"{name}{_SCALE}"] = archive.dump(scale.astype("<f4"))
    return archive.write(path, manifest, members)


def load(path: Path) -> Opened:
    """The encoder at `path`; ModelError when it is missing, altered or of another layout."""
    (encoder, manifest), sha256 = archive.read(path, _unpack, _MEND)
    return Opened(encoder, manifest, sha256)


def pieces_of(path: Path) -> tuple[str, ...]:
    """The word pieces of the encoder at `path`, in order of their numbers."""
    return archive.read(path, lambda _, members: _pieces(members), _MEND)[0]


@cache
def shipped() -> Opened:
    """The encoder that comes with the package."""
    return load(folder("models") / NAME)


def _unpack(head: bytes, members: dict[str, bytes]) -> tuple[Encoder, Manifest]:
    manifest = Manifest.model_validate_json(head)
    archive.expect(manifest, members, PROTOCOL)
    vocabulary = _pieces(members)
    parts = {name: archive.parse(data) for name, data in members.items() if name != _VOCABULARY}
    arrays: dict[str, npt.NDArray[np.float32]] = {}
    for name, part in parts.items():
        if not name.endswith(_BYTES) and not np.isfinite(part.astype(np.float32)).all():
            raise ModelError("a weight is not a number")
        if name.endswith(_BYTES) and name != f"{_TABLE}{_BYTES}":
            plain = name.removesuffix(_BYTES)
            scale = parts[f"{plain}{_SCALE}"].astype(np.float32)
            arrays[plain] = np.multiply(part.astype(np.int8), scale[:, None], dtype=np.float32).T
        elif not name.endswith((_BYTES, _SCALE)):
            arrays[name.removesuffix(_PLAIN)] = part.astype(np.float32)
    rows, sizes = (parts[f"{_TABLE}{end}"] for end in (_BYTES, _SCALE))
    table = Table(rows.astype(np.int8), sizes.astype(np.float32))
    if len(vocabulary) != len(table.rows) or arrays["head"].shape[1] != len(manifest.targets):
        raise ModelError("arrays of the wrong shape")
    return Encoder(table, arrays, vocabulary), manifest


def _pieces(members: Mapping[str, bytes]) -> tuple[str, ...]:
    return tuple(members[_VOCABULARY].decode().split("\n"))
