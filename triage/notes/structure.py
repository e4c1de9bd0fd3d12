"""Blocks to releases: which header opens a release, what its sections and items are."""

from __future__ import annotations

import re

from triage.domain.notes import Comparison, Requirement
from triage.notes import headers, tables, words
from triage.notes.announced import announce
from triage.notes.blocks import Block, Shape
from triage.notes.clean import clean, clean_heading, unmarked
from triage.notes.drafts import ItemDraft, ReleaseDraft
from triage.notes.sentences import separate_changes
from triage.notes.units import component_of
from triage.notes.versions import looks_dated_or_numbered

_PARENT = "parent"  # style of an entry, by its level, that only introduces what is nested below
_JOINED = re.compile(r"(?:[,;]|\b(and|or))\W*\Z")
_LEAD = "parent-1"  # style of a paragraph that only introduces a list


class Builder:
    """One pass over the blocks, with a look at the next one."""

    def __init__(self, source: str) -> None:
        self.blocks: list[Block] = []
        self.source = source
        self.unit = ""
        self.releases: list[ReleaseDraft] = []
        self.current = ReleaseDraft()
        self.before: Block | None = None
        self.path: list[tuple[str, str]] = []
        self.remarks: list[str] = []

    def feed(self, blocks: list[Block]) -> None:
        """Take the next piece of the document."""
        self.blocks = blocks
        index = 0
        while index < len(blocks):
            index += self._take(index)

    def build(self) -> list[ReleaseDraft]:
        """All releases of the document, in its order."""
        self._finish()
        if len(self.releases) > 1 and not self.releases[0].title:
            self._drop_preamble()
        if len(self.releases) == 1 and (remark := announce(self.releases[0])):
            self.remarks.append(remark)
        return self.releases

    def _take(self, index: int) -> int:
        """Take the block at `index`; returns how many blocks were used up."""
        block = self.blocks[index]
        after = self.blocks[index + 1] if index + 1 < len(self.blocks) else None
        before, self.before = self.before, block
        if block.shape is Shape.HEADING:
            listed = self._sentence_list(index) if block.style == "plain" else 0
            return listed or self._heading(block, after)
        if block.shape is Shape.ENTRY:
            self._entry(block, after, before)
        elif block.shape is Shape.PARAGRAPH:
            return self._sentence_list(index) or self._paragraph(block, after)
        elif block.shape is Shape.ROW:
            return self._rows(index)
        return 1

    # headings ------------------------------------------------------------------------------

    def _heading(self, block: Block, after: Block | None) -> int:
        header = headers.parse_header(block.text, marked=block.style != "plain")
        if header and self._completes(header):
            return 1
        if header and self._opens_release(block, header):
            self._open(block, header)
            return 1
        title = clean_heading(block.text)
        if headers.names_nothing(title):
            return 1
        if not title or words.names_base_only(title):
            return 1
        if headers.is_title(block.text) and self.current.empty and not words.known_section(title):
            self.unit = headers.document_unit(block.text) or self.unit
            if block.style == "h1" or not self.current.title:
                return 1
        first = block.style == "h1" and not self.current.title and self.current.empty
        if first and component_of(title) and len(title.split()) <= 5:
            self.unit = title
            return 1
        if block.style == "bold" and (title[-1] in ".!?" or len(title) > 120):
            return self._paragraph(block._replace(shape=Shape.PARAGRAPH), after)
        if self._is_lone_statement(block, after, title):
            self._item(clean(block.text), block)
            return 1
        if block.style == "bold" and after is not None and after.shape is Shape.PARAGRAPH:
            return self._headline(block, after, title)
        if (
            block.style == "bold"
            and not words.known_section(title)
            and (after is None or after.shape is Shape.HEADING)
        ):
            self._push(block.style, title)
            return 1
        if self._is_unit_heading(block, title):
            self.unit = title
            self.path.clear()
            return 1
        lead = block.text.rstrip().endswith(":") and block.style == "plain"
        self._push(_LEAD if lead and not words.known_section(title) else block.style, title)
        return 1

    def _is_lone_statement(self, block: Block, after: Block | None, title: str) -> bool:
        """'Bug fixes' with nothing below it is all that the release says."""
        if block.style != "plain" or not self.current.title or not words.known_section(title):
            return False
        return after is None or (after.shape is Shape.HEADING and after.style == "release")

    def _completes(self, header: headers.Header) -> bool:
        """A bare date right below a release header is that release's date."""
        current = self.current
        bare = not header.version and header.date is not None
        if bare and current.title and current.empty and not current.header.date and not self.path:
            current.header = current.header._replace(date=header.date)
            return True
        return False

    def _opens_release(self, block: Block, header: headers.Header) -> bool:
        """A dated or numbered heading below a release's own level is a section or its date."""
        mine, style = self.current.level, block.style
        if style[:1] == "h" and mine[:1] == "h" and style[1:].isdigit() and mine[1:].isdigit():
            deeper = int(style[1:]) > int(mine[1:])
            if deeper and (not header.version or self.current.items):
                return bool(header.version)
        return True

    def _open(self, block: Block, header: headers.Header) -> None:
        current = self.current
        if current.empty and self._lists_versions(block, header):
            return
        if current.empty and current.title and not header.date:
            dated = current.header.date if not current.header.version else None
            header = header._replace(date=dated)
        series = bool(current.header.version) and block.style > current.level
        if current.empty and series and header.version.startswith(f"{current.header.version}."):
            self.current = ReleaseDraft()  # '4.1' over '4.1.0' only groups
        elif current.empty and not current.header.version and current.header.date:
            self.current = ReleaseDraft()  # a bare date above the header was its date
        self._finish()
        unit = header.unit or self.unit
        component = header.component or component_of(unit)
        self.current = ReleaseDraft(
            title=unmarked(block.text).strip(" *:#=-"),
            header=header._replace(unit=unit, component=component),
            place=block.place(),
            level=block.style,
        )
        self.path.clear()

    def _lists_versions(self, block: Block, header: headers.Header) -> bool:
        """Headers of several units line by line are one release with what it needs."""
        current = self.current
        mine, other = current.header.component, header.component
        beside = block.line == current.place.end_line + 1 + len(current.requirements)
        if not (current.header.version and mine and other and mine != other and beside):
            return False
        current.requirements.append(
            Requirement(
                component=other,
                name=header.unit,
                comparison=Comparison.AT_LEAST,
                version=header.version,
                text=unmarked(block.text),
                place=block.place(),
            )
        )
        return True

    def _is_unit_heading(self, block: Block, title: str) -> bool:
        """A heading above the level of release headings names the unit of what follows."""
        return (
            block.style in ("h1", "h2")
            and self.current.level[:1] == "h"
            and self.current.level > block.style
            and not words.known_section(title)
        )

    def _push(self, style: str, title: str) -> None:
        """Put a section on the path; a style that was seen before closes what lies below it."""
        rank = int(style[1:]) if style[:1] == "h" and style[1:].isdigit() else 0
        for position, (other, _) in enumerate(self.path):
            level = int(other[1:]) if other[:1] == "h" and other[1:].isdigit() else 0
            if other == style or (rank and (level >= rank or not level)):
                del self.path[position:]
                break
        self.path.append((style, title))

    def _headline(self, block: Block, after: Block, title: str) -> int:
        """A bold line over a paragraph: the same statement, short and long."""
        lists_follow = after.text.rstrip().endswith(":")
        if lists_follow or words.known_section(title):
            self._push(block.style, title)
            return 1
        joined = Block(
            Shape.PARAGRAPH, "", block.start, after.end, block.line, after.end_line, 0, "headline"
        )
        self._pop("bold")
        body = clean(after.text)
        alone = body.lower().startswith(("thanks", "thank you", "credit"))
        text = title if alone else f"{title}: {body}"
        self._item(text, joined)
        self._push(block.style, title)
        return 2

    def _pop(self, style: str) -> None:
        for position, (other, _) in enumerate(self.path):
            if other == style:
                del self.path[position:]
                return

    # statements ------------------------------------------------------------------------------

    def _entry(self, block: Block, after: Block | None, before: Block | None = None) -> None:
        cut = headers.glued(block.text)
        if cut and block.level == 0:
            header = headers.parse_header(block.text[:cut].strip(" :–—-"), marked=True)
            offset = self.source.find(block.text[:cut].strip(" :–—-"), block.start, block.end)
            if header and offset >= 0:
                stop = offset + len(block.text[:cut].strip(" :–—-"))
                self._open(
                    block._replace(
                        text=block.text[:cut], start=offset, end=stop, end_line=block.line
                    ),
                    header,
                )
                rest = block.text[cut:]
                begin = self.source.find(rest[:20], stop, block.end)
                block = block._replace(text=rest, start=max(begin, stop))
        elif block.level == 0 and self._entry_is_header(block, after):
            return
        nested = after is not None and after.shape is Shape.ENTRY and after.level > block.level
        if nested and (block.text.rstrip().endswith(":") or words.known_section(block.text)):
            self._close_parents(block.level)
            self._push(f"{_PARENT}{block.level}", clean_heading(block.text))
            return
        if self._numbers_a_section(block, after, before):
            self._push("numbered", clean_heading(block.text))
            return
        self._close_parents(block.level)
        if (signed := headers.signature_date(block.text)) is not None:
            header = self.current.header
            self.current.header = header._replace(date=header.date or signed)
            return
        self._item(clean(block.text), block)

    def _numbers_a_section(self, block: Block, after: Block | None, before: Block | None) -> bool:
        """'1) System changes' over a list of bullets is the title of that list."""
        if block.style != "number" or after is None or after.shape is not Shape.ENTRY:
            return False
        counted = before is not None and before.style == "number" and before.level == block.level
        bullets = after.style != "number" and after.level >= block.level
        return bullets and not counted and words.title_like(block.text)

    def _entry_is_header(self, block: Block, after: Block | None) -> bool:
        """A list entry is a header when it says so strictly and its changes are nested below it."""
        if len(block.text) > 100 or not looks_dated_or_numbered(block.text):
            return False
        nested = after is not None and after.shape is Shape.ENTRY and after.level > block.level
        header = headers.parse_header(block.text, marked=False) if nested else None
        if not header:
            return False
        self._open(block._replace(style="entry"), header)
        return True

    def _close_parents(self, level: int) -> None:
        """Leave the parents whose children are over."""
        for position, (style, _) in enumerate(self.path):
            if style.startswith(_PARENT) and int(style[len(_PARENT) :]) >= level:
                del self.path[position:]
                return

    def _sentence_list(self, index: int) -> int:
        """A sentence laid out as a list ('unless: a, and b') is one statement; blocks used up."""
        lead = self.blocks[index]
        stop = index + 1
        while stop < len(self.blocks) and self.blocks[stop].shape is Shape.ENTRY:
            stop += 1
        parts = self.blocks[index + 1 : stop]
        if not lead.text.rstrip("* _").endswith(":") or len(parts) < 2 or len(parts) > 12:
            return 0
        joined = [_JOINED.search(part.text) for part in parts[:-1]]
        if not all(joined) or not any(found and found.group(1) for found in joined):
            return 0
        self._close_parents(-1)
        text = " ".join(part.text for part in (lead, *parts))
        self._item(clean(text), lead._replace(end=parts[-1].end, end_line=parts[-1].end_line))
        return stop - index

    def _paragraph(self, block: Block, after: Block | None) -> int:
        """Take a paragraph; returns 1, the number of blocks used up."""
        self._statements(block, after)
        return 1

    def _statements(self, block: Block, after: Block | None) -> None:
        text = block.text
        if words.is_preamble(text) or words.names_base_only(text):
            self.current.asides.append((unmarked(text), block.place()))
            return
        self._close_parents(-1)
        cut = headers.glued(text)
        if cut:
            self._entry(block, after)
            return
        if (
            not self.current.title
            and headers.is_title(text)
            and self.current.empty
            and len(text) < 90
        ):
            self.unit = headers.document_unit(text) or self.unit
            if not text.endswith("."):
                return
        short = block.line == block.end_line and len(text) <= 140
        header = headers.parse_header(text, marked=False) if short else None
        if header:
            if not self._completes(header):
                self._open(block._replace(style="release"), header)
            return
        if text.rstrip().endswith(":") and after is not None and after.shape is Shape.HEADING:
            self.current.asides.append((unmarked(text), block.place()))
            return
        listed = after is not None and after.shape in (Shape.ENTRY, Shape.ROW)
        if listed and (text.rstrip().endswith(":") or (short and words.title_like(text))):
            self.current.asides.append((unmarked(text), block.place()))
            self._push(
                "plain" if short and words.known_section(text) else _LEAD, clean_heading(text)
            )
            return
        if short and words.known_section(text) and not text.endswith("."):
            self._push("plain", clean_heading(text))
            return
        for start, end in separate_changes(self.source, block.start, block.end):
            if (start, end) == (block.start, block.end):
                self._item(clean(text), block)
            else:
                before = self.source.count("\n", block.start, start)
                within = self.source.count("\n", start, end)
                line = block.line + before
                part = block._replace(start=start, end=end, line=line, end_line=line + within)
                self._item(clean(" ".join(self.source[start:end].split())), part)

    def _item(self, text: str, block: Block) -> None:
        if not any(char.isalnum() for char in text) or words.is_furniture(text):
            return
        if self.current.empty and (product := headers.product_line(text)):
            self.unit = product
            return
        path = tuple(title for _, title in self.path if title)
        self.current.items.append(ItemDraft(text, path, block.level, [block.place()]))
        if block.shape is Shape.PARAGRAPH and not self.current.title:
            self.current.plain = True

    # tables ------------------------------------------------------------------------------

    def _rows(self, index: int) -> int:
        stop = index
        while stop < len(self.blocks) and self.blocks[stop].shape is Shape.ROW:
            stop += 1
        table = tables.read_table(self.blocks[index:stop])
        for row in table.releases:
            if self._asks_of_others(row):
                own = self.current.header.version
                self.current.requirements += [r for r in row.asked if r.version != own]
                continue
            if self._fills_current(row):
                continue
            self._finish()
            unit = self._unit_for(row.header)
            self.current = ReleaseDraft(
                title=row.title,
                header=row.header._replace(
                    unit=unit, component=row.header.component or component_of(unit)
                ),
                place=row.place,
                level="table",
                requirements=list(row.requirements),
            )
            self.path.clear()
            for text, block in row.items:
                self._item(clean(text), block)
        for text, block in table.items:
            self._item(clean(text), block)
        return stop - index

    def _asks_of_others(self, row: tables.RowRelease) -> bool:
        """A version table of other units below a release's items tells what the release needs."""
        mine = self.current.header
        other = row.header.component not in ("", mine.component)
        told = bool(mine.version) and not self.current.empty and not row.header.date
        return told and other and bool(row.asked)

    def _unit_for(self, header: headers.Header) -> str:
        """The document's own unit, unless the table's row is plainly for another one."""
        other = header.component and component_of(self.unit) not in ("", header.component)
        return header.unit if other or not self.unit else self.unit

    def _fills_current(self, row: tables.RowRelease) -> bool:
        """A version table under a header without items completes that header."""
        mine = self.current.header
        if not self.current.title or not self.current.empty:
            return False
        same = row.header.version and mine.version == row.header.version
        if mine.version and not same and row.header.version not in ("", mine.version):
            own = next((r for r in row.requirements if r.version == mine.version), None)
            if own is None and row.many:
                return False
        header = (
            mine
            if mine.version
            else mine._replace(
                version=row.header.version,
                unit=mine.unit or row.header.unit,
                component=mine.component or row.header.component,
            )
        )
        self.current.header = header._replace(date=mine.date or row.header.date)
        self.current.requirements += [r for r in row.requirements if r.version != mine.version]
        for text, block in row.items:
            self._item(clean(text), block)
        return True

    # ends ------------------------------------------------------------------------------

    def _finish(self) -> None:
        if self.current.title or self.current.items or self.current.requirements:
            self.releases.append(self.current)
        self.current = ReleaseDraft()

    def _drop_preamble(self) -> None:
        """Paragraphs before the first release header introduce the document."""
        first = self.releases[0]
        if first.plain and all(item.level == 0 for item in first.items) and len(first.items) <= 12:
            self.remarks.append(
                f"{len(first.items)} introductory paragraphs before the first release"
                " were not read as changes"
            )
            heir = self.releases[1]
            heir.asides = [
                *first.asides,
                *((i.text, i.places[0]) for i in first.items),
                *heir.asides,
            ]
            del self.releases[0]
