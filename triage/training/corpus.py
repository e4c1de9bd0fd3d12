"""Reads the labelled items of corpora/items/*.jsonl, one file a style."""

from __future__ import annotations

import hashlib
from pathlib import Path

from pydantic import ValidationError

from triage.domain.corpus import CorpusItem
from triage.errors import ConfigError
from triage.reference.shipped import folder

_MEND = "correct the line or restore the file"


def read_corpus(items: Path | None = None) -> tuple[CorpusItem, ...]:
    """All items, by file name and line."""
    return tuple(item for path in corpus_files(items) for item in _read(path))


def corpus_files(items: Path | None = None) -> tuple[Path, ...]:
    """The corpus files in order; a ConfigError when there are none."""
    place = items or folder("corpora") / "items"
    files = tuple(sorted(place.glob("*.jsonl")))
    if not files:
        raise ConfigError("no corpus files (*.jsonl)", where=str(place), mend="name their folder")
    return files


def corpus_digest(items: Path | None = None) -> str:
    """SHA-256 over the corpus files' names and bytes."""
    digest = hashlib.sha256()
    for path in corpus_files(items):
        digest.update(path.name.encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()


def _read(path: Path) -> list[CorpusItem]:
    items = []
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        if not line.strip():
            continue
        try:
            items.append(CorpusItem.model_validate_json(line))
        except ValidationError as error:
            first = error.errors()[0]
            field = " -> ".join(str(part) for part in first["loc"]) or "line"
            raise ConfigError(
                f"{field}: {first['msg']}", where=str(path), line=number, mend=_MEND
            ) from error
    return items
