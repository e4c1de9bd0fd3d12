"""The explanation is faithful: taking the word out moves the chance as said."""

from __future__ import annotations

import pytest

from triage.classify.classifier import shipped
from triage.classify.explain import explain
from triage.classify.recogniser import Recogniser

RECOGNISER = Recogniser()


@pytest.mark.parametrize(
    "text", ["Fixed a rare motor stop in cold weather", "Needs app 5.3 or later", "New map colours"]
)
def test_removing_a_named_word_moves_the_chance_as_said(text: str) -> None:
    heading = ("Fixes",)
    classifier = shipped()
    for kind, words in explain(classifier, RECOGNISER.read, text, heading).items():
        column = classifier.kinds.index(kind)
        for moved in words:
            if moved.start < 0:
                reading = RECOGNISER.read(text, ())
            else:
                rest = f"{text[: moved.start]} {text[moved.end :]}"
                reading = RECOGNISER.read(rest, heading)
            chance = classifier.chances([reading], [""])[0, column]
            assert moved.without == pytest.approx(chance, abs=1e-3)  # single precision, rounded


def test_the_telling_word_comes_first() -> None:
    from triage.domain.kinds import Kind

    found = explain(shipped(), RECOGNISER.read, "Fixed the colour of the map")
    assert found[Kind.FIX][0].word == "Fixed"
    assert found[Kind.FIX][0].effect > 0
