"""A zip of plain members that is written whole and read only when nothing in it was altered.

Its manifest holds the SHA-256 of every other member; a file of the same name ending in `.sha256`
holds that of the zip.
"""

from __future__ import annotations

import hashlib
import io
import zipfile
import zlib
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import numpy as np
from pydantic import Field, ValidationError

from triage.domain.base import Frozen
from triage.errors import ModelError

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy.typing as npt

_MANIFEST = "manifest.json"
_STAMP = (1980, 1, 1, 0, 0, 0)  # a fixed time keeps the bytes reproducible
_MAX_MEMBER = 64 * 1024 * 1024
_WORTH = 0.8  # what packing must leave of a member, else it is stored and opens faster

Made = TypeVar("Made")


class Sealed(Frozen):
    """What every manifest holds: the layout's number, and the SHA-256 of each member."""

    protocol: int
    members: dict[str, str] = Field(default_factory=dict)


Head = TypeVar("Head", bound=Sealed)


def write(path: Path, manifest: Sealed, members: Mapping[str, bytes]) -> str:
    """Write the archive whole or not at all; returns the SHA-256 of the file."""
    sealed = manifest.model_copy(update={"members": _digests(members)})
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        for name, data in {_MANIFEST: sealed.model_dump_json(indent=1).encode(), **members}.items():
            entry = zipfile.ZipInfo(name, _STAMP)
            small = len(zlib.compress(data, 9)) < _WORTH * len(data)
            entry.compress_type = zipfile.ZIP_DEFLATED if small else zipfile.ZIP_STORED
            archive.writestr(entry, data, compresslevel=9)
    whole = buffer.getvalue()
    digest = hashlib.sha256(whole).hexdigest()
    path.parent.mkdir(parents=True, exist_ok=True)
    _replace(path, whole)
    _replace(path.with_suffix(".sha256"), f"{digest}  {path.name}\n".encode())
    return digest


def read(
    path: Path,
    kind: type[Head],
    protocol: int,
    unpack: Callable[[Head, dict[str, bytes]], Made],
    mend: str,
) -> tuple[Made, str]:
    """What `unpack` makes of the manifest, a `kind`, and the members; and the file's SHA-256.

    Raises ModelError with `mend` when the archive is missing, cut short, altered or of a layout
    other than `protocol`, or when `unpack` refuses it (by ModelError, KeyError or ValueError).
    """
    try:
        whole = path.read_bytes()
        stated = path.with_suffix(".sha256").read_text(encoding="ascii").split()[0]
    except (OSError, ValueError, IndexError) as error:
        raise ModelError(f"no model here ({error})", where=str(path), mend=mend) from error
    digest = hashlib.sha256(whole).hexdigest()
    if digest != stated:
        raise ModelError("altered or cut short: its digest differs", where=str(path), mend=mend)
    try:
        head, members = _opened(whole)
        manifest = kind.model_validate_json(head)
        _expect(manifest, members, protocol)
        made = unpack(manifest, members)
    except (zipfile.BadZipFile, KeyError, ValueError, ValidationError) as error:
        raise ModelError(
            f"not a model of this tool: {error}", where=str(path), mend=mend
        ) from error
    except ModelError as error:
        raise ModelError(error.problem, where=str(path), mend=mend) from error
    return made, digest


def _expect(manifest: Sealed, members: Mapping[str, bytes], protocol: int) -> None:
    if manifest.protocol != protocol:
        raise ModelError(f"layout {manifest.protocol}, this version reads {protocol}")
    if _digests(members) != manifest.members:
        raise ModelError("a member's digest differs")


def _digests(members: Mapping[str, bytes]) -> dict[str, str]:
    return {name: hashlib.sha256(data).hexdigest() for name, data in members.items()}


def dump(array: npt.NDArray[np.generic]) -> bytes:
    """An array as the bytes of an npy file."""
    buffer = io.BytesIO()
    np.save(buffer, np.ascontiguousarray(array), allow_pickle=False)
    return buffer.getvalue()


def parse(data: bytes) -> npt.NDArray[np.generic]:
    """The array of an npy file; ValueError when it is none, or would need pickle."""
    array: npt.NDArray[np.generic] = np.load(io.BytesIO(data), allow_pickle=False)
    return array


def _opened(whole: bytes) -> tuple[bytes, dict[str, bytes]]:
    with zipfile.ZipFile(io.BytesIO(whole)) as archive:
        if any(entry.file_size > _MAX_MEMBER for entry in archive.infolist()):
            raise ModelError("a member is larger than any model")
        members = {name: archive.read(name) for name in archive.namelist()}
    return members.pop(_MANIFEST), members


def _replace(path: Path, data: bytes) -> None:
    part = path.with_name(f"{path.name}.part")
    part.write_bytes(data)
    part.replace(path)
