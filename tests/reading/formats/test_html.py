import lxml.html
from hypothesis import given, settings
from hypothesis import strategies as st

from triage.reading.formats import blocks_of, document_blocks
from triage.reading.formats.blocks import Block, Shape


def read(text: str) -> list[Block]:
    return list(blocks_of(text, "page.html"))


def texts(text: str) -> list[str]:
    return [block.text for block in read(text)]


def test_a_page() -> None:
    found = read(
        "<html><head><title>Heron 2.3</title><style>p{}</style></head><body><h2>New</h2><ul><li>One"
        "<ul><li>Two &amp; <b>three</b></ul><li>Four</ul><ol><li>Five</ol><p><b>All bold</b></p>"
        "<blockquote>said<blockquote>before</blockquote></blockquote></body>"
    )
    assert [(b.shape, b.level, b.marker, b.quoted, b.bold, b.text) for b in found] == [
        (Shape.HEADING, 6, "", 0, False, "Heron 2.3"),
        (Shape.HEADING, 2, "", 0, False, "New"),
        (Shape.ENTRY, 0, "-", 0, False, "One"),
        (Shape.ENTRY, 1, "-", 0, False, "Two & three"),
        (Shape.ENTRY, 0, "-", 0, False, "Four"),
        (Shape.ENTRY, 0, "1.", 0, False, "Five"),
        (Shape.LINE, 0, "", 0, True, "All bold"),
        (Shape.LINE, 0, "", 1, False, "said"),
        (Shape.LINE, 0, "", 2, False, "before"),
    ]


def test_line_breaks_part_lines_of_one_paragraph() -> None:
    found = read("<p>• one<br>• two<br/><br>three</p><p>four")
    assert [(b.marker, b.text, b.gap) for b in found] == [
        ("•", "one", 1), ("•", "two", 0), ("", "three", 1), ("", "four", 1),
    ]  # fmt: skip


def test_cells_stand_under_their_headings_through_spans() -> None:
    found = read(
        "<table><tr><th rowspan=2>Version<th colspan=2>Firmware<th rowspan=2>Changes</tr>"
        "<tr><th>Aircraft</th><th>Remote</th></tr>"
        "<tr><td rowspan=2>5.2</td><td>5.2.1</td><td>1.1</td>"
        "<td><ul><li>Added A<li>Fixed B</ul></td></tr>"
        "<tr><td>5.2.2</td><td></td><td>Fixed C<br>Changed D</td></tr></table>"
    )
    assert [([c.text for c in b.cells], b.labels) for b in found[2:]] == [
        (
            ["5.2", "5.2.1", "1.1", "Added A\nFixed B"],
            ("Version", "Firmware Aircraft", "Firmware Remote", "Changes"),
        ),
        (["5.2.2", "Fixed C\nChanged D"], ("Firmware Aircraft", "Changes")),
    ]
    assert [b.level for b in found] == [1, 1, 0, 0]


def test_tables_that_only_arrange_the_page_are_read_through() -> None:
    page = (
        "<table><tr><td><h2>News</h2><p>Hello</td><td>side</td></tr></table>"
        "<table role=presentation><tr><td>left</td><td>right</td></tr></table>"
        "<table><tr><td><table><tr><td>A</td><td>B</td></tr></table></td></tr></table>"
    )
    assert [(b.shape, b.text) for b in read(page)] == [
        (Shape.HEADING, "News"),
        (Shape.LINE, "Hello"),
        (Shape.LINE, "side"),
        (Shape.LINE, "left"),
        (Shape.LINE, "right"),
        (Shape.ROW, "A B"),
    ]


def test_what_is_not_shown_is_left_out_and_said() -> None:
    page = (
        "<html><!-- <li>comment --><p>shown</p><script>if (a<b) x('<p>no')</script>"
        "<template><p>no</template>"
        "<div style='display: none'>hidden words for nobody<div>inner</div></div>"
        "<p hidden>more hidden words<p>next</p><![if !mso]>both<![endif]>"
        "<div class='accordion-panel' style='display:none'>folded</div><select><option>x</select>"
    )
    document = document_blocks(page.encode(), "a.html")
    assert [b.text for b in document.blocks] == ["shown", "next", "both", "folded"]
    assert document.remarks == ("45 characters that the page does not show were left out",)


def test_what_is_never_closed_loses_nothing() -> None:
    assert texts("<p>a<template>b<p>c") == ["a", "b", "c"]
    assert texts("<p>a<!-- b <p>c") == ["a<!-- b", "c"]
    assert texts("<p>a<div hidden>b<p>c") == ["a", "b", "c"]
    assert texts("<h2>Title<p>words<p>more")[1:] == ["words", "more"]
    assert texts("<dl><dt>Version<dd>2.3<dt>Date<dd>May</dl>after") == [
        "Version",
        "2.3",
        "Date",
        "May",
        "after",
    ]
    assert texts("<p>a < b and c <d") == ["a < b and c <d"]


def test_attributes_may_hold_anything() -> None:
    assert texts("<p title=\"a > b\">x</p><a href=' hidden '>y</a><img alt='>'>z") == ["x", "yz"]
    assert texts("<p>" + "<a href='u'>Home</a><a href='v'>Shop</a>") == ["Home Shop"]


def test_lines_that_are_kept() -> None:
    page = (
        "<pre>  - a &lt; b\n  - c</pre><div style='white-space: pre-line'>one\ntwo</div>"
        "<p>three\nfour"
    )
    assert [(b.marker, b.text) for b in read(page)] == [
        ("-", "a < b"), ("-", "c"), ("", "one"), ("", "two"), ("", "three four"),
    ]  # fmt: skip


def test_entities_are_decoded_once() -> None:
    long = "9" * 5000
    assert texts(f"<p>AT&amp;amp;T&nbsp;&#65;&hellip; &#{long};")[0].startswith("AT&amp;T A… &#999")


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
        "</i>",
        "<div>",
        "</div>",
        "<h2>",
        "</h2>",
        "<td>",
        "<tr>",
        "<table>",
        "</table>",
        "<br>",
        "<span>",
        "</span>",
        "<ol>",
        "<blockquote>",
    ]
)


@settings(max_examples=200, deadline=None)
@given(st.lists(st.one_of(TAGS, st.sampled_from(["word", "two words", " "])), max_size=40))
def test_words_are_those_that_lxml_finds(parts: list[str]) -> None:
    """lxml's text content, as the outside check."""
    page = "<html><body><p>a" + "".join(parts)
    theirs = "".join(str(lxml.html.fromstring(page).xpath("string()")).split())
    assert "".join("".join(block.text.split()) for block in read(page)) == theirs
