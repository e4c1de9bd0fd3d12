"""The phrases laid out for matching."""

from __future__ import annotations

import pytest

from triage.classify.phrases import APART, NEAR, phrases, plural
from triage.reference.vocabulary import components, settings


@pytest.mark.parametrize(
    ("phrase", "expected"),
    [("battery", "batteries"), ("arm switch", "arm switches"), ("relay", "relays"), ("3d", "3ds")],
)
def test_plural_of_the_last_word(phrase: str, expected: str) -> None:
    assert plural(phrase) == expected


def test_a_word_tied_to_its_company_does_not_count_alone() -> None:
    pairs = set(phrases())
    for family, entries in (("setting", settings()), ("component", components())):
        for entry in entries:
            tied = {word for clue in entry.clue for word in clue.words}
            assert not {w for w in tied if (f"{family}:{entry.id}", w) in pairs}


def test_every_company_belongs_to_a_clue() -> None:
    keys = {key for key, _ in phrases()}
    relations = {key for key in keys if key.startswith((NEAR, APART))}
    assert {key.partition(":")[2] for key in relations} <= keys
