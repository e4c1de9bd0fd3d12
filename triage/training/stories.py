"""Invented releases to render training documents from: who made what, and all that its notes say.

A story is drawn from the corpora by a seed: changes from the labelled items of one document after
the other, everything else from the single statements. Versions in words against a release are
those of the story. What is kept out of fitting is never drawn.
"""

from __future__ import annotations

import datetime as dt
import random
import re
import tomllib
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import NamedTuple

from triage.domain.base import Frozen
from triage.domain.corpus import CorpusItem
from triage.reading.candidates import versions_in
from triage.reference.shipped import folder
from triage.training.corpus import read_corpus
from triage.training.documents import tag_of
from triage.training.held_out import kept_out, style_kept_out

_LONGEST = 400  # characters of a statement
_SPECIAL = re.compile(r"[⟦⟧|\n\t]|\s{3,}|^\s*[#>]|<[a-z/!]|^\W*$|`{3}|^\W*(?:\d{1,8}|[a-z])[.):]\s")
# A change that names values or other units may have effects and needs that its item does not say.
_UNTOLD = re.compile(
    r"\b(?:defaults?|reset|renam|remov|no longer|now called|instead of|from \S+ to|was|were"
    r"|previously|requires?|needs?|compatib|only works|or later|or newer|firmware|version|minimum"
    r"|maximum|limit|increased|reduced|lowered|raised|new (?:parameter|setting|option)"
    r"|drop(?:s|ped)?)\b",
    re.I,
)
_LETTERS = {"feature": "F", "fix": "X", "flight-behaviour": "B", "compatibility": "C"}
GROUPS = {
    "i": "instructions",
    "q": "requirements",
    "k": "known",
    "w": "notices",
    "a": "availability",
    "b": "background",
    "r": "remarks",
    "u": "users",
    "n": "boilerplate",
}


class Pair(Frozen):
    """A change in two languages and more, by language."""

    kinds: str
    en: str
    de: str
    fr: str
    zh: str
    ja: str


class Words(Frozen):
    """The names, titles and labels of stories; see story_words.toml."""

    makers: tuple[str, ...]
    models: tuple[str, ...]
    suffixes: tuple[str, ...]
    units: dict[str, tuple[str, ...]]
    titles: dict[str, tuple[str, ...]]
    headings: dict[str, tuple[str, ...]]
    questions: dict[str, tuple[str, ...]]
    labels: dict[str, tuple[str, ...]]
    columns: dict[str, tuple[str, ...]]
    people: dict[str, tuple[str, ...]]
    bilingual: tuple[Pair, ...]


@cache
def words() -> Words:
    """The words that ship with the package."""
    text = Path(__file__).with_name("story_words.toml").read_text(encoding="utf-8")
    return Words.model_validate(tomllib.loads(text))


class Statement(NamedTuple):
    """A statement with the tag of the guideline (role, kinds, attributes), and its heading.

    A heading that names a version is left out: it would be one of another release.
    """

    tag: str
    heading: str
    text: str
    style: str = ""

    @property
    def role(self) -> str:
        """The letter of its role."""
        return self.tag[0]


class Unit(NamedTuple):
    """A unit of a release; `name` as the notes call it."""

    component: str
    name: str
    version: str


class Release(NamedTuple):
    """A release and what its notes say, by group; `day` is None where none is printed."""

    number: int
    product: str
    version: str
    day: dt.date | None
    units: tuple[Unit, ...]
    withdrawn: bool
    prerelease: bool
    changes: tuple[Statement, ...]
    groups: Mapping[str, tuple[Statement, ...]]


class Story(NamedTuple):
    """The releases of one document, newest first, and what stands around them."""

    maker: str
    product: str
    component: str
    releases: tuple[Release, ...]
    remarks: tuple[Statement, ...]
    users: tuple[Statement, ...]
    boilerplate: Mapping[str, tuple[str, ...]]  # by sort: web, mail, pdf, repository, store


class Pools(NamedTuple):
    """What stories are drawn from."""

    items: tuple[tuple[str, tuple[Statement, ...]], ...]  # component and changes of a document
    effects: tuple[Statement, ...]
    rows: tuple[Statement, ...]  # changes of settings, written as rows of a table
    groups: Mapping[str, tuple[Statement, ...]]


@cache
def pools() -> Pools:
    """The shipped corpora without what is kept out of fitting."""
    items = read_corpus()
    seen = [item for item, out in zip(items, kept_out(items), strict=True) if not out]
    return pools_of(seen, _statements(folder("corpora") / "statements"))


def pools_of(items: Iterable[CorpusItem], statements: Iterable[Statement]) -> Pools:
    """Pools from labelled items and single statements."""
    documents: defaultdict[tuple[str, str], list[Statement]] = defaultdict(list)
    for item in items:
        if not item.kinds or not _usable(item.text) or _UNTOLD.search(item.text):
            continue
        letters = "".join(letter for kind, letter in _LETTERS.items() if kind in item.kinds)
        outcome = f";o={item.outcome}" if item.outcome and "X" in letters else ""
        heading = "" if any(char.isdigit() for char in item.heading) else item.heading
        change = Statement(f"c {letters}{outcome}", heading, item.text, item.style)
        documents[item.unit, item.document].append(change)
    groups: defaultdict[str, list[Statement]] = defaultdict(list)
    for one in statements:
        if one.role in GROUPS and _usable(one.text):
            groups[GROUPS[one.role]].append(one)
        elif one.role == "c" and _usable(one.text):
            groups["rows" if "table-rows" in one.style else "effects"].append(one)
    return Pools(
        tuple((unit, tuple(own)) for (unit, _), own in documents.items() if len(own) >= 3),
        tuple(groups.pop("effects", ())),
        tuple(groups.pop("rows", ())),
        {name: tuple(own) for name, own in groups.items()},
    )


def _usable(text: str) -> bool:
    return 2 < len(text) <= _LONGEST and not _SPECIAL.search(text)


def _statements(place: Path) -> Iterable[Statement]:
    for path in sorted(place.glob("*.txt")):
        style = path.stem
        for line in path.read_text(encoding="utf-8").splitlines():
            if found := re.match(r"#\s*style:\s*(.+)", line):
                style = found[1].strip()
            parts = [part.strip() for part in line.split("|", 2)]
            if len(parts) == 3 and not line.startswith("#") and not style_kept_out(style):
                heading = "" if any(char.isdigit() for char in parts[1]) else parts[1]
                yield Statement(parts[0], heading, parts[2], style)


def story(rng: random.Random, own: Pools) -> Story:
    """A story by the generator's state."""
    w = words()
    component = rng.choice([unit for unit, _ in own.items])
    model = rng.choice(w.models) + rng.choice(w.suffixes)
    maker = rng.choice(w.makers)
    documents = [changes for unit, changes in own.items if unit == component]
    count = rng.choice((1, 1, 1, 2, 2, 3, 4, 5))
    scheme = rng.choice(SCHEMES)
    numbers = [rng.randrange(1, 6), rng.randrange(0, 20), rng.randrange(0, 9)]
    day = dt.date(2021, 1, 1) + dt.timedelta(rng.randrange(2200))
    dated = rng.random() < 0.8
    releases = []
    for number in range(1, count + 1):
        version = scheme(numbers, day, rng)
        units = _units(rng, component, model, version)
        changes = _drawn(rng, rng.choice(documents), (2, 9) if count < 4 else (1, 4))
        releases.append(
            _release(rng, own, number, model, version, day if dated else None, units, changes)
        )
        numbers, day = _older(rng, numbers), day - dt.timedelta(rng.randrange(9, 120))
    boilerplate: defaultdict[str, list[str]] = defaultdict(list)
    for one in own.groups.get("boilerplate", ()):
        boilerplate[one.style.split("-")[0]].append(one.text)
    return Story(
        maker,
        model,
        component,
        tuple(releases),
        _some(rng, own.groups.get("remarks", ()), 3),
        _some(rng, own.groups.get("users", ()), 6),
        {sort: tuple(rng.sample(lines, min(8, len(lines)))) for sort, lines in boilerplate.items()},
    )


def _release(
    rng: random.Random,
    own: Pools,
    number: int,
    product: str,
    version: str,
    day: dt.date | None,
    units: tuple[Unit, ...],
    changes: tuple[Statement, ...],
) -> Release:
    most = 4 if number == 1 else 1
    groups = {}
    for name, least in (("instructions", 0.3), ("requirements", 0.4), ("known", 0.4)):
        if rng.random() > least / number:
            groups[name] = _some(rng, own.groups.get(name, ()), most)
    if rng.random() < 0.2 / number:
        groups["availability"] = _some(rng, own.groups.get("availability", ()), 2)
    if rng.random() < 0.25:
        groups["background"] = _some(rng, own.groups.get("background", ()), 2)
    if rng.random() < 0.55:
        groups["effects"] = _some(rng, own.effects, 3)
    against: tuple[Statement, ...] = ()
    if rng.random() < 0.14:
        against = tuple(
            renamed
            for one in _some(rng, own.groups.get("notices", ()), 2)
            if (renamed := _of_release(one, version))
        )
        groups["notices"] = against
    withdrawn = any(one.tag.startswith("w withdrawn") for one in against)
    prerelease = bool(re.search(r"beta|rc|alpha", version, re.I))
    groups = {name: found for name, found in groups.items() if found}
    return Release(number, product, version, day, units, withdrawn, prerelease, changes, groups)


def _of_release(one: Statement, version: str) -> Statement | None:
    """The statement about this release: the version it names is put in place of its own."""
    found = versions_in(one.text)
    if not found:
        return one
    if len(found) > 1 or "only=" in one.tag:
        return None
    text = one.text[: found[0].start] + version + one.text[found[0].end :]
    return one._replace(text=text)


def _some(rng: random.Random, own: Sequence[Statement], most: int) -> tuple[Statement, ...]:
    return tuple(rng.sample(list(own), min(len(own), rng.randint(1, most))))


def _drawn(
    rng: random.Random, own: Sequence[Statement], bounds: tuple[int, int]
) -> tuple[Statement, ...]:
    """Changes of one document, in its order."""
    count = min(len(own), rng.randint(*bounds))
    begin = rng.randrange(len(own) - count + 1)
    return tuple(own[begin : begin + count])


def _units(rng: random.Random, component: str, model: str, version: str) -> tuple[Unit, ...]:
    """The unit itself, and now and then others that come with it."""
    names = words().units
    units = [Unit(component, rng.choice(names[component]).format(model=model), version)]
    if rng.random() < 0.4:
        others = rng.sample(sorted(set(names) - {component, "other"}), rng.randint(1, 3))
        scheme = rng.choice(SCHEMES[:4])
        for other in others:
            numbers = [rng.randrange(1, 5), rng.randrange(0, 20), rng.randrange(0, 9)]
            own = scheme(numbers, dt.date(2026, 1, 1), rng)
            if own != version:
                units.append(Unit(other, rng.choice(names[other]).format(model=model), own))
    return tuple(units)


def _older(rng: random.Random, numbers: list[int]) -> list[int]:
    major, minor, patch = numbers
    if patch > 0 and rng.random() < 0.6:
        return [major, minor, patch - 1]
    if minor > 0:
        return [major, minor - 1, rng.randrange(0, 4)]
    return [max(1, major - 1), rng.randrange(5, 12), 0]


def _dotted(n: list[int], day: dt.date, rng: random.Random) -> str:
    return f"{n[0]}.{n[1]}.{n[2]}"


def _short(n: list[int], day: dt.date, rng: random.Random) -> str:
    return f"{n[0]}.{n[1]}" if not n[2] else f"{n[0]}.{n[1]}.{n[2]}"


def _padded(n: list[int], day: dt.date, rng: random.Random) -> str:
    return f"{n[0]:02}.{n[1]:02}.{n[2]:02}00"


def _marked(n: list[int], day: dt.date, rng: random.Random) -> str:
    return f"V{n[0]}.{n[1]:02}.{n[2]:02}"


def _by_month(n: list[int], day: dt.date, rng: random.Random) -> str:
    return f"{day.year}.{day.month:02}" + (f".{n[2]}" if n[2] > 5 else "")


def _lettered(n: list[int], day: dt.date, rng: random.Random) -> str:
    return f"R{n[1] + 1}{'abcd'[n[2] % 4] if n[2] else ''}"


def _staged(n: list[int], day: dt.date, rng: random.Random) -> str:
    return f"{n[0]}.{n[1]}.{n[2]}-{rng.choice(('beta', 'rc'))}{rng.randint(1, 4)}"


SCHEMES = (_dotted, _short, _padded, _marked, _by_month, _lettered, _staged)

_DAYS = (
    "{d:%Y-%m-%d}",
    "{d.day} {d:%B} {d.year}",
    "{d:%b} {d.day}, {d.year}",
    "{d:%B} {d.day}, {d.year}",
    "{d:%d.%m.%Y}",
    "{d:%Y/%m/%d}",
    "{d.day} {d:%b} {d.year}",
    "{d.year}年{d.month}月{d.day}日",
)


def written_day(rng: random.Random, day: dt.date) -> str:
    """A day in one of the forms in use."""
    return rng.choice(_DAYS).format(d=day)


def is_effect_row(one: Statement) -> tuple[str, str, str] | None:
    """Setting, old and new value of a change that has exactly one effect with a new value."""
    effects = [fields for name, fields in tag_of(one.tag)[2] if name == "e"]
    if len(effects) != 1 or len(effects[0]) < 4 or not effects[0][3]:
        return None
    return effects[0][1], effects[0][2], effects[0][3]
