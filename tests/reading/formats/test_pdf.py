import zlib

import pypdfium2
import pytest

from tests.reading.formats.pdf_file import page, pdf
from triage.errors import SourceError
from triage.reading.formats import Document, document_blocks
from triage.reading.formats.blocks import Shape

FOOT = [(60, 40, "Tallow Systems - confidential", 10.0)]


def read(data: bytes) -> Document:
    return document_blocks(data, "notes.pdf")


def test_lines_markers_and_headings() -> None:
    lines = page("• Waypoints can be paused", "• Added a map", "plain words to the end")
    document = read(pdf([[(60, 820, "Heron 2 release notes", 18), *lines]]))
    assert [(b.shape, b.marker, b.text) for b in document.blocks] == [
        (Shape.HEADING, "", "Heron 2 release notes"),
        (Shape.ENTRY, "•", "Waypoints can be paused"),
        (Shape.ENTRY, "•", "Added a map"),
        (Shape.LINE, "", "plain words to the end"),
    ]
    for block in document.blocks:
        start, end = block.mapped.span()
        assert document.text[start:end] == block.text


def test_words_are_those_that_pypdfium2_finds() -> None:
    """pypdfium2's own text of the page, as the outside check."""
    data = pdf([page("Aircraft firmware 01.04.0500", "• Fixed (really) the drift", "50 % of it")])
    theirs = pypdfium2.PdfDocument(data)[0].get_textpage().get_text_bounded()
    ours = "".join(block.marker + block.text for block in read(data).blocks)
    assert "".join(theirs.split()) == "".join(ours.split())


def test_a_divided_word_is_put_together_and_a_compound_keeps_its_hyphen() -> None:
    lines = page(
        "Paused from the con-",
        "troller without landing; an over-the-",
        "air update. Use over-the-air only.",
    )
    text = " ".join(block.text for block in read(pdf([lines])).blocks)
    assert text == (
        "Paused from the controller without landing; an over-the-air update. Use over-the-air only."
    )


def test_a_sentence_runs_over_a_page_break() -> None:
    pages = [
        [
            *page("Tallow notes 4.2", "", "The aircraft returns when"),
            *FOOT,
            (500, 40, "Page 1 of 2", 10.0),
        ],
        [*page("Tallow notes 4.2", "", "the link is lost."), *FOOT, (500, 40, "Page 2 of 2", 10.0)],
    ]
    blocks = read(pdf(pages)).blocks
    assert [b.text for b in blocks[:3]] == [
        "Tallow notes 4.2",
        "The aircraft returns when",
        "the link is lost.",
    ]
    assert blocks[2].gap == 0
    assert [b.text for b in blocks[3:]] == ["Tallow Systems - confidential Page 1 of 2"]


def test_version_headings_at_the_top_of_pages_are_no_running_titles() -> None:
    pages = [page(f"Version {n}", "", "Fixed it.", f"Added {n}.") for n in (12, 11, 10)]
    titles = [b.text for b in read(pdf(pages)).blocks if b.text.startswith("Version")]
    assert titles == ["Version 12", "Version 11", "Version 10"]


def test_columns_are_read_one_after_the_other_and_tables_row_by_row() -> None:
    left = page(*(f"left sentence number {n} here" for n in range(6)))
    right = page(*(f"right sentence number {n} here" for n in range(6)), left=330)
    texts = [b.text for b in read(pdf([[*left, *right]])).blocks]
    assert texts == [
        f"{side} sentence number {n} here" for side in ("left", "right") for n in range(6)
    ]
    by_row = [text for pair in zip(left, right, strict=True) for text in pair]
    rows = read(pdf([by_row])).blocks
    assert [[c.text for c in b.cells] for b in rows] == [
        [f"{side} sentence number {n} here" for side in ("left", "right")] for n in range(6)
    ]


def test_absurd_coordinates_are_passed_over() -> None:
    odd = [(float("nan"), 700, "nan", 10.0), (1e300, 700, "far", 10.0), (60, 700, "near", 10.0)]
    assert "near" in [b.text for b in read(pdf([odd])).blocks]


def test_a_bloated_file_is_refused() -> None:
    bomb = zlib.compress(b"(a) Tj " * 14_000_000, 1)
    with pytest.raises(SourceError, match="unpacks to more than 64 MB"):
        read(pdf([page("words")], [bomb]))


def test_too_many_pages_are_refused() -> None:
    with pytest.raises(SourceError, match="2001 pages"):
        read(pdf([[] for _ in range(2001)]))


def test_a_scan_is_told_as_such() -> None:
    with pytest.raises(SourceError, match="pictures, no text"):
        read(pdf([[]]))


@pytest.mark.parametrize("data", [b"%PDF-1.7 cut off", b"%PDF-1.4\n" + bytes(range(256)) * 40])
def test_a_damaged_file_is_refused(data: bytes) -> None:
    with pytest.raises(SourceError, match="PDF"):
        read(data)
