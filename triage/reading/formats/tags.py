"""Where the tags of an HTML source stand; linear, whatever the source.

The parsers at hand tell lines at best, or go over an unfinished tag again and again; the places of
statements have to be exact to the character.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

_NAME = re.compile(r"</?([A-Za-z][A-Za-z0-9:-]{0,40}+)")
# The rest of a tag: quoted values may hold '>'. Bounds keep broken markup linear.
_REST = re.compile(r"""(?:[^>=]++|=\s{0,9}+(?:"[^"]{0,100000}+"|'[^']{0,100000}+')?){0,64}+>""")
_ATTRIBUTE = re.compile(r"""([^\s"'=/>]++)(?:\s*+=\s*+("[^"]*+"|'[^']*+'|[^\s"'>]++))?""")
_RAW = frozenset(("script", "style"))


class Tag(NamedTuple):
    """A tag at [start, end) of the source; `closing` for </name>, `attributes` as written."""

    start: int
    end: int
    name: str
    closing: bool
    attributes: str


def tags_in(text: str) -> Iterator[Tag]:
    """The tags in order; comments, declarations and the insides of scripts come as name '!'."""
    at = 0
    last, last_comment = text.rfind(">"), text.rfind("-->")
    raw = {name: re.compile(rf"</{name}", re.I) for name in _RAW}
    while 0 <= (start := text.find("<", at)) < last:
        name = _NAME.match(text, start)
        if name is None:
            at = _declaration(text, start, last_comment)
            if at:
                yield Tag(start, at, "!", False, "")
            at = at or start + 1
            continue
        rest = _REST.match(text, name.end())
        at = rest.end() if rest else text.find(">", name.end()) + 1
        label, closing = name[1].lower(), text[start + 1] == "/"
        yield Tag(start, at, label, closing, text[name.end() : at - 1])
        if label in raw and not closing:
            if close := raw[label].search(text, at):
                yield Tag(at, close.start(), "!", False, "")
                at = close.start()
            else:  # never closed, and none after it will be
                del raw[label]


def _declaration(text: str, start: int, last_comment: int) -> int:
    """Where a comment or declaration that begins at `start` ends; 0 if it is none, or open."""
    if text.startswith("<!--", start):
        return text.find("-->", start + 2) + 3 if start < last_comment else 0
    if text.startswith("<![CDATA[", start):
        return start + len("<![CDATA[")
    if text.startswith(("<!", "<?"), start):
        return text.find(">", start, start + 2000) + 1
    return 0


def attribute(tag: Tag, name: str) -> str:
    """The value of an attribute in lower case, its name where it has no value, '' without it."""
    for found in _ATTRIBUTE.finditer(tag.attributes):
        if found[1].lower() == name:
            return (found[2] or name).strip("\"' ").lower()
    return ""
