"""Fits the models of the reading beside an encoder, and packs them."""

from __future__ import annotations

from collections.abc import Callable
from importlib.metadata import version
from pathlib import Path

import numpy as np

from triage.classify.encoder import Encoder
from triage.domain.corpus import CorpusItem
from triage.reading.linear import Linear
from triage.reading.models import PROTOCOL, Manifest, Thresholds, save
from triage.reading.roles import Floats
from triage.reference.shipped import folder
from triage.training.corpora import Corpora, corpora_digest
from triage.training.corpus import read_corpus
from triage.training.documents import Span, tag_of
from triage.training.examples import Labelled, before
from triage.training.facts_fit import fit_facts
from triage.training.held_out import kept_out, style_kept_out
from triage.training.roles_fit import fit_roles, sequence
from triage.training.unit_fit import fit_unit


def vectors_of(found: Labelled, encoder: Encoder) -> Floats:
    """The encoder's vector of each atom of a document."""
    return encoder.vectors(
        [
            (before(c.unit, c.heading), a.text)
            for a, c in zip(found.atoms, found.contexts, strict=True)
        ]
    )


def single_statements(place: Path | None = None) -> list[tuple[Span, str, str]]:
    """The single statements that are fitted to: mark, text, heading."""
    found = []
    for path in sorted((place or folder("corpora") / "statements").glob("*.txt")):
        style = path.stem
        for line in path.read_text(encoding="utf-8").splitlines():
            if line.startswith("#"):
                style = line.partition("style:")[2].strip() or style
                continue
            parts = [part.strip() for part in line.split("|", 2)]
            if len(parts) == 3 and not style_kept_out(style):
                role, words, attributes = tag_of(parts[0])
                span = Span(0, len(parts[2]), role, words, attributes, 1)
                found.append((span, parts[2], parts[1]))
    return found


def seen_items() -> list[CorpusItem]:
    """The labelled items that are fitted to."""
    items = read_corpus()
    return [item for item, out in zip(items, kept_out(items), strict=True) if not out]


def fit_reading(
    corpora: Corpora,
    encoder: Encoder,
    encoder_sha256: str,
    path: Path,
    *,
    thresholds: Thresholds,
    tell: Callable[[str], None] = lambda line: None,
) -> str:
    """Fit everything beside the encoder and write `path`; returns its digest."""
    documents = [*corpora.documents, *corpora.rendered]
    facts = fit_facts(documents, single_statements())
    roles = fit_roles([sequence(d, vectors_of(d, encoder)) for d in documents], tell=tell)
    cutter = corpora.cutter
    linear: dict[str, Linear] = {
        "lines": cutter.lines,
        "clauses": cutter.clauses,
        "versions": facts.versions,
        "days": facts.days,
        "values": facts.values,
        "unit": fit_unit(encoder, seen_items(), corpora.documents),
    }
    manifest = Manifest(
        protocol=PROTOCOL,
        classes={name: model.classes for name, model in linear.items()},
        thresholds=thresholds,
        encoder_sha256=encoder_sha256,
        corpus_sha256=corpora_digest(),
        documents=len(documents),
        kept_out_layouts=tuple(sorted({d.document.layout for d in corpora.kept_documents})),
        libraries={name: version(name) for name in ("torch", "scikit-learn", "numpy")},
    )
    return save(manifest, linear, {k: np.asarray(v, np.float32) for k, v in roles.items()}, path)
