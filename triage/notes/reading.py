"""The whole way from a document to notes."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator

from triage.domain.notes import Notes, Source, SourceFormat
from triage.errors import SourceError
from triage.notes import source as sources
from triage.notes.blocks import Block
from triage.notes.dates import order_of, settle
from triage.notes.drafts import finish_release
from triage.notes.merge import merge
from triage.notes.screen import screen
from triage.notes.structure import Builder


def read(data: bytes, name: str, *, format: SourceFormat | None = None) -> Notes:
    """Read a document as release notes.

    Errors: SourceError when it cannot be read or holds no statement.
    """
    sources.refuse_unreadable(data, name)
    if format is SourceFormat.PDF or (format is None and sources.is_pdf(data)):
        from triage.notes.pdf_reader import extract

        text = extract(data, name)
        return _read(text, name, SourceFormat.PDF, "pdf", hashlib.sha256(data).hexdigest())
    decoded = sources.decode(data, name)
    form = format or sources.sniff(decoded.text, name)
    digest = hashlib.sha256(data).hexdigest()
    return _read(decoded.text, name, form, decoded.encoding, digest, decoded.remarks)


def read_text(text: str, name: str, *, format: SourceFormat | None = None) -> Notes:
    """Read notes that are already text (a paste); errors as `read`."""
    if not text.strip():
        raise SourceError("the document is empty", where=name, mend="paste the notes again")
    data = text.encode("utf-8", errors="surrogatepass")
    sources.refuse_unreadable(data, name)
    form = format or sources.sniff(text, name)
    return _read(text, name, form, "text", hashlib.sha256(data).hexdigest())


def _pieces(safe: str, form: SourceFormat) -> Iterator[list[Block]]:
    if form is SourceFormat.MARKDOWN:
        from triage.notes.markdown_reader import read_markdown_blocks

        return read_markdown_blocks(safe)
    if form is SourceFormat.HTML:
        from triage.notes.html_reader import read_html_blocks

        return read_html_blocks(safe)
    from triage.notes.text_reader import read_text_blocks

    return read_text_blocks(safe)


def _read(
    text: str,
    name: str,
    form: SourceFormat,
    encoding: str,
    digest: str,
    remarks: tuple[str, ...] = (),
) -> Notes:
    safe = screen(text)
    builder = Builder(safe)
    for piece in _pieces(safe, form):
        builder.feed(piece)
    drafts = builder.build()
    if not drafts:
        raise SourceError(
            "no change items found",
            where=name,
            mend="paste the list of changes itself, or give its form with --format",
        )
    merge(drafts)
    said = [*remarks, *builder.remarks]
    order = order_of(draft.header.date for draft in drafts if draft.header.date)
    releases = []
    ref = 1
    drafts.reverse()
    while drafts:
        draft = drafts.pop()  # each draft is let go of once it is a release
        date = draft.header.date.date if draft.header.date else None
        if date:
            date, remark = settle(date, order)
            said += [remark] if remark else []
        releases.append(finish_release(draft, date, text, ref))
        ref += len(draft.items)
    if ref == 1:
        said.append("release headers were found, but no change items")
    source = Source(name=name, format=form, encoding=encoding, sha256=digest, characters=len(text))
    return Notes(source=source, releases=tuple(releases), remarks=tuple(dict.fromkeys(said)))
