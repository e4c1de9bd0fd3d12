"""How a rendered document is written: plain text, Markdown or HTML, each in several manners.

All take and give marked text (⟦tag|words⟧); a mark takes no room in a line. Tags hold no blanks
here but `JOINT` in their place, so that lines can be wrapped; `finished` puts the blanks back.
"""

from __future__ import annotations

import html
import re
from collections.abc import Sequence
from typing import NamedTuple

JOINT = "\ue000"
_MARKS = re.compile(r"⟦[^|⟧]*\||⟧")


def mark(tag: str, text: str) -> str:
    """The text with its mark around it."""
    return f"⟦{tag.replace(' ', JOINT)}|{text}⟧"


def finished(lines: Sequence[str]) -> str:
    """The document from its lines, at most two empty ones together."""
    text = "\n".join(line.rstrip() for line in lines).replace(JOINT, " ")
    return re.sub(r"\n{4,}", "\n\n\n", text).strip("\n") + "\n"


def visible(text: str) -> int:
    """Characters that a marked text takes up."""
    return len(_MARKS.sub("", text))


def wrapped(text: str, width: int, first: str = "", rest: str = "") -> list[str]:
    """A marked text in lines of at most `width` characters; 0 leaves it in one."""
    if not width:
        return [first + text]
    lines: list[str] = []
    line = first
    room = len(first)
    for word in text.split(" "):
        length = visible(word)
        if room > len(first if not lines else rest) and room + 1 + length > width:
            lines.append(line)
            line, room = rest + word, len(rest) + length
        elif room > len(first if not lines else rest):
            line, room = f"{line} {word}", room + 1 + length
        else:
            line, room = line + word, room + length
    return [*lines, line]


class Text(NamedTuple):
    """Plain text. `heads`: underline, capitals, colon, bracket, number, dashes or plain."""

    bullet: str = "-"
    width: int = 0
    heads: str = "underline"
    indent: int = 0
    columns: str = "   "
    spaced: bool = False  # an empty line after each entry

    def words(self, text: str) -> str:
        """Words as they are written in this form."""
        return text

    def heading(self, level: int, marked: str) -> list[str]:
        """A heading, with the empty lines around it."""
        length = visible(marked)
        if self.heads == "capitals":
            marked = re.sub(r"(?<=\|)[^⟧]*", lambda m: m[0].upper() if level > 1 else m[0], marked)
        shown = {
            "colon": [marked if marked.endswith(":⟧") else f"{marked}:"],
            "bracket": [f"[{marked}]" if level > 1 else marked],
            "dashes": [f"--- {marked} ---"] if level > 1 else [f"=== {marked} ==="],
            "underline": [marked, ("=" if level == 1 else "-") * length],
        }.get(self.heads, [marked])
        return ["", *shown, *([""] if level == 1 or self.heads == "plain" else [])]

    def entries(self, marked: Sequence[str]) -> list[str]:
        """A list."""
        lines = []
        for number, one in enumerate(marked, 1):
            bullet = self.bullet.replace("1", str(number))
            first = " " * self.indent + bullet + " " * bool(bullet)
            lines += wrapped(one, self.width, first, " " * len(first))
            lines += [""] * self.spaced
        return lines

    def paragraph(self, marked: str) -> list[str]:
        """A paragraph and the empty line behind it."""
        return [*wrapped(marked, self.width), ""]

    def line(self, marked: str) -> str:
        """A line by itself."""
        return marked

    def table(self, head: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
        """Rows of columns under their headings, if any."""
        every = [list(head), *map(list, rows)] if head else [list(row) for row in rows]
        if self.columns.strip() or "\t" in self.columns:
            return ["", *(self.columns.join(row) for row in every), ""]
        widths = [max(visible(row[n]) for row in every) for n in range(len(every[0]))]
        lines = []
        for row in every:
            cells = [cell + " " * (w - visible(cell)) for cell, w in zip(row, widths, strict=True)]
            lines.append(" " * self.indent + self.columns.join(cells))
        return ["", *lines, ""]

    def quoted(self, lines: Sequence[str]) -> list[str]:
        """Lines that somebody else wrote."""
        return [f"> {line}" for line in lines]

    def rule(self) -> list[str]:
        """What parts two parts of a page."""
        return ["", "-" * (self.width or 60), ""]


class Markdown(NamedTuple):
    """Markdown. `heads`: hashes, underline or bold."""

    bullet: str = "-"
    heads: str = "hashes"
    width: int = 0

    def words(self, text: str) -> str:
        """Words as they are written in this form."""
        return text.replace("*", "\\*").replace("_", "\\_") if "*" in text else text

    def heading(self, level: int, marked: str) -> list[str]:
        """A heading, with the empty lines around it."""
        if self.heads == "underline" and level < 3:
            return ["", marked, ("=" if level == 1 else "-") * max(3, visible(marked)), ""]
        if self.heads == "bold" and level > 1:
            return ["", f"**{marked}**", ""]
        return ["", "#" * min(level, 6) + f" {marked}", ""]

    def entries(self, marked: Sequence[str]) -> list[str]:
        """A list."""
        lines = []
        for number, one in enumerate(marked, 1):
            bullet = self.bullet.replace("1", str(number))
            lines += wrapped(one, self.width, f"{bullet} ", " " * (len(bullet) + 1))
        return [*lines, ""]

    def paragraph(self, marked: str) -> list[str]:
        """A paragraph and the empty line behind it."""
        return [*wrapped(marked, self.width), ""]

    def line(self, marked: str) -> str:
        """A line by itself."""
        return marked + "  "

    def table(self, head: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
        """Rows of columns under their headings."""
        head = head or [""] * len(rows[0])
        body = ["| " + " | ".join(row) + " |" for row in (head, *rows)]
        return ["", body[0], "|" + "---|" * len(head), *body[1:], ""]

    def quoted(self, lines: Sequence[str]) -> list[str]:
        """Lines that somebody else wrote."""
        return [f"> {line}".rstrip() for line in lines]

    def rule(self) -> list[str]:
        """What parts two parts of a page."""
        return ["", "---", ""]


class Html(NamedTuple):
    """HTML. `list_as`: ul, ol, br or p; `heads`: h or b; `th`: column headings are marked so."""

    list_as: str = "ul"
    heads: str = "h"
    th: bool = True

    def words(self, text: str) -> str:
        """Words as they are written in this form."""
        return html.escape(text, quote=False)

    def heading(self, level: int, marked: str) -> list[str]:
        """A heading."""
        if self.heads == "b" and level > 1:
            return [f"<p><b>{marked}</b></p>"]
        return [f"<h{level}>{marked}</h{level}>"]

    def entries(self, marked: Sequence[str]) -> list[str]:
        """A list."""
        if self.list_as in ("ul", "ol"):
            return [
                f"<{self.list_as}>",
                *(f"<li>{one}</li>" for one in marked),
                f"</{self.list_as}>",
            ]
        if self.list_as == "br":
            return ["<p>" + "<br>\n".join(f"&bull; {one}" for one in marked) + "</p>"]
        return [f"<p>{one}</p>" for one in marked]

    def paragraph(self, marked: str) -> list[str]:
        """A paragraph."""
        return [f"<p>{marked}</p>"]

    def line(self, marked: str) -> str:
        """A line by itself."""
        return f"{marked}<br>"

    def table(self, head: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
        """Rows of columns under their headings, if any."""
        tag = "th" if self.th else "td"
        lines = ["<table>"]
        if head:
            lines.append("<tr>" + "".join(f"<{tag}>{cell}</{tag}>" for cell in head) + "</tr>")
        lines += ["<tr>" + "".join(f"<td>{cell}</td>" for cell in row) + "</tr>" for row in rows]
        return [*lines, "</table>"]

    def quoted(self, lines: Sequence[str]) -> list[str]:
        """Lines that somebody else wrote."""
        return ["<blockquote>", *lines, "</blockquote>"]

    def rule(self) -> list[str]:
        """What parts two parts of a page."""
        return ["<hr>"]


Markup = Text | Markdown | Html
