"""Every statement of the corpora with all that is known of it, for the one encoder of all heads."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import NamedTuple

from triage.domain.corpus import CorpusItem
from triage.domain.notes import Role
from triage.domain.outcomes import Outcome
from triage.reading.atoms import Atom, Cutter, atoms_of
from triage.reading.context import Context, contexts
from triage.reading.formats import blocks_of
from triage.training.cutting import Places
from triage.training.documents import Annotated, Span, tag_of

KINDS = {"F": "feature", "X": "fix", "B": "flight-behaviour", "C": "compatibility"}
ROLE_OF = {
    "v": "version",
    "h": "heading",
    "c": "change",
    "i": "instruction",
    "q": "requirement",
    "k": "known-issue",
    "w": "notice",
    "a": "availability",
    "b": "background",
    "r": "remark",
    "u": "user",
    "d": "duplicate",
    "n": "boilerplate",
}

CHOICES = {
    "role": tuple(Role),
    "outcome": tuple(Outcome),
    "about": (
        "charge",
        "order",
        "calibrate",
        "restart",
        "retry",
        "recheck",
        "backup-settings",
        "each-unit",
        "no-way-back",
        "way-back",
        "test-flight",
        "warning",
        "other",
    ),
    "notice": ("withdrawn", "warned", "grounded", "staged", "deadline", "announced", "other"),
}  # the classes of each exclusive head


class Example(NamedTuple):
    """One statement as the encoder reads it: `pair` is what stands before it, and its words.

    What is None or absent from `targets` is not known and teaches nothing. `targets` are names of
    independent targets that hold, of the families in `families`; `choices` the one class of each
    exclusive head. `style` is what it is kept out by.
    """

    pair: tuple[str, str]
    families: frozenset[str]
    targets: frozenset[str]
    choices: tuple[tuple[str, str], ...]
    style: str

    @property
    def plain(self) -> bool:
        """Whether it teaches nothing but kinds, settings and components."""
        return all(head == "role" for head, _ in self.choices) and "setting" in self.families


def of_items(items: Iterable[CorpusItem]) -> Iterator[Example]:
    """The labelled items; `outcome` where it was labelled."""
    for item in items:
        targets = [f"kind:{kind}" for kind in item.kinds]
        targets += [f"setting:{id}" for id in item.settings]
        targets += [f"component:{id}" for id in item.components]
        choices = [("role", "change")] if item.kinds else []
        if item.outcome:
            choices.append(("outcome", item.outcome))
        yield Example(
            (before(item.unit, item.heading), item.text),
            frozenset(("kind", "setting", "component")),
            frozenset(targets),
            tuple(choices),
            item.style,
        )


def before(unit: str, heading: str) -> str:
    """What the encoder reads before a statement."""
    return f"{unit} : {heading}"


def of_tagged(line: str, style: str) -> Example | None:
    """A line `tag | heading | text` of the single statements."""
    parts = [part.strip() for part in line.split("|", 2)]
    if len(parts) != 3 or not parts[2]:
        return None
    role, words, attributes = tag_of(parts[0])
    span = Span(0, len(parts[2]), role, words, attributes, 1)
    return _of_span(span, before("", parts[1]), parts[2], style, whole=True)


def of_outcome(line: str, style: str) -> Example | None:
    """A line `form | outcome | text` of the outcome statements."""
    parts = [part.strip() for part in line.split("|", 2)]
    if len(parts) != 3 or parts[1] not in set(Outcome) or not parts[2]:
        return None
    role = {"cured": "change", "known": "known-issue", "change": "change"}.get(parts[0])
    choices = [("outcome", parts[1])]
    if role:
        choices.append(("role", role))
    return Example((" : ", parts[2]), frozenset(), frozenset(), tuple(choices), style)


def of_files(folder: Path, read: Callable[[str, str], Example | None]) -> Iterator[Example]:
    """The statements of all files of a folder; `# style: name` begins a style."""
    for path in sorted(folder.glob("*.txt")):
        style = path.stem
        for line in path.read_text(encoding="utf-8").splitlines():
            if found := re.match(r"#\s*style:\s*(.+)", line):
                style = found[1].strip()
            elif line.strip() and not line.startswith("#") and (example := read(line, style)):
                yield example


class Labelled(NamedTuple):
    """A document's atoms with their contexts, and the span each belongs to (-1: unmarked)."""

    document: Annotated
    atoms: tuple[Atom, ...]
    contexts: tuple[Context, ...]
    spans: tuple[int, ...]


def labelled(document: Annotated, cutter: Cutter, unit_in: Callable[[str], str]) -> Labelled:
    """The document as the reader cuts it, with what its marks say of each atom."""
    atoms = tuple(atoms_of(blocks_of(document.text, document.name), cutter))
    places = Places(document.spans)
    spans = []
    for atom in atoms:
        start, end = atom.mapped.span()
        middle = atom.mapped.at(len(atom.text) // 2)
        votes = [places.at(at) for at in (start, middle, end - 1)]
        named = [vote for vote in votes if vote >= 0]
        spans.append(max(named, key=named.count) if named else -1)
    return Labelled(document, atoms, tuple(contexts(atoms, unit_in)), tuple(spans))


def of_document(found: Labelled) -> Iterator[Example]:
    """An example for each atom of a document; a statement of several atoms once more as a whole."""
    marked = found.document.spans
    for number, (atom, context, at) in enumerate(
        zip(found.atoms, found.contexts, found.spans, strict=True)
    ):
        ahead = before(context.unit, context.heading)
        if at < 0:
            yield Example(
                (ahead, atom.text),
                frozenset(),
                frozenset(),
                (("role", "boilerplate"),),
                found.document.layout,
            )
            continue
        alone = found.spans.count(at) == 1
        yield _of_span(marked[at], ahead, atom.text, found.document.layout, whole=alone)
        if not alone and found.spans.index(at) == number:
            words = " ".join(
                a.text for a, s in zip(found.atoms, found.spans, strict=True) if s == at
            )
            yield _of_span(marked[at], ahead, words, found.document.layout, whole=True)


def _of_span(span: Span, ahead: str, text: str, style: str, *, whole: bool) -> Example:
    """What a mark says of a text; of a part of a statement only its role is known."""
    choices = [("role", ROLE_OF[span.role])]
    targets: set[str] = set()
    families: set[str] = set()
    if whole and span.role in "ciqkwabr":
        families |= {"effect", "relation"}
        targets |= {f"effect:{fields[0]}" for fields in span.fields("e")}
        targets |= {"effect:kept" for fields in span.fields("e") if "kept" in fields[4:]}
        targets |= {f"relation:{fields[1]}" for fields in span.fields("q")}
        if span.role == "c" and span.words:
            families.add("kind")
            targets |= {f"kind:{KINDS[letter]}" for letter in span.words[0] if letter in KINDS}
        outcome = next((fields[0] for fields in span.fields("o") if fields), "")
        if outcome:
            choices.append(("outcome", outcome))
        elif span.role in "iba" or (span.role == "c" and "X" not in "".join(span.words)):
            choices.append(("outcome", "none"))
        if span.role in "iwa" and span.words:
            head = {"i": "about", "w": "notice", "a": "notice"}[span.role]
            choices.append((head, span.words[0]))
    return Example((ahead, text), frozenset(families), frozenset(targets), tuple(choices), style)
