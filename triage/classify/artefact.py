"""The trained model on disk: one zip of plain arrays and a manifest; no pickle, no code.

    kinds.zip
      manifest.json   protocol, kinds, group weights, calibration, digests, library versions
      names.txt       features, one a line, in column order
      rarity.npy      float64 (columns,)
      weights.npy     float64 (columns, kinds)
      intercepts.npy  float64 (kinds,)

The manifest holds the SHA-256 of every other member; the file `kinds.sha256` beside the zip holds
that of the zip. To change the layout, raise PROTOCOL and train again.
"""

from __future__ import annotations

import hashlib
import io
import zipfile
from pathlib import Path

import numpy as np
from pydantic import ConfigDict, Field, ValidationError

from triage.classify.space import Floats
from triage.domain.base import Frozen
from triage.domain.kinds import Kind
from triage.errors import ModelError

PROTOCOL = 1
NAME = "kinds.zip"
_MEND = "train it again with `triage model train`"
_STAMP = (1980, 1, 1, 0, 0, 0)  # a fixed time keeps the bytes reproducible
_MAX_MEMBER = 64 * 1024 * 1024


class Platt(Frozen):
    """Chance = 1 / (1 + exp(-(slope * score + shift)))."""

    slope: float
    shift: float


class Manifest(Frozen):
    """What the model is and what made it."""

    protocol: int
    kinds: tuple[Kind, ...]
    group_weights: tuple[float, ...]
    calibration: tuple[Platt, ...]
    corpus_sha256: str
    vocabulary_sha256: str
    items: int
    corrections: int
    libraries: dict[str, str]
    members: dict[str, str] = Field(default_factory=dict)


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
        "rarity.npy": _dump(artefact.rarity),
        "weights.npy": _dump(artefact.weights),
        "intercepts.npy": _dump(artefact.intercepts),
    }
    digests = {name: hashlib.sha256(data).hexdigest() for name, data in members.items()}
    manifest = artefact.manifest.model_copy(update={"members": digests})
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        head = {"manifest.json": manifest.model_dump_json(indent=1).encode()}
        for name, data in {**head, **members}.items():
            entry = zipfile.ZipInfo(name, _STAMP)
            entry.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(entry, data, compresslevel=9)
    whole = buffer.getvalue()
    digest = hashlib.sha256(whole).hexdigest()
    path.parent.mkdir(parents=True, exist_ok=True)
    _replace(path, whole)
    _replace(path.with_suffix(".sha256"), f"{digest}  {path.name}\n".encode())
    return digest


def load(path: Path) -> tuple[Artefact, str]:
    """The model and the SHA-256 of its file; ModelError when anything is not as it was written."""
    try:
        whole = path.read_bytes()
        stated = path.with_suffix(".sha256").read_text(encoding="ascii").split()[0]
    except (OSError, ValueError, IndexError) as error:
        raise ModelError(f"no model here ({error})", where=str(path), mend=_MEND) from error
    digest = hashlib.sha256(whole).hexdigest()
    if digest != stated:
        raise ModelError("altered or cut short: its digest differs", where=str(path), mend=_MEND)
    try:
        return _unpack(whole), digest
    except (zipfile.BadZipFile, KeyError, ValueError, ValidationError) as error:
        raise ModelError(
            f"not a model of this tool: {error}", where=str(path), mend=_MEND
        ) from error
    except ModelError as error:
        raise ModelError(error.problem, where=str(path), mend=_MEND) from error


def _unpack(whole: bytes) -> Artefact:
    with zipfile.ZipFile(io.BytesIO(whole)) as archive:
        if any(entry.file_size > _MAX_MEMBER for entry in archive.infolist()):
            raise ModelError("a member is larger than any model")
        members = {name: archive.read(name) for name in archive.namelist()}
    manifest = Manifest.model_validate_json(members.pop("manifest.json"))
    if manifest.protocol != PROTOCOL:
        raise ModelError(f"layout {manifest.protocol}, this version reads {PROTOCOL}")
    if {name: hashlib.sha256(data).hexdigest() for name, data in members.items()} != (
        manifest.members
    ):
        raise ModelError("a member's digest differs")
    if manifest.vocabulary_sha256 != vocabulary_digest():
        raise ModelError("trained with other vocabularies or another tokenizer")
    names = tuple(members["names.txt"].decode().split("\n"))
    arrays = [_parse(members[f"{part}.npy"]) for part in ("rarity", "weights", "intercepts")]
    rarity, weights, intercepts = arrays
    shapes = (rarity.shape, weights.shape, intercepts.shape)
    n, kinds = len(names), len(manifest.kinds)
    if shapes != ((n,), (n, kinds), (kinds,)) or len(manifest.calibration) != kinds:
        raise ModelError("arrays of the wrong shape")
    if not all(np.isfinite(array).all() for array in arrays):
        raise ModelError("a weight is not a number")
    return Artefact(
        manifest=manifest, names=names, rarity=rarity, weights=weights, intercepts=intercepts
    )


def vocabulary_digest() -> str:
    """SHA-256 over what the features rest on besides the corpora."""
    from importlib.metadata import version

    from triage.recognise.phrases import phrases

    digest = hashlib.sha256(f"spacy {'.'.join(version('spacy').split('.')[:2])}\n".encode())
    for key, phrase in phrases():
        digest.update(f"{key}={phrase}\n".encode())
    return digest.hexdigest()


def _replace(path: Path, data: bytes) -> None:
    part = path.with_name(f"{path.name}.part")
    part.write_bytes(data)
    part.replace(path)


def _dump(array: Floats) -> bytes:
    buffer = io.BytesIO()
    np.save(buffer, np.ascontiguousarray(array, dtype="<f8"), allow_pickle=False)
    return buffer.getvalue()


def _parse(data: bytes) -> Floats:
    array: Floats = np.load(io.BytesIO(data), allow_pickle=False)
    return array
