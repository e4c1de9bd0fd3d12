"""An outline as one HTML page without scripts, styles inline, fit for paper."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

from triage.render.outline import Figure, Outline, Paragraph, Points, Section, Table

_STYLE = """
:root { color-scheme: light dark; }
body { font: 1rem/1.5 system-ui, sans-serif; max-width: 48rem; margin: 1rem auto; padding: 0 1rem; }
table { border-collapse: collapse; width: 100%; }
th, td { border: 1px solid; padding: .3rem .5rem; text-align: left; vertical-align: top; }
.source { font-size: .85em; }
figure { margin: 1rem 0; } figure svg { max-width: 100%; height: auto; }
@media print { body { max-width: none; margin: 0; } section { break-inside: avoid; } }
"""


def to_html(outline: Outline) -> str:
    """A whole page; every text is escaped."""
    title = escape(outline[0].title) if outline else "triage"
    body = "\n".join(line for section in outline for line in _section(section))
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{title}</title>\n<style>{_STYLE}</style>\n</head>\n<body>\n<main>\n{body}\n"
        "</main>\n</body>\n</html>\n"
    )


def _section(section: Section) -> Iterator[str]:
    yield "<section>"
    if section.title:
        yield f"<h{section.level}>{escape(section.title)}</h{section.level}>"
    for block in section.blocks:
        if isinstance(block, Figure):
            yield f"<figure>{block.svg}<figcaption>{escape(block.text)}</figcaption></figure>"
        elif isinstance(block, Paragraph):
            text = escape(block.text)
            yield f"<p><strong>{text}</strong></p>" if block.strong else f"<p>{text}</p>"
        elif isinstance(block, Points):
            yield from _points(block)
        else:
            yield from _table(block)
    yield "</section>"


def _points(block: Points) -> Iterator[str]:
    tag = "ol" if block.numbered else "ul"
    yield f"<{tag}>"
    for point in block.points:
        source = f' <span class="source">[{escape(point.source)}]</span>' if point.source else ""
        indent = f' style="margin-left:{1.5 * point.level}rem"' if point.level else ""
        yield f"<li{indent}>{escape(point.text)}{source}</li>"
    yield f"</{tag}>"


def _table(table: Table) -> Iterator[str]:
    head = "".join(f'<th scope="col">{escape(cell)}</th>' for cell in table.head)
    yield f"<table>\n<thead><tr>{head}</tr></thead>\n<tbody>"
    for row in table.rows:
        yield f"<tr>{''.join(f'<td>{escape(cell)}</td>' for cell in row)}</tr>"
    yield "</tbody>\n</table>"
