"""Every character of a block stands in the source where its place says."""

import html
import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from triage.domain.notes import SourceFormat
from triage.reading.formats import blocks_of
from triage.reading.formats.blocks import Block
from triage.reading.formats.screen import screen
from triage.reading.mapped import Mapped

MARKUP = st.sampled_from(
    [
        "<p>",
        "</p>",
        "<ul>",
        "<li>",
        "</li>",
        "</ul>",
        "<b>",
        "</b>",
        "<br>",
        "<table>",
        "<tr>",
        "<td>",
        "<th>",
        "</td>",
        "</tr>",
        "</table>",
        "<h2>",
        "</h2>",
        "<pre>",
        "</pre>",
        "<blockquote>",
        "</blockquote>",
        "<!--",
        "-->",
        "<div",
        "hidden>",
        "</div>",
        "<td",
        "rowspan=2>",
        "#",
        "##",
        "-",
        "*",
        "1.",
        ">",
        "|",
        "|---|",
        "**",
        "_",
        "`",
        "[",
        "]",
        "(u)",
        "\\",
        "```",
        "&amp;",
        "&nbsp;",
        "&#65;",
        "\xad",
        "①",
        "2.3",
        "2.3.1",
        "Fixed",
        "Page",
        "1",
        "of",
        "2",
        "\x0c",
        "x",
        "word",
    ]
)
TEXTS = st.lists(
    st.one_of(
        MARKUP, st.sampled_from(["\n", "\n\n", " ", "   ", "\t", "\r\n", "\r"]), st.text(max_size=4)
    ),
    max_size=60,
)
FORMS = (SourceFormat.TEXT, SourceFormat.MARKDOWN, SourceFormat.HTML, SourceFormat.MAIL)


def pieces(block: Block) -> tuple[Mapped, ...]:
    return block.cells or (block.mapped,)


def stands(char: str, source: str, at: int) -> bool:
    """The same character, a blank for a blank or tag, or what an entity means."""
    found = source[at : at + 1]
    if found == char or (char in " \n" and (found.isspace() or found in "<&|")):
        return True
    return found == "&" and char in html.unescape(source[at : source.find(";", at) + 1])


@pytest.mark.parametrize("form", FORMS)
@settings(max_examples=150, deadline=None)
@given(TEXTS)
def test_places_are_exact(form: SourceFormat, parts: list[str]) -> None:
    head = "From: a\nSubject: b\n\n" if form is SourceFormat.MAIL else ""
    source = screen(head + "".join(parts))
    for block in blocks_of(source, "x", form):
        assert block.text and block.text == block.text.strip()
        for piece in pieces(block):
            places = [piece.at(offset) for offset in range(len(piece.text))]
            assert all(a <= b for a, b in itertools.pairwise(places))
            for offset, (char, at) in enumerate(zip(piece.text, places, strict=True)):
                between = offset > 0 and char in " \n"
                assert between or stands(char, source, at), (
                    piece,
                    offset,
                    char,
                    source[at : at + 5],
                )


@pytest.mark.parametrize("form", (SourceFormat.TEXT, SourceFormat.MARKDOWN))
@settings(max_examples=150, deadline=None)
@given(
    st.lists(
        st.sampled_from(
            [
                "word",
                "two words",
                "- entry",
                "1. one",
                "> said",
                "",
                "| a | b |",
                "|---|---|",
                "a     b",
                "    in",
                "```",
                "# T",
                "---",
                "x  ",
            ]
        ),
        max_size=40,
    )
)
def test_no_word_is_lost(form: SourceFormat, lines: list[str]) -> None:
    source = "\n".join(lines)
    read = "".join(block.text for block in blocks_of(source, "x", form))
    letters = [c for c in source if c.isalpha()]
    assert sorted(c for c in read if c.isalpha()) == sorted(letters)
