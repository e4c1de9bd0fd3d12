"""Bytes to text: how a document is decoded, and which format it is in.

Errors: SourceError for empty, binary or over-long input, with the mend.
"""

from __future__ import annotations

import codecs
import re
from typing import NamedTuple

from triage.domain.notes import SourceFormat
from triage.errors import SourceError

LIMIT = 50 * 1024 * 1024
_SNIFF = 65_536

_MARKS = (  # the longer marks first: UTF-32 LE begins with the mark of UTF-16 LE
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
_BINARY = (
    (b"PK\x03\x04", "a zip archive or office document"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"\x1f\x8b", "a compressed file"),
    (b"BZh", "a compressed file"),
    (b"7z\xbc\xaf", "a compressed file"),
    (b"\x7fELF", "a program"),
    (b"\xd0\xcf\x11\xe0", "an old office document"),
)
_DECLARED = re.compile(rb"""charset\s{0,5}=\s{0,5}["']?([A-Za-z0-9_.:-]{2,30})""", re.I)
_TAG = re.compile(r"</?(?:html|body|head|h[1-6]|ul|ol|li|p|div|table|tr|td|br|span)\b", re.I)
_MARKDOWN = re.compile(
    r"^#{1,6} \S|^```|^\|? ?:?-{3,}:? ?\||\]\((?:https?:|/|#)|^\[[^\]\n]{1,80}\]: |\*\*\S", re.M
)
_TITLED = re.compile(r"\s*#{1,2} \S")


class Decoded(NamedTuple):
    """Decoded text, the encoding, and what had to be assumed."""

    text: str
    encoding: str
    remarks: tuple[str, ...] = ()


def refuse_unreadable(data: bytes, name: str) -> None:
    """Raise SourceError for input that is empty, too long, or of a known binary form."""
    if len(data) > LIMIT:
        raise SourceError(
            f"{len(data) / 1048576:.0f} MB is more than the 50 MB that are read",
            where=name,
            mend="cut out the releases of interest and read those",
        )
    if not data.strip():
        raise SourceError("the document is empty", where=name, mend="paste the notes again")
    for mark, what in _BINARY:
        if data.startswith(mark):
            raise SourceError(
                f"this is {what}, not release notes as text",
                where=name,
                mend="save the notes as text, Markdown, HTML or PDF",
            )


def decode(data: bytes, name: str) -> Decoded:
    """Decode by byte-order mark, else UTF-8, UTF-16 by its zeros, a declared charset, cp1252."""
    for mark, encoding in _MARKS:
        if data.startswith(mark):
            text = data[len(mark) :].decode(encoding, errors="replace")
            remarks = (
                (f"some bytes are no {encoding} and were replaced",) if "\ufffd" in text else ()
            )
            return _not_binary(Decoded(text, encoding, remarks), name)
    zeros = _utf16_by_zeros(data[:4096])
    if zeros:
        text = data.decode(zeros, errors="replace")
        return _not_binary(Decoded(text, zeros, (f"no byte-order mark; read as {zeros}",)), name)
    try:
        return _not_binary(Decoded(data.decode("utf-8"), "utf-8"), name)
    except UnicodeDecodeError:
        return _not_binary(_fallback(data), name)


def _utf16_by_zeros(head: bytes) -> str:
    """UTF-16 of mostly Latin text has a zero in every second byte, and text in the others."""
    half = len(head) // 2
    if half < 2:
        return ""
    odd, even = head[1::2].count(0), head[0::2].count(0)
    if odd > 0.7 * half and even < 0.1 * half:
        return "utf-16-le"
    return "utf-16-be" if even > 0.7 * half and odd < 0.1 * half else ""


def _fallback(data: bytes) -> Decoded:
    declared = _DECLARED.search(data[:2048])
    for encoding in (declared.group(1).decode("ascii").lower() if declared else "", "cp1252"):
        if encoding in ("", "utf-8", "utf8"):
            continue
        try:
            codec = codecs.lookup(encoding)
            text, _ = codec.decode(data)
        except (LookupError, UnicodeError, TypeError, ValueError):
            continue
        if isinstance(text, str):
            return Decoded(text, encoding, (f"the text is not UTF-8; read as {encoding}",))
    return Decoded(data.decode("latin-1"), "latin-1", ("the text is not UTF-8; read as latin-1",))


def _not_binary(decoded: Decoded, name: str) -> Decoded:
    head = decoded.text[:_SNIFF]
    odd = sum(head.count(chr(code)) for code in (*range(9), *range(14, 27), *range(28, 32)))
    if head.count("\0") > len(head) * 0.01 or odd > len(head) * 0.03:
        raise SourceError(
            "this is binary data, not text",
            where=name,
            mend="save the notes as text, Markdown, HTML or PDF",
        )
    if not decoded.text.strip():
        raise SourceError("the document is empty", where=name, mend="paste the notes again")
    return decoded


def is_pdf(data: bytes) -> bool:
    """Whether the bytes are a PDF file (its header may stand within the first kilobyte)."""
    return b"%PDF-" in data[:1024]


def sniff(text: str, name: str) -> SourceFormat:
    """Guess the format: by the text's own markup, the file's ending where the text is undecided."""
    head = text[:_SNIFF].replace("\r", "\n")
    ending = name.rsplit(".", 1)[-1].lower() if "." in name else ""
    if ending in ("md", "markdown", "mdown"):
        return SourceFormat.MARKDOWN
    if ending in ("html", "htm", "xhtml"):
        return SourceFormat.HTML
    marks = len(_MARKDOWN.findall(head))
    tags = len(_TAG.findall(head))
    if tags >= 2 and tags > 2 * marks:
        return SourceFormat.HTML
    share = marks / (head.count("\n") + 1)
    if (marks >= 2 and share >= (0.1 if ending == "txt" else 0.04)) or _TITLED.match(head):
        return SourceFormat.MARKDOWN
    return SourceFormat.TEXT
