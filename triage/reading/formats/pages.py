"""Documents in pages: what repeats at their edges is taken out of the flow, so that a sentence runs
on over the break.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import pairwise

from triage.reading.formats.blocks import Block, Shape
from triage.reading.formats.text import text_blocks
from triage.reading.mapped import joined

_PAGE = r"(?:page|seite|p\.|pg\.?|s\.)\s{0,3}\d{1,4}(?:\s{0,3}(?:of|von|/|\|)\s{0,3}\d{1,4})?"
_PAGE_OF = re.compile(
    r"^(?=.{0,200}\b(?:page|seite)\s{1,3}\d{1,4}\s{0,3}(?:of|von|/)\s{0,3}\d{1,4}\b).{0,200}$",
    re.I | re.M,
)
_NUMBERED = re.compile(_PAGE, re.I)
_ALONE = re.compile(
    rf"\W*(?:{_PAGE}|\d{{1,4}}\s?(?:/|of|von)\s?\d{{1,4}}|-\s?\d{{1,4}}\s?-)\W*", re.I
)
_NUMBER = re.compile(r"(?<![\d.])\d{1,4}(?![\d.])\Z|\A\d{1,4}(?![\d.])")
_EDGE = 3  # lines at the top and at the bottom of a page
_SHARES = (0.4, 0.8, 0.8)  # of the pages that a line has to be on: the outermost, the others
_HYPHEN = re.compile(r"[^\W\d_](-|\u00ad|\u2010|\ufffe|\x02)\Z")
_TAIL = re.compile(r"([\w-]*)[^\w\s]\Z")
_REST = re.compile(r"([^\W\d_]+)\S*")
_WORD = re.compile(r"[a-z]+(?:-[a-z]+)*", re.I)


def paged_blocks(text: str, start: int = 0) -> Iterator[Block]:
    """Blocks of plain text; form feeds and lines such as 'Page 1 of 3' end a page."""
    ends = [at + 1 for at, char in enumerate(text) if char == "\f"] if "\f" in text else []
    if not ends:
        marks = [found for found in _PAGE_OF.finditer(text) if found[0].strip()]
        heads = bool(marks) and text[: marks[0].start()].count("\n") < _EDGE
        ends = [found.start() if heads else found.end() for found in marks]
    if not ends:
        return text_blocks(text, start)
    edges = [0, *(end for end in ends if 0 < end < len(text)), len(text)]
    pages = [list(text_blocks(text[a:b], start + a)) for a, b in pairwise(edges)]
    return iter(in_flow(pages))


def in_flow(pages: Sequence[list[Block]]) -> list[Block]:
    """The blocks of all pages; a running title comes once, a running foot once and last."""
    pages = [page for page in pages if page]
    flow: list[Block] = []
    feet: list[Block] = []
    seen: set[object] = set()
    for number, (page, (head, foot)) in enumerate(zip(pages, _running(pages), strict=True)):
        for at, block in enumerate(page):
            if head <= at < len(page) - foot:
                flow.append(_after_break(flow, block) if at == head and number else block)
                continue
            keys = _keys(block, number)
            if seen.isdisjoint(keys):
                (flow if number == 0 and at < head else feet).append(block)
            seen.update(keys)
    return flow + feet


def _running(pages: Sequence[list[Block]]) -> list[tuple[int, int]]:
    """For each page how many lines of running title and foot it has.

    They are what many pages have in the same place, without anything else between it and the edge.
    """
    sides = [
        [
            [_keys(block, number) for block in page[:_EDGE]],
            [_keys(block, number) for block in reversed(page[-_EDGE:])],
        ]
        for number, page in enumerate(pages)
    ]
    counts = Counter(
        (side, at, key)
        for page in sides
        for side, lines in enumerate(page)
        for at, keys in enumerate(lines)
        for key in set(keys)
    )
    least = [max(2, share * len(pages)) for share in _SHARES]
    found = []
    for number, page in enumerate(pages):
        lengths = []
        for side, lines in enumerate(sides[number]):
            length = 0
            for at, keys in enumerate(lines):
                block = page[-1 - at] if side else page[at]
                often = not block.marker and max(counts[side, at, key] for key in keys) >= least[at]
                if len(pages) == 1 or not (often or _alone(block)):
                    break
                length = at + 1
            lengths.append(length)
        head = lengths[0]
        found.append((head, min(lengths[1], len(page) - head)))
    return found


def _alone(block: Block) -> bool:
    """Whether a line is the number of a page and nothing else."""
    return bool(_ALONE.fullmatch(f"{block.marker} {block.text}".strip()))


def _keys(block: Block, page: int) -> tuple[str, tuple[str, int]]:
    """What a running line has in common on all pages: its words, or words and a count of pages."""
    text = _NUMBERED.sub("#", block.text)
    found = _NUMBER.search(text)
    if found and text != found[0]:
        return text, (_NUMBER.sub("#", text, count=1), int(found[0]) - page)
    return text, (text, 0)


def _after_break(flow: Sequence[Block], block: Block) -> Block:
    """The first line of a page, which may go on with the last one before the break."""
    if not flow:
        return block
    above = flow[-1]
    goes_on = (
        block.shape is Shape.LINE
        and above.shape in (Shape.LINE, Shape.ENTRY)
        and above.text[-1] not in ".!?:;"
        and block.text[0].islower()
    )
    return block._replace(gap=0 if goes_on else max(1, block.gap))


def unhyphenated(blocks: Sequence[Block]) -> list[Block]:
    """Words divided at a line's end are put together, at the end of the line where they begin.

    A compound keeps its hyphen where it stands in one line elsewhere in the document.
    """
    divided = [at for at in range(len(blocks) - 1) if _divided(blocks[at], blocks[at + 1])]
    if not divided:
        return list(blocks)
    known = {word.lower() for block in blocks for word in _WORD.findall(block.text)}
    out = list(blocks)
    for at in divided:
        above, below = out[at].mapped, out[at + 1].mapped
        tail, rest = _TAIL.search(above.text), _REST.match(below.text)
        if not tail or not rest:
            continue
        keep = len(above.text) - (f"{tail[1]}-{rest[1]}".lower() not in known)
        word = joined((above.cut(0, keep), below.cut(0, rest.end())), "")
        left = below.cut(rest.end(), len(below.text))
        out[at] = out[at]._replace(mapped=word)
        out[at + 1] = out[at + 1]._replace(mapped=left)
    return [block for block in out if block.text]


def _divided(above: Block, below: Block) -> bool:
    return (
        below.shape is Shape.LINE
        and below.gap == 0
        and above.shape in (Shape.LINE, Shape.ENTRY)
        and bool(_HYPHEN.search(above.text))
        and below.text[0].islower()
    )
