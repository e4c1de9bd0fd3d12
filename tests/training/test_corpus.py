"""The corpora hold together, and are our own words."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest
from rapidfuzz import fuzz, process

from triage.domain.kinds import Kind
from triage.errors import ConfigError
from triage.reference.shipped import folder
from triage.reference.vocabulary import components, settings
from triage.training.corpus import read_corpus

REAL = Path(__file__).resolve().parents[3] / "shared" / "real-notes"
ITEMS = read_corpus()


def test_there_are_enough_items_of_every_sort() -> None:
    stated = (folder("corpora") / "README.md").read_text(encoding="utf-8")
    assert f"{len(ITEMS):,} items in {len({item.document for item in ITEMS}):,} documents" in stated
    assert len({item.style for item in ITEMS}) >= 12
    count = Counter(kind for item in ITEMS for kind in item.kinds)
    assert min(count[kind] for kind in Kind) >= 1000
    assert sum(not item.kinds for item in ITEMS) >= 600


def test_documents_belong_to_one_style_and_unit() -> None:
    owners: dict[str, set[tuple[str, str]]] = {}
    for item in ITEMS:
        owners.setdefault(item.document, set()).add((item.style, item.unit))
    assert all(len(owner) == 1 for owner in owners.values())


def test_ids_are_of_the_vocabularies() -> None:
    known = {s.id for s in settings()}, {c.id for c in components()}
    for item in ITEMS:
        assert set(item.settings) <= known[0], item
        assert set(item.components) <= known[1], item


def test_no_item_stands_twice_under_one_heading() -> None:
    seen = Counter((item.heading, " ".join(item.text.lower().split())) for item in ITEMS)
    assert max(seen.values()) == 1


@pytest.mark.skipif(not REAL.is_dir(), reason="shared/real-notes is not here")
def test_no_item_repeats_a_sentence_of_the_real_notes() -> None:
    """Source: the real notes of open-source flight firmware in shared/real-notes."""
    from triage.training.evaluate import read_labels

    real = [label.text.lower() for label in read_labels(REAL) if len(label.text) > 40]
    for text in real:
        found = process.extractOne(text, [i.text.lower() for i in ITEMS], scorer=fuzz.ratio)
        assert found is not None
        assert found[1] < 85, (text, found[0])


def test_a_broken_line_is_named(tmp_path: Path) -> None:
    (tmp_path / "a.jsonl").write_text('\n{"document": 1}\n')
    with pytest.raises(ConfigError, match=r"a\.jsonl:2: .*correct the line"):
        read_corpus(tmp_path)


def test_an_empty_folder_is_said(tmp_path: Path) -> None:
    with pytest.raises(ConfigError, match="no corpus files"):
        read_corpus(tmp_path)
