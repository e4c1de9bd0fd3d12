"""Text that knows where each of its characters stands in the source."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from typing import NamedTuple


class Mapped(NamedTuple):
    """`text`, and `runs`: pairs (offset in the text, offset in the source), ascending.

    From each pair on, text and source go in step until the next one.
    """

    text: str
    runs: tuple[tuple[int, int], ...]

    def at(self, offset: int) -> int:
        """The source offset of the character at `offset` of the text."""
        index = bisect_right(self.runs, (offset, 1 << 62)) - 1
        start, source = self.runs[max(index, 0)]
        return source + offset - start

    def span(self) -> tuple[int, int]:
        """Source offsets [start, end) of the whole text."""
        if not self.text:
            return self.at(0), self.at(0)
        return self.at(0), self.at(len(self.text) - 1) + 1

    def cut(self, start: int, end: int) -> Mapped:
        """The part [start, end) without blanks around it."""
        part = self.text[start:end]
        lead = len(part) - len(part.lstrip())
        start, end = start + lead, start + len(part.rstrip())
        if start >= end:
            return Mapped("", ((0, self.at(min(start, max(0, len(self.text) - 1)))),))
        return self.part(start, end)

    def part(self, start: int, end: int) -> Mapped:
        """The characters [start, end), blanks kept; `start` < `end`."""
        first = bisect_right(self.runs, (start, 1 << 62))
        last = bisect_left(self.runs, (end,), first)
        runs = ((offset - start, source) for offset, source in self.runs[first:last])
        return Mapped(self.text[start:end], ((0, self.at(start)), *runs))


def whole(text: str, source: int) -> Mapped:
    """Text that stands in one piece at `source`."""
    return Mapped(text, ((0, source),))


def joined(parts: Sequence[Mapped], between: str = " ") -> Mapped:
    """The parts one after the other, with `between` in the gaps."""
    texts: list[str] = []
    runs: list[tuple[int, int]] = []
    length = 0
    for part in parts:
        if not part.text:
            continue
        if texts:
            texts.append(between)
            length += len(between)
        runs += [(length + offset, source) for offset, source in part.runs]
        texts.append(part.text)
        length += len(part.text)
    return Mapped("".join(texts), tuple(runs) or ((0, 0),))


def replaced(part: Mapped, spans: Sequence[tuple[int, int, str]]) -> Mapped:
    """The text with each (start, end, new) put in place, in ascending order without overlap."""
    if not spans:
        return part
    pieces: list[Mapped] = []
    at = 0
    for start, end, new in spans:
        if start > at:
            pieces.append(part.part(at, start))
        if new:
            pieces.append(Mapped(new, ((0, part.at(start)),)))
        at = end
    if at < len(part.text):
        pieces.append(part.part(at, len(part.text)))
    return joined(pieces, "")
