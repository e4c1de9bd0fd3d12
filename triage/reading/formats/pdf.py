"""PDF to blocks: lines with their columns, headings by the size of their letters, words divided at
line ends joined, running titles and feet out of the flow.

The text extracted is the source that places and line numbers refer to.
Errors: SourceError for a damaged, locked or bloated file, and for one that holds pictures only.
"""

from __future__ import annotations

import ctypes
import math
import re
import zlib
from bisect import bisect_right
from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any

import pypdfium2 as pdfium
import pypdfium2.raw as raw

from triage.errors import SourceError
from triage.reading.formats.blocks import Block, Shape
from triage.reading.formats.page_layout import Line, Piece, page_lines
from triage.reading.formats.pages import in_flow, unhyphenated
from triage.reading.formats.text import text_blocks
from triage.reading.mapped import joined

MOST_PAGES, MOST_CHARACTERS = 2000, 2_000_000
MOST_UNPACKED = 64 * 1024 * 1024  # bytes of what is no picture
_FAR = 100_000.0  # points; what stands farther out stands nowhere
_LARGER = 1.12  # times the usual size: a heading
_BOLD = 600  # weight
_WORD = re.compile(r"\S+")
_STREAM = re.compile(rb"stream\r?\n")
_DIVIDES = frozenset("\ufffe\x02")  # stand for a hyphen and the line end behind it
_HYPHENS = _DIVIDES | {"\u00ad", "\u2010"}


def pdf_blocks(data: bytes, name: str, remarks: list[str]) -> tuple[str, str, list[Block]]:
    """The extracted text, how it was found, and its blocks."""
    _refuse_bloated(data, name)
    pages: list[list[Block]] = []
    texts: list[str] = []
    length = 0
    usual: Counter[float] = Counter()
    decorated: list[tuple[int, Line]] = []
    for pieces in _pages(data, name, remarks):
        lines = list(page_lines(pieces))
        start = length
        for line in lines:
            decorated.append((length, line))
            usual[line.size] += len(line.text)
            texts.append(line.text + "\n")
            length += len(line.text) + 1
        pages.append(list(text_blocks("".join(texts[-len(lines) :]) if lines else "", start)))
        texts.append("\f")
        length += 1
    text = "".join(texts)
    if not text.strip():
        raise SourceError(
            "the PDF holds pictures, no text", where=name, mend="paste the text of the notes"
        )
    body = usual.most_common(1)[0][0]
    sizes = sorted(usual)[-20:]
    pages = [[_decorated(block, decorated, sizes, body) for block in page] for page in pages]
    return text, "PDF text", _whole_headings(unhyphenated(in_flow(pages)))


def _refuse_bloated(data: bytes, name: str) -> None:
    """Refuse a file whose packed parts unpack to far more than a document holds."""
    total, at = 0, 0
    while found := _STREAM.search(data, at):
        at = found.end()
        head = data[max(0, found.start() - 500) : found.start()]
        head = head[head.rfind(b"obj") :]
        if b"/Image" in head or not (b"Flate" in head or b"/Fl" in head):
            continue
        end = data.find(b"endstream", at)
        packed = data[at : end if end >= 0 else None]
        at += len(packed)
        unpacker = zlib.decompressobj()
        layers = head.count(b"Flate")
        try:
            out = unpacker.decompress(packed, MOST_UNPACKED - total + 1)
            if layers > 1:
                out += zlib.decompressobj().decompress(out, MOST_UNPACKED - total + 1)
        except zlib.error:
            continue
        total += len(out)
        if total > MOST_UNPACKED:
            raise SourceError(
                f"the PDF unpacks to more than {MOST_UNPACKED >> 20} MB",
                where=name,
                mend="print the pages of interest into a file of their own, or paste their text",
            )


def _pages(data: bytes, name: str, remarks: list[str]) -> Iterator[list[Piece]]:
    try:
        document = pdfium.PdfDocument(data)
    except pdfium.PdfiumError as error:
        locked = "assword" in str(error)
        raise SourceError(
            "the PDF is locked by a password" if locked else "the PDF is damaged",
            where=name,
            mend="save it without a password" if locked else "download it again, or paste its text",
        ) from error
    number, characters = 0, 0
    try:
        if len(document) > MOST_PAGES:
            raise _too_long(f"{len(document)} pages", name)
        for number in range(len(document)):
            characters += _count(document, number)
            if characters > MOST_CHARACTERS:
                raise _too_long(f"more than {MOST_CHARACTERS:,} characters", name)
            yield list(_pieces(document, number))
    except pdfium.PdfiumError as error:
        raise SourceError(
            f"page {number + 1} of the PDF is damaged", where=name, mend="paste its text instead"
        ) from error
    finally:
        document.close()


def _too_long(what: str, name: str) -> SourceError:
    return SourceError(
        f"the PDF has {what}",
        where=name,
        mend="print the pages of interest into a file of their own",
    )


def _count(document: pdfium.PdfDocument, number: int) -> int:
    page = document[number]
    words = page.get_textpage()
    try:
        return int(words.count_chars())
    finally:
        words.close()
        page.close()


def _pieces(document: pdfium.PdfDocument, number: int) -> Iterator[Piece]:
    """Runs of words on one height, without wide room between them, in the file's order."""
    page = document[number]
    words = page.get_textpage()
    try:
        open_: Piece | None = None
        for word in _words(words):
            letter = (word.right - word.left) / max(1, len(word.text))
            if open_ and _goes_on(open_, word, letter):
                open_ = open_._replace(
                    right=max(open_.right, word.right),
                    top=min(open_.top, word.top),
                    bottom=max(open_.bottom, word.bottom),
                    text=f"{open_.text} {word.text}",
                    bold=open_.bold and word.bold,
                )
            else:
                if open_:
                    yield open_
                open_ = word
        if open_:
            yield open_
    finally:
        words.close()
        page.close()


def _goes_on(open_: Piece, word: Piece, letter: float) -> bool:
    height = open_.bottom - open_.top
    level = min(open_.bottom, word.bottom) - max(open_.top, word.top) > 0.4 * min(
        height, word.bottom - word.top
    )
    room = word.left - open_.right
    return level and -letter < room < 2 * max(letter, 0.2 * height)


def _words(words: Any) -> Iterator[Piece]:
    """The words of a page, each with its box; heights count downwards."""
    handle = words.raw
    for found in _WORD.finditer(_characters(words)):
        first, start = found.start(), 0
        text = found[0]
        for end in (*(n + 1 for n, char in enumerate(text) if char in _DIVIDES), len(text)):
            if end > start and (
                piece := _boxed(handle, first + start, first + end - 1, text[start:end])
            ):
                yield piece
            start = end


def _characters(words: Any) -> str:
    """The page's text, one character for each that has a box."""
    count = words.count_chars()
    text = str(words.get_text_range())
    if len(text) == count:
        return text.replace("\0", " ")
    codes = (raw.FPDFText_GetUnicode(words.raw, index) for index in range(count))
    return "".join(chr(code) if 0 < code < 0x110000 else " " for code in codes)


def _boxed(handle: Any, first: int, last: int, text: str) -> Piece | None:
    text = "".join("-" if char in _HYPHENS else char for char in text)
    text = text.encode("utf-16", "surrogatepass").decode("utf-16", "replace")
    begin, end = _box(handle, first), _box(handle, last)
    if not text or begin is None:
        return None
    if end is None or end[1] < begin[0]:
        end = (begin[0], begin[0] + 4.0 * len(text), begin[2], begin[3])
    return Piece(
        begin[0],
        begin[2],
        end[1],
        begin[3],
        text,
        round(raw.FPDFText_GetFontSize(handle, first) * 2) / 2,
        raw.FPDFText_GetFontWeight(handle, first) >= _BOLD,
    )


def _box(handle: Any, index: int) -> tuple[float, float, float, float] | None:
    """Left, right, top and bottom of a character, None where they are no places."""
    left, right, bottom, top = (ctypes.c_double() for _ in range(4))
    if not raw.FPDFText_GetCharBox(handle, index, left, right, bottom, top):
        return None
    found = (left.value, right.value, -top.value, -bottom.value)
    return found if all(math.isfinite(v) and abs(v) < _FAR for v in found) else None


def _decorated(
    block: Block, lines: Sequence[tuple[int, Line]], sizes: Sequence[float], body: float
) -> Block:
    """The block with the size and weight of its line; a larger line is a heading."""
    line = lines[bisect_right(lines, block.mapped.at(0), key=lambda pair: pair[0]) - 1][1]
    numbered = block.shape is Shape.ENTRY and block.marker[:1].isdigit()
    if line.size >= _LARGER * body and (block.shape is Shape.LINE or numbered):
        level = min(6, 1 + sum(size > line.size for size in sizes))
        return block._replace(shape=Shape.HEADING, level=level, marker="")
    return block._replace(bold=line.bold)


def _whole_headings(blocks: Sequence[Block]) -> list[Block]:
    """Lines of one heading put together."""
    out: list[Block] = []
    for block in blocks:
        above = out[-1] if out else None
        if (
            above
            and block.shape is above.shape is Shape.HEADING
            and block.gap == 0
            and block.level == above.level
        ):
            out[-1] = above._replace(mapped=joined((above.mapped, block.mapped)))
        else:
            out.append(block)
    return out
