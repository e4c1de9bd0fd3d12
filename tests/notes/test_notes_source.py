"""Bytes to text: encodings, formats, and what is refused."""

import subprocess
import sys

import pytest

from triage.domain.notes import SourceFormat
from triage.errors import SourceError
from triage.notes import read, read_text

NOTES = "Release 1.2 3 May 2026\n- Fixed the “drift” – for good\n"


@pytest.mark.parametrize(
    ("codec", "mark", "named"),
    [
        ("utf-8", b"", "utf-8"),
        ("utf-8", b"\xef\xbb\xbf", "utf-8"),
        ("utf-16-le", b"\xff\xfe", "utf-16-le"),
        ("utf-16-be", b"\xfe\xff", "utf-16-be"),
        ("utf-16-le", b"", "utf-16-le"),
        ("utf-32-le", b"\xff\xfe\x00\x00", "utf-32-le"),
        ("cp1252", b"", "cp1252"),
    ],
)
def test_each_encoding_gives_the_same_items(codec: str, mark: bytes, named: str) -> None:
    notes = read(mark + NOTES.encode(codec), "notes.txt")
    assert notes.source.encoding == named
    assert [i.original for r in notes.releases for i in r.items] == [
        "- Fixed the “drift” – for good"
    ]
    assumed = named == "cp1252" or (named.startswith("utf-16") and not mark)
    assert any("read as" in remark for remark in notes.remarks) == assumed


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "empty"),
        (b" \n\t ", "empty"),
        (b"PK\x03\x04abc", "zip"),
        (b"\x89PNG\r\n", "picture"),
        (bytes(range(256)) * 9, "binary"),
        (b"%PDF-1.4\nnonsense", "PDF"),
        (b"-----\n=====\n", "no change items"),
    ],
)
def test_what_cannot_be_read_is_refused_with_a_mend(data: bytes, words: str) -> None:
    with pytest.raises(SourceError) as caught:
        read(data, "notes.bin")
    assert words in str(caught.value)
    assert caught.value.mend
    assert str(caught.value).startswith("notes.bin: ")


def test_more_than_fifty_megabytes_are_refused() -> None:
    with pytest.raises(SourceError, match="50 MB"):
        read(b"a" * (50 * 1024 * 1024 + 1), "long.txt")


@pytest.mark.parametrize(
    ("text", "name", "form"),
    [
        ("Release 1\n- a\n* b", "paste", SourceFormat.TEXT),
        ("# Notes\n\n## 1.2\n- a", "paste", SourceFormat.MARKDOWN),
        ("## [1.2](https://x.y) (2026-01-02)\n* a", "paste", SourceFormat.MARKDOWN),
        ("<h2>1.2</h2><ul><li>a</li></ul>", "paste", SourceFormat.HTML),
        ("<h2>1.2</h2>\n<ul><li>a <a href=http://x>#1</a></ul>", "notes.txt", SourceFormat.HTML),
        ("plain words", "notes.md", SourceFormat.MARKDOWN),
        ("if a < b then <c>", "paste", SourceFormat.TEXT),
    ],
)
def test_the_format_is_told_by_the_text_then_by_the_name(
    text: str, name: str, form: SourceFormat | None
) -> None:
    assert read_text(text, name).source.format is form


def test_the_given_format_wins() -> None:
    notes = read_text("# 1.2\n- a", "x.md", format=SourceFormat.TEXT)
    assert notes.source.format is SourceFormat.TEXT


def test_header_without_items_is_a_remark_not_an_error() -> None:
    notes = read_text("Release 1.2 3 May 2026\n", "paste")
    assert notes.releases[0].version == "1.2"
    assert any("no change items" in remark for remark in notes.remarks)


def test_importing_the_room_loads_no_reader_library() -> None:
    code = (
        "import sys, triage.notes; "
        "heavy = ('lxml', 'markdown_it', 'pypdfium2', 'spacy', 'dateutil');"
        "print([m for m in heavy if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
