"""One outline, three forms: nothing gets lost, and nothing steers the reader's program."""

from __future__ import annotations

from collections.abc import Callable
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import html as lxml_html
from markdown_it import MarkdownIt
from rich.cells import cell_len

from triage.render.html import to_html
from triage.render.markdown import to_markdown
from triage.render.outline import Block, Figure, Paragraph, Point, Points, Section, Table
from triage.render.screen import screened
from triage.render.svg import box, dot, drawing, label
from triage.render.text import to_text
from triage.web.pages import environment

LETTERS = st.characters(codec="ascii", categories=("L", "N", "P"))
LONG = st.lists(st.text(LETTERS, min_size=1, max_size=120), min_size=1, max_size=30).map(" ".join)
SHORT = st.lists(st.text(LETTERS, min_size=1, max_size=9), min_size=1, max_size=30).map(" ".join)
FORMS: dict[str, Callable[[tuple[Section, ...]], str]] = {
    "text": to_text,
    "markdown": to_markdown,
    "html": to_html,
    "page": lambda outline: page_part(outline[0]),
}


def page_part(section: Section) -> str:
    source = '{% import "outline.html" as o %}{{ o.section(part, "/notes/x", "") }}'
    return environment().from_string(source).render(part=section)


def sample(text: str) -> dict[type, Block]:
    """A block of every sort with the text at each place it can stand."""
    drawn = drawing(9, 9, text, [label(1, 1, text, "start"), dot(1, 1, told=text)])
    return {
        Paragraph: Paragraph(text=text, strong=True),
        Figure: Figure(text=text, svg=drawn),
        Points: Points(points=(Point(text=text, source=text), Point(text=text, level=2))),
        Table: Table(head=("One", text), rows=((text, "x"), ("3", text))),
    }


def outline_of(text: str) -> tuple[Section, ...]:
    return (Section(title=text, level=1, blocks=tuple(sample(text).values())),)


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("sort", get_args(Block), ids=lambda sort: sort.__name__)
def test_every_form_draws_every_block(form: str, sort: type) -> None:
    """A block added to `outline` has a sample here and a branch in each form."""
    section = Section(title="", level=2, blocks=(sample("quillmere")[sort],))
    assert "quillmere" in FORMS[form]((section,))


@given(LONG)
def test_terminal_lines_fit_eighty_columns(text: str) -> None:
    assert all(cell_len(line) <= 80 for line in to_text(outline_of(text)).splitlines())


@given(SHORT)
def test_terminal_text_keeps_every_word(text: str) -> None:
    section = Section(title="", blocks=(Paragraph(text=text), sample(text)[Points]))
    shown = "".join(to_text((section,)).split())
    assert shown.count("".join(text.split())) >= 3
    cells = "".join(to_text((Section(title="", blocks=(sample("word " + text)[Table],)),)).split())
    assert cells.count("word") == 3


def test_wide_letters_count_two_columns() -> None:
    table = Table(head=("One", "Two"), rows=(("機" * 60, "x" * 60),))
    lines = to_text((Section(title="", blocks=(table,)),)).splitlines()
    assert max(map(cell_len, lines)) <= 80


@given(SHORT)
def test_markdown_reads_back_as_the_same_text(text: str) -> None:
    """Source: markdown-it-py, a CommonMark parser."""
    tokens = MarkdownIt("commonmark").parse(
        to_markdown((Section(title="", blocks=(Points(points=(Point(text=f"a {text}"),)),)),))
    )
    inline = [t for t in tokens if t.type == "inline"]
    assert [t.type for t in tokens[:2]] == ["bullet_list_open", "list_item_open"]
    read = "".join(child.content for t in inline for child in (t.children or []))
    assert "".join(read.split()) == "".join(f"a {text}".split())


HOSTILE = '<script>alert(1)</script></title></style><b x="\u202e' + "' onload=x>&lt;i&gt;{{7*7}}"


@pytest.mark.parametrize("form", ["html", "page"])
@pytest.mark.parametrize("sort", [None, *get_args(Block)])
def test_html_shows_markup_as_text(form: str, sort: type | None) -> None:
    """Title, and every place of every block; without the escaping one of these fails."""
    block = () if sort is None else (sample(HOSTILE)[sort],)
    made = FORMS[form]((Section(title=HOSTILE if sort is None else "x", blocks=block),))
    tree = lxml_html.fromstring(f"<div>{made}</div>" if form == "page" else made.encode())
    assert not tree.xpath("//script | //b | //i | //*[@onload]")
    assert "\u202e" not in made and "49" not in made
    assert "alert(1)" in "".join(map(str, tree.itertext())) or sort is Figure


def test_svg_shows_markup_as_text() -> None:
    """Its words stand in elements and attributes of the page."""
    parts = [
        label(1, 1, HOSTILE, "start"),
        dot(1, 1, told=HOSTILE),
        box(1, 1, 2, 2, filled=True, told=HOSTILE),
    ]
    for made in (*parts, drawing(9, 9, HOSTILE, [])):
        assert "<script" not in made and "<b" not in made.replace("<box", "")
        assert "alert(1)" in made and "\u202e" not in made


@given(st.text(max_size=200))
def test_nothing_that_steers_a_terminal_gets_through(text: str) -> None:
    shown = screened(text + "\x1b[31m\x9b2J\u202e\u2066\x07\x00")
    assert not set(shown) & set("\x1b\x9b\u202e\u2066\x07\x00\r\x08\x7f")


def test_tables_narrow_to_the_page() -> None:
    table = Table(head=("A", "B"), rows=(("word " * 30, "x" * 120),))
    lines = to_text((Section(title="", blocks=(table,)),)).splitlines()
    assert max(map(len, lines)) <= 80
