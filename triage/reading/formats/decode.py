"""Bytes to text.

Errors: SourceError for empty, binary or over-long input, with the mend.
"""

from __future__ import annotations

import codecs
import re
from typing import NamedTuple

from triage.errors import SourceError

LIMIT = 50 * 1024 * 1024  # bytes
_SNIFF = 65_536
_MANY = 0.12  # share of bytes above 127 from which a text is hardly Western (measured on samples)

_MARKS = (  # the longer marks first: UTF-32 LE begins with the mark of UTF-16 LE
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
_AS_TEXT = "save the notes as text, Markdown, HTML or PDF"
_BINARY = (
    (b"{\\rtf", "an RTF document", "open it and save it as text, HTML or PDF"),
    (b"PK\x03\x04", "an office document or zip archive", _AS_TEXT),
    (b"\xd0\xcf\x11\xe0", "an old office document or mail", _AS_TEXT),
    (b"bplist00", "a web archive", "save the page as HTML or print it to PDF"),
    (b"\x89PNG", "a picture", _AS_TEXT),
    (b"\xff\xd8\xff", "a picture", _AS_TEXT),
    (b"GIF8", "a picture", "save it as PNG, or save the notes as text"),
    (b"II*\x00", "a picture", "save it as PNG, or save the notes as text"),
    (b"MM\x00*", "a picture", "save it as PNG, or save the notes as text"),
    (b"RIFF", "a picture or sound", _AS_TEXT),
    (b"\x1f\x8b", "a compressed file", "unpack it first"),
    (b"BZh", "a compressed file", "unpack it first"),
    (b"\xfd7zXZ", "a compressed file", "unpack it first"),
    (b"(\xb5/\xfd", "a compressed file", "unpack it first"),
    (b"7z\xbc\xaf", "a compressed file", "unpack it first"),
    (b"Rar!", "a compressed file", "unpack it first"),
    (b"\x7fELF", "a program", _AS_TEXT),
    (b"MZ\x90", "a program", _AS_TEXT),
    (b"SQLite format 3", "a database", _AS_TEXT),
)
_DECLARED = re.compile(
    rb"""(?:charset|encoding)\s{0,5}=\s{0,5}["']?([A-Za-z0-9_.:-]{2,30})""", re.I
)
# What documents are met in; among all it knows charset-normalizer takes rare ones for these.
_USUAL = (
    *("cp1250", "cp1251", "cp1253", "cp1254", "cp1255", "cp1256", "koi8_r", "iso8859_5", "cp866"),
    *("cp932", "euc_jp", "gb18030", "big5", "euc_kr"),
)
# Codecs that Python calls text encodings and no document is written in.
_NO_CHARSET = frozenset(
    (
        "idna",
        "punycode",
        "undefined",
        "unicode_escape",
        "raw_unicode_escape",
        "utf_7",
        "mbcs",
        "oem",
    )
)


class Decoded(NamedTuple):
    """Decoded text, the encoding, and what had to be assumed."""

    text: str
    encoding: str
    remarks: tuple[str, ...] = ()


def refuse_unreadable(data: bytes, name: str) -> None:
    """Raise SourceError for input that is empty, too long, or of a known binary form."""
    if len(data) > LIMIT:
        raise SourceError(
            f"{len(data) / 1048576:.0f} MB is more than the {LIMIT >> 20} MB that are read",
            where=name,
            mend="cut out the releases of interest and read those",
        )
    if not data.strip(b" \t\r\n\0"):
        raise _empty(name)
    for mark, what, mend in _BINARY:
        if data.startswith(mark):
            raise SourceError(f"this is {what}, not release notes as text", where=name, mend=mend)


def decode(data: bytes, name: str, declared: str = "") -> Decoded:
    """Decode by byte-order mark, UTF-8, UTF-16 by its zeros, a declared charset, or its look.

    `declared`: the charset that stands outside the data, as in a mail's head.
    """
    decoded = _decoded(data, declared)
    head = decoded.text[:_SNIFF]
    odd = sum(head.count(chr(code)) for code in (*range(9), *range(14, 27), *range(28, 32)))
    if head.count("\0") > len(head) * 0.01 or odd > len(head) * 0.03:
        raise SourceError("this is binary data, not text", where=name, mend=_AS_TEXT)
    if not decoded.text.strip():
        raise _empty(name)
    return decoded


def _empty(name: str) -> SourceError:
    return SourceError("the document is empty", where=name, mend="paste the notes again")


def _decoded(data: bytes, declared: str) -> Decoded:
    for mark, encoding in _MARKS:
        if data.startswith(mark):
            text = data[len(mark) :].decode(encoding, errors="replace")
            lost = (f"some bytes are no {encoding} and were replaced",) if "\ufffd" in text else ()
            return Decoded(text, encoding, lost)
    if zeros := _utf16_by_zeros(data[:4096]):
        text = data.decode(zeros, errors="replace")
        return Decoded(text, zeros, (f"no byte-order mark; read as {zeros}",))
    try:
        return Decoded(data.decode("utf-8"), "utf-8")
    except UnicodeDecodeError as error:
        if len(data) > 3000 and error.start >= len(data) - 3:
            return Decoded(data[: error.start].decode("utf-8"), "utf-8", ("the end is cut off",))
    found = _DECLARED.search(data[:2048])
    for encoding in (declared, found[1].decode("ascii") if found else ""):
        if (text_ := _as(data, encoding)) is not None:
            said = encoding.lower()
            return Decoded(text_, said, (f"the text is not UTF-8; read as {said}, as it declares",))
    encoding = _by_look(data)
    text_ = _as(data, encoding)
    if text_ is None:
        encoding, text_ = "latin-1", data.decode("latin-1")
    return Decoded(text_, encoding, (f"the text is not UTF-8; read as {encoding} by its look",))


def _as(data: bytes, encoding: str) -> str | None:
    """The text in that charset; None where there is no such charset or the data is not in it."""
    try:
        if not encoding or codecs.lookup(encoding).name.replace("-", "_") in _NO_CHARSET:
            return None
        return data.decode(encoding)  # refuses codecs that are no text encodings
    except (LookupError, ValueError):
        return None


def _utf16_by_zeros(head: bytes) -> str:
    """UTF-16 of mostly Latin text has a zero in every second byte, and text in the others."""
    half = len(head) // 2
    if half < 2:
        return ""
    odd, even = head[1::2].count(0), head[0::2].count(0)
    if odd > 0.7 * half and even < 0.1 * half:
        return "utf-16-le"
    return "utf-16-be" if even > 0.7 * half and odd < 0.1 * half else ""


def _by_look(data: bytes) -> str:
    """cp1252 for a few odd bytes in plain text; else what charset-normalizer makes of it."""
    head = data[:_SNIFF]
    head = head[: head.rfind(b"\n") + 1] or head
    if sum(byte > 127 for byte in head) < _MANY * len(head):
        return "cp1252"
    from charset_normalizer import from_bytes

    best = from_bytes(head, cp_isolation=list(_USUAL), enable_fallback=False).best()
    return best.encoding if best else "cp1252"
