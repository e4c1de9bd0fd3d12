"""What holds for any input: only our own errors, nothing told twice, nothing hidden in text."""

from __future__ import annotations

import datetime as dt
import re
import textwrap
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from triage.domain.notes import Notes, SourceFormat
from triage.errors import SourceError
from triage.notes import read, read_text

Document = list[tuple[str, str, str, list[str], list[str]]]
FORMATS = [SourceFormat.TEXT, SourceFormat.MARKDOWN, SourceFormat.HTML]
WORDS = [
    "hover",
    "gimbal",
    "battery",
    "drift",
    "wind",
    "landing",
    "map",
    "update",
    "camera",
    "strong",
    "faster",
    "warning",
    "height",
    "quicker",
    "shown",
    "before",
    "low",
    "slow",
    "climbs",
    "turns",
    "home",
    "pilot",
    "stick",
    "menu",
    "screen",
    "motor",
    "cell",
    "radio",
    "the",
    "a",
    "of",
    "in",
]
# Fragments that readers react to; '_' stands for a blank, '~' for a line break.
VISIBLE = """
-_ *_ 1._ •_ __ ____ ~ ~~ #_ ##_ ---~ ===~ v2.0 1.2.3-rc1 03/04/2026 2026-03-04 4_May_2026
Release_1.4.0 Bug_fixes~ What's_new:~ <li> </li> <ul> <!-- --> <table><tr><td> </td> | || ` **
[ ]( ) (#12) https://x.y/z thanks_to_@a &#27; &lt;b&gt; “ ： Requires_app_5.3_or_later._ App:_v5.3
Aircraft_firmware:_v1.0 fixed_the_drift Added_a_menu . :
"""
PIECES = st.sampled_from(
    [piece.replace("_", " ").replace("~", "\n") for piece in VISIBLE.split()]
    + [
        "\r\n",
        "\t",
        "\x1b[31m",
        "\u202e",
        "\x00",
        "\x07",
        "\ufeff",
        "\u00a0",
        "\u0085",
        "\f",
        "\ue000",
    ]
)
ANYTHING = st.one_of(st.text(max_size=300), st.lists(PIECES, max_size=40).map("".join))
FORBIDDEN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069\u061c]")


def texts_of(notes: Notes) -> list[str]:
    found = []
    for release in notes.releases:
        found += [release.title, release.unit, release.version]
        found += [release.date.text] if release.date else []
        found += [r.text + r.name + r.version for r in release.requirements]
        found += [i.text for i in release.instructions]
        for item in release.items:
            found += [item.text, *item.heading]
    return found


def outline(notes: Notes) -> list[tuple[object, ...]]:
    return [
        (
            r.version,
            r.status,
            r.date and r.date.day,
            [(i.text, i.heading, i.level) for i in r.items],
        )
        for r in notes.releases
    ]


@settings(max_examples=250, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(ANYTHING, st.sampled_from([None, *FORMATS]))
def test_any_text_reads_or_is_refused_with_our_own_error(
    text: str, form: SourceFormat | None
) -> None:
    try:
        notes = read_text(text, "paste", format=form)
    except SourceError as error:
        assert "\n" not in str(error) and error.mend
        return
    taken = sorted(
        (place.start, place.end) for r in notes.releases for i in r.items for place in i.places
    )
    assert all(0 <= start < end <= len(text) for start, end in taken)
    assert all(a[1] <= b[0] for a, b in pairwise(taken)), "spans overlap"
    for release in notes.releases:
        for item in release.items:
            place = item.places[0]
            assert item.original == text[place.start : place.end]
            lines = re.split("\r\n|\r|\n", text[: place.start])
            assert place.line == len(lines)
            assert item.text.strip() == item.text and item.text
    assert not any(FORBIDDEN.search(words) for words in texts_of(notes))
    refs = [item.ref for r in notes.releases for item in r.items]
    assert refs == [str(number) for number in range(1, len(refs) + 1)]


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=200), st.sampled_from([None, *SourceFormat]))
def test_any_bytes_read_or_are_refused_with_our_own_error(
    data: bytes, form: SourceFormat | None
) -> None:
    try:
        read(data, "file.bin", format=form)
    except SourceError as error:
        assert "file.bin" in str(error)


def sentence(words: list[str]) -> str:
    return " ".join(words).capitalize() + "."


SENTENCES = st.lists(st.sampled_from(WORDS), min_size=4, max_size=14).map(sentence)
PARAGRAPHS = st.lists(SENTENCES, min_size=1, max_size=4).map(" ".join)
ENTRIES = st.lists(PARAGRAPHS, min_size=1, max_size=5)
BULLETS = st.sampled_from(["- ", "* ", "• ", "+ "])


@st.composite
def documents(draw: st.DrawFn) -> Document:
    """Releases as (header, bullet, section, entries, paragraphs)."""
    count = draw(st.integers(1, 3))
    parts = []
    for number in range(count):
        day = draw(st.dates(min_value=dt.date(2015, 1, 1)))
        header = f"Release {draw(st.integers(0, 9))}.{draw(st.integers(0, 30))}.{number}"
        parts.append(
            (
                f"{header} {day:%d %B %Y}" if day.year < 2090 else header,
                draw(BULLETS),
                draw(
                    st.sampled_from(
                        ["Bug fixes", "What's new", "Known issues", "1) System changes"]
                    )
                ),
                draw(ENTRIES),
                draw(st.lists(PARAGRAPHS, max_size=2)),
            )
        )
    return parts


def written(document: Document, width: int | None) -> str:
    def wrap(text: str, first: str = "", rest: str = "") -> str:
        if width is None:
            return first + text
        return textwrap.fill(text, width, initial_indent=first, subsequent_indent=rest)

    lines = []
    for header, bullet, section, entries, paragraphs in document:
        lines += [header, ""]
        lines += [wrap(text) + "\n" for text in paragraphs]
        lines += [section, ""]
        lines += [wrap(text, bullet, "  ") for text in entries]
        lines += [""]
    return "\n".join(lines)


@settings(max_examples=60, deadline=None)
@given(documents(), st.sampled_from(["\n", "\r\n", "\r"]), st.integers(0, 3))
def test_line_endings_and_trailing_spaces_change_nothing(
    document: Document, ending: str, blanks: int
) -> None:
    text = written(document, 60)
    other = (" " * blanks + ending).join(text.split("\n"))
    form = SourceFormat.TEXT
    assert outline(read_text(text, "a", format=form)) == outline(read_text(other, "a", format=form))


@settings(max_examples=80, deadline=None)
@given(documents(), st.integers(45, 110))
def test_wrapping_paragraphs_anew_changes_nothing(document: Document, width: int) -> None:
    form = SourceFormat.TEXT
    whole = read_text(written(document, None), "a", format=form)
    wrapped = read_text(written(document, width), "a", format=form)
    assert outline(whole) == outline(wrapped)


@settings(max_examples=60, deadline=None)
@given(documents(), documents())
def test_two_documents_in_a_row_give_the_releases_of_both(one: Document, two: Document) -> None:
    form = SourceFormat.TEXT
    first, second = written(one, 72), written(two, 72)
    apart = outline(read_text(first, "a", format=form)) + outline(
        read_text(second, "a", format=form)
    )
    assert outline(read_text(first + "\n\n" + second, "a", format=form)) == apart


@pytest.mark.parametrize("form", FORMATS)
@settings(max_examples=30, deadline=None)
@given(document=documents())
def test_every_bullet_is_an_item(form: SourceFormat | None, document: Document) -> None:
    if form is SourceFormat.HTML:
        text = "".join(
            f"<h2>{header}</h2><h3>{section}</h3><ul>"
            + "".join(f"<li>{entry}</li>" for entry in entries)
            + "</ul>"
            for header, _, section, entries, _ in document
        )
    else:
        text = written([(h, "- ", s, e, []) for h, _, s, e, _ in document], 70)
        text = (
            re.sub(r"(?m)^Release", "## Release", text) if form is SourceFormat.MARKDOWN else text
        )
    notes = read_text(text, "a", format=form)
    assert [r.version for r in notes.releases] == [d[0].split()[1] for d in document]
    for release, part in zip(notes.releases, document, strict=True):
        assert {i.text for i in release.items} == set(part[3])
