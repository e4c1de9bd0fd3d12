"""What an atom is read with: the unit its notes seem to be for, the heading it seems to be under.

Both are guesses by layout, made before any role is known; they are what the encoder reads before
the atom, and what the roles are told by.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import NamedTuple

from triage.reading.atoms import Atom
from triage.reading.formats.blocks import Shape

_VERSION = re.compile(r"\d+\.\d|\bv\d", re.I)
_DATED = re.compile(r"\d+\.\d|\bv\d|\b(?:19|20)\d\d\b", re.I)
_PLAIN = 7  # rank of a heading that only looks like one
_LONGEST, _MOST_WORDS = 64, 9


class Context(NamedTuple):
    """A component id or '', the words of the headings above, the heading's atom (-1 for none)."""

    unit: str
    heading: str
    above: int


def contexts(atoms: Sequence[Atom], unit_in: Callable[[str], str]) -> list[Context]:
    """The context of every atom; `unit_in` tells the component that a title names, or ''."""
    found: list[Context] = []
    open_: list[tuple[int, int, str]] = []  # rank, atom, words
    unit = ""
    for number, atom in enumerate(atoms):
        rank = heading_rank(atom, atoms[number + 1] if number + 1 < len(atoms) else None)
        if rank:
            while open_ and open_[-1][0] >= rank:
                open_.pop()
        above = open_[-1] if open_ else (0, -1, "")
        words = [above[2], atom.label] if atom.label != above[2] else [above[2]]
        found.append(Context(unit, " ".join(word for word in words if word)[:120], above[1]))
        if rank:
            titled = bool(_VERSION.search(atom.text))
            own = unit_in(atom.text) if titled or number < 12 else ""
            unit = own or unit
            dated = bool(_DATED.search(atom.text))
            open_.append((rank, number, "" if dated else atom.text.rstrip(":")))
        elif number < 12 and not unit and _VERSION.search(atom.text):
            unit = unit_in(atom.text)
    return found


def heading_rank(atom: Atom, following: Atom | None) -> int:
    """1 to 6 for a heading of the format, 7 for what looks like one, 0 for anything else."""
    if atom.shape is Shape.HEADING:
        return atom.level
    text = atom.text
    if atom.after != "block" or atom.shape is Shape.ROW or len(text) > _LONGEST:
        return 0
    if text[-1] in ".!?;,)" or len(text.split()) > _MOST_WORDS or following is None:
        return 0
    if following.after == "label":
        return 0
    if text.endswith(":") or atom.bold or (text.isupper() and len(text) > 3):
        return _PLAIN
    if following.after != "block":
        return 0
    if atom.shape is Shape.ENTRY:
        number = atom.marker.rstrip(".")
        deeper = following.indent > atom.indent + 1 or following.marker.startswith(f"{number}.")
        return _PLAIN if number.isdigit() and deeper else 0
    deeper = following.indent > atom.indent or following.shape is Shape.ENTRY
    set_off = atom.gap > 0 and following.gap == 0 and len(text) < 40
    return _PLAIN if deeper or set_off else 0
