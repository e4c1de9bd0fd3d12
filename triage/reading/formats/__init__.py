"""One reader a format, from bytes to blocks; none knows what release notes are."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from typing import NamedTuple

from triage.domain.notes import Source, SourceFormat
from triage.errors import SourceError
from triage.reading.formats.blocks import Block
from triage.reading.formats.decode import decode, refuse_unreadable
from triage.reading.formats.screen import screen
from triage.reading.formats.sniff import sniff, sniff_bytes


class Document(NamedTuple):
    """What a file holds: `blocks` in reading order, each with its place in `text`.

    `text` is the decoded file; of a PDF and a picture the words found in it, of an encoded mail
    its head and the body that is read. `remarks` say what was assumed or left out.
    """

    source: Source
    text: str
    blocks: list[Block]
    remarks: tuple[str, ...]


def document_blocks(data: bytes, name: str, format: SourceFormat | None = None) -> Document:
    """The blocks of a file. `format`: what the user says it is; else it is found by its look.

    Raises SourceError for what cannot be read, ConfigError where an extra is missing.
    """
    form = sniff_bytes(data) or format
    remarks: list[str] = []
    if form in (SourceFormat.PDF, SourceFormat.PICTURE):
        text, encoding, blocks = _of_pages(data, name, form, remarks)
    else:
        refuse_unreadable(data, name)
        text, encoding = _decoded(data, name, form, remarks)
        form = form or sniff(text, name)
        blocks = list(blocks_of(text, name, form, remarks))
    if not blocks:
        raise SourceError("there is nothing to read in it", where=name, mend="paste its text")
    source = Source(
        name=name,
        format=form,
        encoding=encoding,
        sha256=hashlib.sha256(data).hexdigest(),
        characters=len(text),
    )
    return Document(source, text, blocks, tuple(remarks))


def blocks_of(
    text: str, name: str, format: SourceFormat | None = None, remarks: list[str] | None = None
) -> Iterator[Block]:
    """The blocks of a decoded document; its format by `format`, else by its look and its name."""
    form = format or sniff(text, name)
    text = screen(text)
    if form is SourceFormat.MARKDOWN:
        from triage.reading.formats.markdown import markdown_blocks

        return markdown_blocks(text)
    if form is SourceFormat.HTML:
        from triage.reading.formats.html import html_blocks

        return html_blocks(text, 0, remarks)
    if form is SourceFormat.MAIL:
        from triage.reading.formats.mail import mail_blocks

        return mail_blocks(text, remarks)
    from triage.reading.formats.pages import paged_blocks

    return paged_blocks(text)


def _decoded(
    data: bytes, name: str, form: SourceFormat | None, remarks: list[str]
) -> tuple[str, str]:
    from triage.reading.formats import mail

    decoded = mail.unpacked(data, name) if form in (None, SourceFormat.MAIL) else None
    decoded = decoded or decode(data, name)
    remarks += decoded.remarks
    return decoded.text, decoded.encoding


def _of_pages(
    data: bytes, name: str, form: SourceFormat, remarks: list[str]
) -> tuple[str, str, list[Block]]:
    if form is SourceFormat.PDF:
        from triage.reading.formats.pdf import pdf_blocks

        return pdf_blocks(data, name, remarks)
    from triage.reading.formats.picture import picture_blocks

    return picture_blocks(data, name)
