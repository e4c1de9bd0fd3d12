"""Lines without markers: a wrapped paragraph, or a list that lost its bullets."""

from __future__ import annotations

import re
from collections.abc import Sequence

from triage.notes import words
from triage.notes.blocks import Line

_LABEL = re.compile(r"[A-Za-z][\w./()-]{0,40}(?: [\w./()-]{1,20}){0,2} ?: \S")
_CONNECT = re.compile(
    r"(?:,|\(|\[|/|-|&|\b(?:and|or|the|a|an|to|of|for|with|in|on|by|at|from|is|are|that|when|if))\Z",
    re.I,
)
# A sentence that points back at the one before it is no statement of its own.
_BACKWARD = re.compile(
    r"(?:This|These|It|They|There (?:is|was|were)) (?=[a-z])|[A-Z][a-z]+-[a-z]+-by: "
)
_HYPHENATED = re.compile(r"(?<=[A-Za-z]{2})- (?=[a-z]{2})(?!(?:and|or|to|bis|und)\b)")


def join_lines(parts: Sequence[str]) -> str:
    """Join wrapped lines; a compound broken at its hyphen ('pre-', 'arm') is put together again."""
    text = " ".join(parts)
    return _HYPHENATED.sub("-", text) if "- " in text else text


def split_run(run: list[Line]) -> list[list[Line]]:
    """Tell a wrapped paragraph from a list without bullets.

    Lines broken by a word processor are full: the next line's first word would not have fitted.
    Where that holds all through, the lines are one paragraph; else each is a statement of its own,
    apart from lines that plainly go on.
    """
    if len(run) == 1:
        return [run]
    texts = [line.text for line in run]
    width = max(max(len(text) for text in texts), 40)
    full = [
        len(texts[i]) + 1 + len(texts[i + 1].split(None, 1)[0]) > width
        for i in range(len(texts) - 1)
    ]
    verbs = sum(words.starts_with_verb(text) and text[0].isupper() for text in texts)
    labels = sum(bool(_LABEL.match(text)) for text in texts)
    listed = verbs >= max(2, len(texts) * 0.6) or labels >= max(2, len(texts) * 0.6)
    if all(full) and not listed:
        return [run]
    sentences = sum(text[-1] in ".!?:" for text in texts)
    if not listed and sentences == len(texts) and width > 70 and verbs * 2 < len(texts):
        return [run]
    groups = [[run[0]]]
    for index, line in enumerate(run[1:]):
        if _goes_on(texts[index], line, run[index], room=width - len(texts[index])):
            groups[-1].append(line)
        else:
            groups.append([line])
    return groups


def _goes_on(above: str, line: Line, upper: Line, *, room: int) -> bool:
    if words.known_section(line.text) or words.known_section(above):
        return False
    if _CONNECT.search(above) or line.indent > upper.indent + 1 or _BACKWARD.match(line.text):
        return True
    lower = line.text[0].islower() and not _LABEL.match(line.text)
    return lower and above[-1] not in ".!?:;" and room < len(line.text.split(None, 1)[0]) + 13
