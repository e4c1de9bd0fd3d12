"""A document's bytes to blocks, whatever format it is in."""

from __future__ import annotations

import hashlib
from typing import NamedTuple

from triage.domain.notes import Source, SourceFormat
from triage.notes import source as sources
from triage.reading.formats import blocks_of
from triage.reading.formats.blocks import Block


class Document(NamedTuple):
    """The source, its decoded text, its blocks, and what had to be assumed."""

    source: Source
    text: str
    blocks: list[Block]
    remarks: tuple[str, ...]


def document_blocks(data: bytes, name: str, format: SourceFormat | None = None) -> Document:
    sources.refuse_unreadable(data, name)
    decoded = sources.decode(data, name)
    form = format.value if format else sources.sniff(decoded.text, name).value
    source = Source(name=name, format=SourceFormat(form), encoding=decoded.encoding,
        sha256=hashlib.sha256(data).hexdigest(), characters=len(decoded.text))
    return Document(source, decoded.text, list(blocks_of(decoded.text, name, form)), decoded.remarks)
