"""One reader a format: text to blocks; none knows what release notes are."""

from __future__ import annotations

from collections.abc import Iterator

from triage.reading.formats.blocks import Block


def blocks_of(text: str, name: str, format: str = "") -> Iterator[Block]:
    """The blocks of a decoded document; its format by `format`, else by its look and its name."""
    from triage.reading.formats.sniff import sniff

    form = format or sniff(text, name)
    if form == "markdown":
        from triage.reading.formats.markdown import markdown_blocks

        return markdown_blocks(text)
    if form == "html":
        from triage.reading.formats.html import html_blocks

        return html_blocks(text)
    from triage.reading.formats.text import text_blocks

    return text_blocks(text)
