"""All corpora as examples, and what of them is kept out of fitting."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

from triage.reading.atoms import Cutter
from triage.reference.shipped import folder
from triage.training.corpus import read_corpus
from triage.training.cutting import fit_cutter
from triage.training.documents import Annotated, read_annotated
from triage.training.examples import (
    Example,
    Labelled,
    labelled,
    of_document,
    of_files,
    of_items,
    of_outcome,
    of_tagged,
)
from triage.training.held_out import document_kept_out, kept_out, style_kept_out
from triage.training.layouts import rendered

_SEED, _RENDERED = 1, 480  # of the documents that a program renders: ten a layout
_ENDINGS = (".txt", ".md", ".html", ".eml")


class Corpora(NamedTuple):
    """Examples to fit to, and those kept out; the documents likewise, as the reader cuts them.

    `rendered` are documents that a program made of the same statements in further layouts.
    """

    seen: tuple[Example, ...]
    unseen: tuple[Example, ...]
    documents: tuple[Labelled, ...]
    kept_documents: tuple[Labelled, ...]
    rendered: tuple[Labelled, ...]
    cutter: Cutter


def annotated(place: Path | None = None) -> Iterator[Annotated]:
    """Every annotated document, by name."""
    for path in sorted((place or folder("corpora") / "documents").iterdir()):
        if path.suffix in _ENDINGS:
            yield read_annotated(path)


def read_corpora(unit_in: Callable[[str], str]) -> Corpora:
    """Everything in the corpora, parted by what is kept out."""
    place = folder("corpora")
    items = read_corpus()
    held = kept_out(items)
    seen = list(of_items(item for item, out in zip(items, held, strict=True) if not out))
    unseen = list(of_items(item for item, out in zip(items, held, strict=True) if out))
    for name, read in (("statements", of_tagged), ("outcomes", of_outcome)):
        for example in of_files(place / name, read):
            (unseen if style_kept_out(example.style) else seen).append(example)
    every = list(annotated())
    fitted = [d for d in every if not document_kept_out(d.name, d.layout)]
    drawn = list(rendered(_SEED, _RENDERED))
    cutter = fit_cutter([*fitted, *drawn])
    documents = [labelled(d, cutter, unit_in) for d in fitted]
    kept = [labelled(d, cutter, unit_in) for d in every if document_kept_out(d.name, d.layout)]
    seen += [e for d in documents for e in of_document(d)]
    unseen += [e for d in kept for e in of_document(d)]
    return Corpora(
        seen=tuple(seen),
        unseen=tuple(unseen),
        documents=tuple(documents),
        kept_documents=tuple(kept),
        rendered=tuple(labelled(d, cutter, unit_in) for d in drawn),
        cutter=cutter,
    )


def read_shipped() -> Corpora:
    """The corpora that come with the package, their titles read by the shipped vocabulary."""
    from triage.classify.recogniser import Recogniser
    from triage.reading.version_lines import first_component as component_in

    recogniser = Recogniser()
    return read_corpora(lambda title: component_in(title, recogniser))


def corpora_digest() -> str:
    """SHA-256 over the names and bytes of everything that is fitted to."""
    digest = hashlib.sha256()
    place = folder("corpora")
    for name in ("items", "statements", "outcomes", "documents"):
        for path in sorted((place / name).iterdir()):
            digest.update(f"{name}/{path.name}".encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()
