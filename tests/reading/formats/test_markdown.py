from itertools import zip_longest

from hypothesis import given, settings
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from triage.reading.formats import blocks_of
from triage.reading.formats.blocks import Block, Shape


def read(text: str) -> list[Block]:
    return list(blocks_of(text, "notes.md"))


def test_headings_entries_and_paragraphs() -> None:
    found = read(
        "# T #\n\nUnder\n---\n\n- a\n  - b\n\n    more\n1) c\n\ntext that\ngoes on  \nbroken\\\noff"
    )
    assert [(b.shape, b.level, b.marker, b.text, b.soft) for b in found] == [
        (Shape.HEADING, 1, "", "T", False),
        (Shape.HEADING, 2, "", "Under", False),
        (Shape.ENTRY, 0, "-", "a", False),
        (Shape.ENTRY, 1, "-", "b", False),
        (Shape.LINE, 1, "", "more", False),
        (Shape.ENTRY, 0, "1)", "c", False),
        (Shape.LINE, 0, "", "text that", False),
        (Shape.LINE, 0, "", "goes on", True),
        (Shape.LINE, 0, "", "broken", False),
        (Shape.LINE, 0, "", "off", False),
    ]


def test_cells_hold_their_lines() -> None:
    found = read("| A | B | C |\n|---|:-:|--:|\n| - one<br>- two | | x \\| y |")
    assert [c.text for c in found[1].cells] == ["one\ntwo", "x | y"]
    assert (found[0].level, found[1].labels) == (1, ("A", "C"))
    assert found[1].text == "one two x | y"


def test_a_break_parts_lines() -> None:
    assert [(b.text, b.soft) for b in read("# t\n\none<br>two<br/>\nthree")[1:]] == [
        ("one", False), ("two", False), ("three", True),
    ]  # fmt: skip


def test_quotations_however_deep_are_read() -> None:
    assert [(b.text, b.quoted) for b in read("> a\n> > b\n\nc")] == [("a", 1), ("b", 2), ("c", 0)]
    deep = read("# t\n\n" + ">" * 500 + " far down\n\nend")
    assert [b.text for b in deep] == ["t", "far down", "end"]
    nested = "".join("  " * n + f"- entry {n}\n" for n in range(150))
    assert [b.text for b in read("# t\n\n" + nested)][1:] == [f"entry {n}" for n in range(150)]


def test_words_of_inline_markup() -> None:
    text = (
        '**Bold:** *em* `code` ~~gone~~ [the page](http://x.example/a_(b) "t") [guide][1] and'
        " [short] ![pic](y.png) x_y_z 2 \\* 3 &amp; <kbd>Esc</kbd><!-- not shipped -->\n\n"
        "[1]: http://x.example\n[short]: /there 'title'\n"
    )
    (block,) = read(text)
    assert block.text == "Bold: em code gone the page guide and short x_y_z 2 * 3 & Esc"


def test_what_looks_like_a_definition_and_is_none_is_kept() -> None:
    found = read(
        "[Note]: update the handset first\n\n## [4.2.0] - 2024-05-01\n\n[4.2.0]: https://x.example\n"
    )
    assert [b.text for b in found] == ["[Note]: update the handset first", "4.2.0 - 2024-05-01"]


def test_comments_over_several_lines_did_not_ship() -> None:
    found = read("# t\n\n- a\n<!-- - b\n\n- c -->\n- d\n")
    assert [b.text for b in found] == ["t", "a", "d"]


def test_html_blocks_code_and_front_matter() -> None:
    text = (
        "---\nversion: 2.3\n---\n<details><summary>More</summary>\n\n- in\n\n</details>\n\n"
        "```sh\nrun\n```\n\n```\n- list\n```\n"
    )
    assert [(b.shape, b.text) for b in read(text)] == [
        (Shape.LINE, "version: 2.3"),
        (Shape.HEADING, "More"),
        (Shape.ENTRY, "in"),
        (Shape.CODE, "run"),
        (Shape.ENTRY, "list"),
    ]


@settings(max_examples=200, deadline=None)
@given(
    st.lists(
        st.sampled_from(
            [
                "# one",
                "## two #",
                "- three",
                "  - four",
                "1. five",
                "six",
                "> seven",
                "",
                "> - eight",
                "***",
            ]
        ),
        max_size=20,
    )
)
def test_blocks_are_those_of_markdown_it(lines: list[str]) -> None:
    """markdown-it-py's own inline contents, as the outside check (CommonMark)."""
    text = "\n".join(lines)
    theirs = [t.content.split("\n") for t in MarkdownIt().parse(text) if t.type == "inline"]
    ours = [block.text for block in read(text)]
    for a, b in zip_longest([line.strip() for part in theirs for line in part], ours):
        assert a == b
