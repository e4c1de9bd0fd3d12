"""Which units of the kit a component or a maker's name means, and what is installed on them."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache

from pydantic import BaseModel

from triage.domain.base import Frozen
from triage.domain.kit import Kit, Unit
from triage.reference.loader import load_table
from triage.reference.vocabulary import components

NAMES_ALIKE = 90.0  # per cent of letters, for slips of the pen; numbers have to be the same
_GENERIC = frozenset({"firmware", "software", "version", "series", "the"})


class _Carried(Frozen):
    carried: dict[str, tuple[str, ...]]


class _Named(BaseModel):
    id: str
    name: str


class _Functions(BaseModel):
    function: tuple[_Named, ...]


@cache
def carriers(component: str) -> tuple[str, ...]:
    """The components that a part comes with, () for a unit by itself."""
    return load_table("carried.toml", _Carried).carried.get(component, ())


@cache
def function_names() -> dict[str, str]:
    """Function ids and what they mean, in the order of the vocabulary."""
    found = load_table("functions.toml", _Functions).function
    return {function.id: function.name for function in found}


@cache
def component_name(component: str) -> str:
    """A component's name in plain words; the id itself when the vocabulary lacks it."""
    return next((c.name for c in components() if c.id == component), component)


def component_id(words: str) -> str:
    """The component meant by an id, name or synonym, '' when none is."""
    wanted = " ".join(words.split()).casefold()
    for entry in components():
        if wanted in (entry.id, entry.name, *entry.synonyms):
            return entry.id
    return ""


def of_component(kit: Kit, component: str) -> tuple[Unit, ...]:
    """The units of a component, or those that carry it where the kit lists none."""
    exact = tuple(unit for unit in kit.units if unit.component == component)
    return exact or tuple(unit for unit in kit.units if unit.component in carriers(component))


def meant(kit: Kit, component: str, name: str) -> tuple[Unit, ...]:
    """The units meant by a component id and a maker's name, either of which may be ''.

    A unit whose name the operator did not state is taken to be meant by any name.
    """
    stated = component not in ("", "other")
    pool = of_component(kit, component) if stated else kit.units
    names = proper(name)
    if not names:
        return pool if stated else ()
    named = tuple(unit for unit in pool if any(alike(unit.name, one) for one in names))
    return named or tuple(unit for unit in pool if stated and not _words(unit.name))


def proper(name: str) -> tuple[str, ...]:
    """The proper names in 'Remote controller (Tiller)' or 'Aircraft firmware': Tiller; none."""
    parts = (re.sub(r"\([^()]*\)", " ", name), *re.findall(r"\(([^()]+)\)", name))
    bare = (re.sub(r"\b(?:firmware|software|version)\b", " ", part, flags=re.I) for part in parts)
    return tuple(part for part in bare if _words(part) and not component_id(part))


def alike(name: str, other: str) -> bool:
    """Whether two names mean one product: 'Heron 2' and 'Quillmere Heron 2', not 'Heron 3'.

    The shorter has to be the end of the longer, since the end tells models apart.
    """
    a, b = sorted((_words(name), _words(other)), key=len)
    if not a:
        return False
    from rapidfuzz import fuzz

    b = b[-len(a) :]
    numbers = [[w for w in words if re.search(r"\d", w)] for words in (a, b)]
    return numbers[0] == numbers[1] and fuzz.ratio(" ".join(a), " ".join(b)) >= NAMES_ALIKE


def mentioned(name: str, text: str) -> bool:
    """Whether a text names a product: by its whole name, or by an end of it that tells models
    apart ('S4' for 'Sarnwick S4', not '60' for 'Hex 60')."""
    words = _words(name)
    if not words:
        return False
    line = " ".join(("", *re.findall(r"[^\W_]+", text.casefold()), ""))
    for start in range(len(words)):
        end = words[start:]
        telling = len(end) == len(words) or len(end) > 1 or _is_model(end[0])
        if telling and f" {' '.join(end)} " in line:
            return True
    return False


def sibling(name: str, text: str) -> bool:
    """Whether a text names another model of the same line: 'Fenwick G3' for 'Fenwick G2'."""
    words = _words(name)
    if len(words) < 2 or not any(c.isdigit() for c in words[-1]) or mentioned(name, text):
        return False
    line = re.findall(r"[^\W_]+", text.casefold())
    ahead = list(words[:-1])
    for at in range(len(line) - len(ahead)):
        other = line[at + len(ahead)]
        if line[at : at + len(ahead)] == ahead and any(c.isdigit() for c in other):
            return not other[0].isdigit() or words[-1][0].isdigit()
    return False


def _is_model(word: str) -> bool:
    """Whether a word is a model's name by itself: letters and digits mixed."""
    return any(c.isdigit() for c in word) and any(c.isalpha() for c in word)


def installed(kit: Kit, unit: Unit) -> tuple[str, str]:
    """The installed version, and why it is '' when it is: 'same as' is looked up in the kit."""
    from triage.kit.versions import known, same_as

    seen: list[str] = []
    while (words := same_as(unit.version)) and unit.label not in seen:
        seen.append(unit.label)
        others = [u for u in _named_by(kit, words) if u.label not in seen]
        if len({u.version for u in others}) != 1:
            return "", f"'{unit.version}' names no single unit of the kit"
        unit = others[0]
    if not unit.version.strip():
        return "", "the installed version is not stated"
    if not known(unit.version):
        return "", f"the installed version '{unit.version}' cannot be read"
    return unit.version, ""


def relied_on(kit: Kit, label: str) -> tuple[str, ...]:
    """Functions relied on with one unit: the kit's and its own; () when none are stated, so all."""
    own = next((unit.functions for unit in kit.units if unit.label == label), ())
    return tuple(dict.fromkeys((*kit.functions, *own)))


def as_used_with(kit: Kit, label: str) -> Kit:
    """The kit with the functions relied on with one unit, and with no others."""
    units = tuple(unit.model_copy(update={"functions": ()}) for unit in kit.units)
    return kit.model_copy(update={"units": units, "functions": relied_on(kit, label)})


def touched(kit: Kit, found: Iterable[str]) -> tuple[str, ...] | None:
    """Labels of the units that component ids concern; () when none is in the kit.

    None when the ids name no component, so that the release alone says whom it concerns; an
    assumed kit owns everything.
    """
    ids = [component for component in found if component not in ("", "other")]
    if not ids or kit.assumed:
        return None
    labels = {unit.label for component in ids for unit in of_component(kit, component)}
    return tuple(unit.label for unit in kit.units if unit.label in labels)


def _named_by(kit: Kit, words: str) -> tuple[Unit, ...]:
    by_label = tuple(unit for unit in kit.units if unit.label.casefold() == words)
    return by_label or (of_component(kit, component_id(words)) or meant(kit, "", words))


@cache
def _words(name: str) -> tuple[str, ...]:
    """The words of a maker's name, without those that only say what kind of thing it is."""
    words = re.findall(r"[^\W_]+", name.casefold())
    while words and (words[-1] in _GENERIC or component_id(words[-1])):
        words.pop()
    text = " ".join(words)
    return () if component_id(text) else tuple(words)
