"""The models of the reading on disk: one zip of plain arrays and a manifest; no pickle, no code.

    reading.zip
      manifest.json           protocol, digests, classes of the linear models, thresholds
      roles.NAME.npy          float32, the network of roles
      MODEL.weights.npy       float16 (buckets, classes), and MODEL.bias.npy float32 (classes,)
      unit.weights.npy        float16 (size, components), and unit.bias.npy: whose notes they are

To change the layout, raise PROTOCOL and fit again.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import NamedTuple

import numpy as np

from triage.classify import sealed_zip
from triage.domain.base import Frozen
from triage.errors import ModelError
from triage.reading.atoms import Cutter
from triage.reading.candidates import FactModels
from triage.reading.linear import Linear
from triage.reading.roles import Floats, RoleNetwork
from triage.reference.shipped import folder

PROTOCOL = 1
NAME = "reading.zip"
_MEND = "restore the file, or install the package again"
_LINEAR = ("lines", "clauses", "versions", "days", "values", "unit")


class Thresholds(Frozen):
    """From which chance a head's word is taken; chosen on what was kept out of fitting.

    `change`: a statement of another role is listed as a change all the same; `relation`, `effect`:
    a statement has that fact; `spoken`: a statement that weighs (known issue, notice, requirement,
    instruction) is kept beside its likelier role.
    """

    change: float = 0.4
    relation: float = 0.5
    effect: float = 0.5
    spoken: float = 0.3


class Manifest(sealed_zip.Sealed):
    """What the models are and what made them."""

    classes: dict[str, tuple[str, ...]]
    thresholds: Thresholds
    encoder_sha256: str
    corpus_sha256: str
    documents: int
    kept_out_layouts: tuple[str, ...]
    libraries: dict[str, str]


class ReadingModels(NamedTuple):
    """Everything that reading asks beside the encoder."""

    cutter: Cutter
    facts: FactModels
    roles: RoleNetwork
    unit: Linear
    thresholds: Thresholds
    manifest: Manifest
    sha256: str


def save(
    manifest: Manifest, linear: dict[str, Linear], roles: dict[str, Floats], path: Path
) -> str:
    """Write the models whole or not at all; returns the SHA-256 of the file."""
    members = {f"roles.{name}.npy": sealed_zip.dump(array) for name, array in roles.items()}
    for name, model in linear.items():
        members[f"{name}.weights.npy"] = sealed_zip.dump(model.weights.astype("<f2"))
        members[f"{name}.bias.npy"] = sealed_zip.dump(model.bias.astype("<f4"))
    return sealed_zip.write(path, manifest, members)


def load(path: Path) -> ReadingModels:
    """The models at `path`; ModelError when they are missing, altered or of another layout."""
    found, sha256 = sealed_zip.read(path, Manifest, PROTOCOL, _unpack, _MEND)
    return found._replace(sha256=sha256)


@cache
def shipped() -> ReadingModels:
    """The models that come with the package."""
    return load(folder("models") / NAME)


def _unpack(manifest: Manifest, members: dict[str, bytes]) -> ReadingModels:
    arrays = {
        name.removesuffix(".npy"): sealed_zip.parse(data).astype(np.float32)
        for name, data in members.items()
    }
    if not all(np.isfinite(array).all() for array in arrays.values()):
        raise ModelError("a weight is not a number")
    linear = {
        name: Linear(manifest.classes[name], arrays[f"{name}.weights"], arrays[f"{name}.bias"])
        for name in _LINEAR
    }
    roles = {
        name.removeprefix("roles."): array
        for name, array in arrays.items()
        if name.startswith("roles.")
    }
    return ReadingModels(
        Cutter(linear["lines"], linear["clauses"]),
        FactModels(linear["versions"], linear["days"], linear["values"]),
        RoleNetwork(roles),
        linear["unit"],
        manifest.thresholds,
        manifest,
        "",
    )
