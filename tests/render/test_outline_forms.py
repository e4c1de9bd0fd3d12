"""One outline, three forms: nothing gets lost, and nothing steers the reader's program."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from lxml import html as lxml_html
from markdown_it import MarkdownIt

from triage.render.html import to_html
from triage.render.markdown import to_markdown
from triage.render.outline import Paragraph, Point, Points, Section, Table
from triage.render.screen import screened
from triage.render.text import to_text

WORDS = st.text(st.characters(codec="ascii", categories=("L", "N", "P")), min_size=1, max_size=12)
PHRASES = st.lists(WORDS, min_size=1, max_size=30).map(" ".join)


def outline_of(text: str) -> tuple[Section, ...]:
    return (
        Section(
            title="Head",
            level=1,
            blocks=(
                Paragraph(text=text, strong=True),
                Points(points=(Point(text=text, source="line 3"), Point(text=text, level=1))),
                Table(head=("One", "Two", "Three"), rows=((text, "x", text),)),
            ),
        ),
    )


@given(PHRASES)
def test_terminal_lines_fit_eighty_columns(text: str) -> None:
    assert all(len(line) <= 80 for line in to_text(outline_of(text)).splitlines())


@given(PHRASES)
def test_terminal_text_keeps_every_word(text: str) -> None:
    shown = "".join(to_text(outline_of(text)).split())
    assert shown.count("".join(text.split())) >= 3 or len(text) > 20


@given(PHRASES)
def test_markdown_reads_back_as_the_same_text(text: str) -> None:
    """Source: markdown-it-py, a CommonMark parser."""
    tokens = MarkdownIt("commonmark").parse(
        to_markdown((Section(title="", blocks=(Paragraph(text=text),)),))
    )
    inline = [t for t in tokens if t.type == "inline"]
    read = " ".join(child.content for t in inline for child in (t.children or []))
    if len(inline) == 1 and tokens[0].type == "paragraph_open":
        assert "".join(read.split()) == "".join(text.split())


@given(st.text(max_size=80))
def test_html_shows_markup_as_text(text: str) -> None:
    hostile = f"<script>alert(1)</script>{text}&lt;b&gt;"
    page = to_html((Section(title="x", blocks=(Paragraph(text=screened(hostile)),)),))
    tree = lxml_html.fromstring(page.encode())
    assert not tree.xpath("//script | //b")


@given(st.text(max_size=200))
def test_nothing_that_steers_a_terminal_gets_through(text: str) -> None:
    shown = screened(text + "\x1b[31m\x9b2J\u202e\u2066\x07\x00")
    assert not set(shown) & set("\x1b\x9b\u202e\u2066\x07\x00\r\x08\x7f")


def test_tables_narrow_to_the_page() -> None:
    table = Table(head=("A", "B"), rows=(("word " * 30, "x" * 120),))
    lines = to_text((Section(title="", blocks=(table,)),)).splitlines()
    assert max(map(len, lines)) <= 80
