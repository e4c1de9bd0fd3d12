import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.errors import SourceError, TriageError
from triage.reading.formats import document_blocks
from triage.reading.formats.decode import LIMIT, decode, refuse_unreadable

CYRILLIC = "Обновление прошивки 2.3\nИсправлено отключение моторов\n"
JAPANESE = "ファームウェア更新 V1.2\n・離陸時の不具合を修正\n"
CHINESE = "青鹭 Q5 固件更新说明\n1、新增一键环绕功能\nAdded one-tap orbit\n"


@pytest.mark.parametrize(
    ("text", "encoding"),
    [
        ("Charging stops at 45 °C – really\n", "cp1252"),
        ("Höhe für die Rückkehr geändert auf 40 m.\n", "latin-1"),
        (CYRILLIC, "cp1251"),
        (CYRILLIC, "koi8-r"),
        (JAPANESE, "cp932"),
        (CHINESE, "gb18030"),
        ("펌웨어 업데이트\n이륙 문제 수정\n", "euc-kr"),
        (JAPANESE, "utf-8"),
        (CYRILLIC, "utf-16"),
        ("Version 2.3\n", "utf-16-le"),
        (CHINESE, "utf-32"),
    ],
)
def test_a_text_is_read_in_its_encoding(text: str, encoding: str) -> None:
    decoded = decode(text.encode(encoding), "x.txt")
    assert decoded.text == text
    assert bool(decoded.remarks) == (encoding not in ("utf-8", "utf-16", "utf-32"))


def test_a_declared_charset_is_used_and_said() -> None:
    data = '<meta charset="iso-8859-5"><p>Обновление'.encode("iso-8859-5")
    decoded = decode(data, "x.html")
    assert (decoded.text[-10:], decoded.encoding) == ("Обновление", "iso-8859-5")
    assert "as it declares" in decoded.remarks[0]


@pytest.mark.parametrize(
    "codec",
    ["base64", "hex", "rot13", "zlib", "idna", "utf-7", "unicode_escape", "none-such", "undefined"],
)
def test_a_declared_codec_that_is_no_charset_is_passed_over(codec: str) -> None:
    assert decode(f"<meta charset={codec}>caf".encode() + b"\xe9", "x").text.endswith("café")


def test_a_text_cut_in_the_middle_of_a_letter() -> None:
    assert decode(("ü" * 2000).encode()[:-1], "x").text == "ü" * 1999


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"{\\rtf1\\ansi Version 2}", "RTF document.*save it as text"),
        (b"PK\x03\x04\x14\0\x06\0", "office document"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1", "old office document"),
        (b"bplist00\xd1", "web archive"),
        (b"GIF89a\x01", "picture.*PNG"),
        (b"\x1f\x8b\x08\0", "compressed"),
        (b"\x7fELF\x02", "program"),
        (b"SQLite format 3\0", "database"),
        (bytes(range(32)) * 40, "binary data"),
        (b"", "empty"),
        (b" \r\n\t\n", "empty"),
        (b"\0\0\0\0", "empty"),
        (b"\xef\xbb\xbf", "empty"),
    ],
)
def test_what_is_no_text_is_refused_with_the_mend(data: bytes, words: str) -> None:
    with pytest.raises(SourceError, match=rf"^x\.bin: .*{words}"):
        document_blocks(data, "x.bin")


def test_what_is_too_long_is_refused() -> None:
    with pytest.raises(SourceError, match="more than the 50 MB"):
        refuse_unreadable(b"a" * (LIMIT + 1), "x")


@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    try:
        document = document_blocks(data, "x")
    except TriageError:
        return
    assert document.blocks and document.source.characters == len(document.text)
