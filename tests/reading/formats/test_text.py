import pytest

from triage.reading.formats import blocks_of
from triage.reading.formats.blocks import Block, Shape


def read(text: str) -> list[Block]:
    return list(blocks_of(text, "notes.txt"))


def rows(text: str) -> list[list[str]]:
    return [[cell.text for cell in block.cells] for block in read(text)]


@pytest.mark.parametrize(
    ("line", "marker", "words"),
    [
        ("- a word", "-", "a word"),
        ("  * a word", "*", "a word"),
        ("•word", "•", "word"),
        ("1. word", "1.", "word"),
        ("2) word", "2)", "word"),
        ("(3) word", "(3)", "word"),
        ("4、新增", "4、", "新增"),
        ("①word", "①", "word"),
        ("⑳ word", "⑳", "word"),
        ("❷ word", "❷", "word"),
        ("１．word", "1.", "word"),
        ("・word", "・", "word"),
        ("※ word", "※", "word"),
        ("◆word", "◆", "word"),
        ("🔧 word", "🔧", "word"),
        ("[x] word", "[x]", "word"),
        ("a) word", "a)", "word"),
        ("2.x is old", "", "2.x is old"),
        ("2.3 Released", "", "2.3 Released"),
        ("2.0.3 (1 week ago)", "", "2.0.3 (1 week ago)"),
        ("3.5 V per cell", "", "3.5 V per cell"),
        ("-5 degrees", "", "-5 degrees"),
        ("10 m/s", "", "10 m/s"),
    ],
)
def test_markers(line: str, marker: str, words: str) -> None:
    (block,) = read(line)
    assert (block.marker, block.text) == (marker, words)
    assert (block.shape is Shape.ENTRY) == bool(marker)


def test_numbers_of_sections_are_told_from_versions_by_what_came_before() -> None:
    found = read("2  CHANGES\n\n2.1 Return\n2.2 Camera\n\n4.2 Released\n4.1 Older")
    assert [b.marker for b in found] == ["2", "2.1", "2.2", "", ""]


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r", "\u2028"])
def test_line_ends(end: str) -> None:
    found = read(f"one{end}two{end}{end}three")
    assert [(b.text, b.gap) for b in found] == [("one", 0), ("two", 0), ("three", 1)]


def test_a_number_that_ends_a_sentence_is_no_marker() -> None:
    found = read(
        "- The dead band, 8 units so far, is\n  2. You feel it\n1. one\n2. two\n\n7. seven"
    )
    assert [(b.marker, b.text) for b in found] == [
        ("-", "The dead band, 8 units so far, is"),
        ("", "2. You feel it"),
        ("1.", "one"),
        ("2.", "two"),
        ("7.", "seven"),
    ]


def test_quotation_and_indent() -> None:
    found = read("> > said\n\tin\n    - entry")
    assert [(b.quoted, b.indent, b.text) for b in found] == [
        (2, 0, "said"),
        (0, 4, "in"),
        (0, 4, "entry"),
    ]
    assert read(">" * 1000 + " deep")[0].quoted == 1000


def test_columns_are_rows_under_their_headings() -> None:
    found = read(
        "Component    Version    Changed\nHandset      3.7.0      yes\nGNSS                    no"
    )
    assert [b.shape for b in found] == [Shape.ROW] * 3
    assert found[1].labels == ("Component", "Version", "Changed")
    assert found[2].labels == ("Component", "Changed")
    assert found[0].level == 1


def test_names_and_values_have_no_headings() -> None:
    found = read("Model:     Heron Duo\nVersion:   2.3")
    assert [[c.text for c in b.cells] for b in found] == [
        ["Model:", "Heron Duo"],
        ["Version:", "2.3"],
    ]
    assert not any(b.labels for b in found)


def test_cells_that_run_over_lines_are_put_together() -> None:
    text = (
        "Version   Date         Changes                      Requires\n"
        "2.3.1     2024-05-01   Fixed a long description     App 2.2 or\n"
        "                       that wraps                   newer\n"
        "                       New thing added\n"
        "2.3.0     2024-04-01   Other                        App 2.1\n"
    )
    assert rows(text)[1:] == [
        [
            "2.3.1",
            "2024-05-01",
            "Fixed a long description that wraps\nNew thing added",
            "App 2.2 or newer",
        ],
        ["2.3.0", "2024-04-01", "Other", "App 2.1"],
    ]


def test_lines_under_the_last_column_follow_their_row() -> None:
    found = read(
        "ID        Text\nGP-1      Height was added twice from\n          a stored point.\n"
        "GP-2      Other"
    )
    assert [b.shape for b in found] == [Shape.ROW, Shape.ROW, Shape.LINE, Shape.ROW]


def test_pairs_below_a_common_first_cell_stay_pairs() -> None:
    assert rows("2.3    Aircraft    1.2.3\n       Remote      1.1.0\n2.2    Aircraft    1.1.9")[
        1
    ] == ["Remote", "1.1.0"]


def test_grids_and_tabs() -> None:
    rule = "+-----+-------+\n"
    grid = f"{rule}| Ver | Text  |\n{rule}| 2.3 | Fixed |\n|     | Added |\n{rule}"
    assert rows(grid) == [["Ver", "Text"], ["2.3", "Fixed\nAdded"]]
    tabs = read("Name\tOld\tNew\nAngle\t\t45\n")
    assert ([c.text for c in tabs[1].cells], tabs[1].labels) == (["Angle", "45"], ("Name", "New"))


def test_one_line_of_columns_is_a_line() -> None:
    (block,) = read("Oysterbird 7          Document 3")
    assert (block.shape, block.cells, block.text) == (Shape.LINE, (), "Oysterbird 7 Document 3")


def test_running_titles_and_feet_leave_the_flow() -> None:
    text = (
        "Tern notes      Doc. 7\n\nThe link is lost when it\n\nTern GmbH      Page 1 of 2\n"
        "Tern notes      Doc. 7\n\nrains.\n\nTern GmbH      Page 2 of 2\n"
    )
    assert [b.text for b in read(text)] == [
        "Tern notes Doc. 7",
        "The link is lost when it",
        "rains.",
        "Tern GmbH Page 1 of 2",
    ]
    assert read(text)[2].gap == 0
    assert [b.text for b in read("Sentence that\n\x0cgoes on")] == ["Sentence that", "goes on"]


def test_headings_that_repeat_near_the_edge_of_pages_stay() -> None:
    page = "Tern Ltd    RN-7\n\n{}\n\nKnown issues\n- map is grey\n\nTern Ltd    Page {} of 3\n"
    text = "".join(page.format(f"Version {9 - n}", n) for n in (1, 2, 3))
    found = [b.text for b in read(text)]
    assert found.count("Known issues") == found.count("map is grey") == 3
    assert [t for t in found if t.startswith("Version")] == ["Version 8", "Version 7", "Version 6"]
    assert found.count("Tern Ltd RN-7") == 1


def test_harmless_characters() -> None:
    (block,) = read(
        "\x1b[31mFixed\x1b[0m the fi\u00adrm\u200bware\u202e of \u2018X\u2019 \uff36\uff11.\uff12"
    )
    assert block.text == "Fixed the firmware of 'X' V1.2"
