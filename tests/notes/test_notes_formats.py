"""Markdown, HTML and PDF, checked against markdown-it-py, lxml and pypdfium2's own text."""

import re
from collections.abc import Sequence
from itertools import pairwise

import lxml.html
import pypdfium2
import pytest
from hypothesis import given
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from triage.domain.notes import SourceFormat
from triage.errors import SourceError
from triage.notes import read, read_text
from triage.notes.html_reader import read_html_blocks

PAGE = """<!DOCTYPE html><html><head><title>T 9.9</title><style>li{color:red}</style></head><body>
<nav><ul><li>Home</li></ul></nav><h1>Quillmere Deck release notes</h1>
<h2>Version 5.3.2 (4 March 2026)</h2><p><strong>New features</strong></p>
<ul><li>Map tiles can be kept offline:<ul><li>up to 2&nbsp;GB</li><li>per region</ul>
<li>Dark mode &amp; larger text</li></ul>
<!-- <h2>Version 9</h2><ul><li>secret</li></ul> --><p><b>Bug fixes</b></p>
<p>- Fixed the login loop<br>- Fixed a crash<br/>when opening the log</p>
<table><tr><th>Unit</th><th>Version</th></tr><tr><td>Aircraft firmware</td><td>01.04.0500</td></tr>
<tr><td>Controller firmware</td><td>02.01.0300</td></tr></table>
<footer>Copyright</footer></body></html>"""


def test_saved_page() -> None:
    notes = read_text(PAGE, "page.html")
    first = notes.releases[0]
    assert (first.unit, first.version) == ("Quillmere Deck", "5.3.2")
    assert [(i.heading[-1], i.text) for i in first.items] == [
        ("Map tiles can be kept offline", "up to 2 GB"),
        ("Map tiles can be kept offline", "per region"),
        ("New features", "Dark mode & larger text"),
        ("Bug fixes", "Fixed the login loop"),
        ("Bug fixes", "Fixed a crash when opening the log"),
    ]
    place = first.items[0].places[0]
    assert PAGE[place.start : place.end] == "up to 2&nbsp;GB"
    assert [(r.component, r.version) for r in first.requirements] == [
        ("aircraft", "01.04.0500"),
        ("radio-controller", "02.01.0300"),
    ]


TAGS = st.sampled_from(
    [
        "<ul>",
        "</ul>",
        "<li>",
        "</li>",
        "<p>",
        "</p>",
        "<b>",
        "</b>",
        "<i>",
        "<br>",
        "<h2>",
        "</h2>",
        "<div>",
        "</div>",
    ]
)
TEXTS = st.sampled_from(["drift", "menu &amp; map", "a &lt; b", "wind ", " gusts", 'x="y"'])


@given(st.lists(st.one_of(TAGS, TEXTS), min_size=1, max_size=30))
def test_no_word_of_a_page_is_lost_or_doubled(parts: list[str]) -> None:
    """Against lxml, the reference for what the text of a page is."""
    page = "".join(parts)
    ours = " ".join(block.text for piece in read_html_blocks(page) for block in piece)
    theirs = "".join(map(str, lxml.html.fromstring(f"<div>{page}</div>").itertext()))
    assert re.sub(r"\s+", "", ours) == re.sub(r"\s+", "", theirs)


def test_comments_hold_across_list_items() -> None:
    page = "<h2>1.2</h2><ul><li>a</li><!-- not yet <li>b</li> --><li>c</li></ul>"
    assert [i.text for i in read_text(page, "p.html").releases[0].items] == ["a", "c"]


MARKDOWN = """# Changelog

## [1.4.0] - 2026-03-04

### Added

- One *thing*
  wrapped here
- Another

  with a second paragraph
  1. nested first
  2. nested second
* A new list

```
- not an item
```

> - quoted item

Setext title
------------
+ last
"""


def test_list_items_are_those_of_the_commonmark_reference() -> None:
    """Against markdown-it-py: an item for each list item, on its line."""
    tokens = MarkdownIt("commonmark").parse(MARKDOWN)
    lines = [t.map[0] + 1 for t in tokens if t.type == "list_item_open" and t.map]
    notes = read_text(MARKDOWN, "c.md")
    found = [p.line for r in notes.releases for i in r.items for p in i.places]
    assert found == lines
    levels = [i.level for r in notes.releases for i in r.items]
    assert levels == [0, 0, 1, 1, 0, 0, 0]


@given(
    st.lists(
        st.sampled_from(["- a", "  - b", "* c", "1. d", "", "text", "    - e", "> - f"]),
        max_size=15,
    )
)
def test_any_markdown_list_has_the_items_of_the_reference(lines: list[str]) -> None:
    text = "# 1.2\n\n" + "\n".join(lines)
    tokens = MarkdownIt("commonmark").parse(text)
    filled = {
        t.map[0] + 1
        for t, after in pairwise(tokens)
        if t.type == "list_item_open" and t.map and after.type == "paragraph_open"
    }
    try:
        notes = read_text(text, "c.md")
    except SourceError:
        assert not filled
        return
    found = {p.line for r in notes.releases for i in r.items for p in i.places}
    titles = {n for n in filled if not any(n == line for line in found)}
    assert filled - titles <= found


def pdf(pages: Sequence[Sequence[tuple[float, float, str]]]) -> bytes:
    """A PDF with texts at points (x, y) from the lower left corner, in Helvetica 10."""
    objects = ["<< /Type /Catalog /Pages 2 0 R >>", ""]
    kids = []
    objects.append(
        "<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica /Encoding /WinAnsiEncoding >>"
    )
    for page in pages:
        stream = "".join(
            f"BT /F1 10 Tf 1 0 0 1 {x} {y} Tm ({text.replace('(', chr(92) + '(')}) Tj ET\n"
            for x, y, text in page
        )
        objects.append(f"<< /Length {len(stream)} >>\nstream\n{stream}endstream")
        kids.append(len(objects) + 1)
        objects.append(
            "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 595 842] /Resources"
            f" << /Font << /F1 3 0 R >> >> /Contents {len(objects)} 0 R >>"
        )
    objects[1] = (
        f"<< /Type /Pages /Count {len(kids)} /Kids [{' '.join(f'{k} 0 R' for k in kids)}] >>"
    )
    out, places = b"%PDF-1.4\n", []
    for number, body in enumerate(objects, 1):
        places.append(len(out))
        out += f"{number} 0 obj\n{body}\nendobj\n".encode("cp1252")
    table = "".join(f"{place:010} 00000 n \n" for place in places)
    return (
        out
        + (
            f"xref\n0 {len(objects) + 1}\n0000000000 65535 f \n{table}trailer\n"
            f"<< /Size {len(objects) + 1} /Root 1 0 R >>\nstartxref\n{len(out)}\n%%EOF"
        ).encode()
    )


ONE_COLUMN = [
    (50, 800, "Quillmere Heron 2 release notes"),
    (50, 770, "Aircraft firmware v01.04.0500 2026.03.04"),
    (50, 740, "What's new"),
    (60, 725, "• Added waypoint missions that can be paused and taken up again from the con-"),
    (70, 712, "troller without landing."),
    (60, 699, "• Fixed the drifting gimbal."),
    (50, 670, "Requires app 5.3 or later."),
]


def test_pdf_with_bullets_wraps_and_hyphens() -> None:
    data = pdf([ONE_COLUMN])
    assert "waypoint" in pypdfium2.PdfDocument(data)[0].get_textpage().get_text_bounded()
    (release,) = read(data, "notes.pdf").releases
    assert (release.version, release.component) == ("01.04.0500", "aircraft")
    assert [i.text for i in release.items] == [
        "Added waypoint missions that can be paused and taken up again from the controller"
        " without landing.",
        "Fixed the drifting gimbal.",
        "Requires app 5.3 or later.",
    ]
    assert [(r.component, r.version) for r in release.requirements] == [("app", "5.3")]


def test_pdf_columns_are_read_one_after_the_other() -> None:
    left = [(50, 760 - 14 * n, f"• Left statement number {n} is told here") for n in range(6)]
    right = [(320, 760 - 14 * n, f"• Right statement number {n} is told here") for n in range(6)]
    rows = [row for pair in zip(left, right, strict=True) for row in pair]
    notes = read(pdf([[(50, 800, "Version 1.2 4 March 2026"), *rows]]), "notes.pdf")
    texts = [i.text for r in notes.releases for i in r.items]
    assert texts == [
        f"{side} statement number {n} is told here" for side in ("Left", "Right") for n in range(6)
    ]


def test_pdf_without_text_is_refused() -> None:
    with pytest.raises(SourceError, match="pictures"):
        read(pdf([[]]), "scan.pdf")


@pytest.mark.parametrize("form", [None, SourceFormat.PDF])
def test_what_is_no_pdf_is_refused(form: SourceFormat | None) -> None:
    with pytest.raises(SourceError, match="PDF"):
        read(b"%PDF-1.7 cut off", "x.pdf", format=form)
