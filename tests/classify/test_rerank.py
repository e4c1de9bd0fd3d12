"""What the sentence says of the finds of its words."""

from __future__ import annotations

from triage.classify.rerank import refined
from triage.domain.finds import Find, Finds

NAMED = Find(id="arming-checks", words="arming", start=20, end=26)
ABOVE = Find(id="storage", words="card", start=-1, end=-1)


def ids(finds: Finds) -> list[str]:
    return [find.id for find in finds.settings]


def test_a_mere_occasion_is_taken_out_and_the_heading_stays() -> None:
    found = refined(Finds(settings=(NAMED, ABOVE)), {"setting:arming-checks": 0.02})
    assert ids(found) == ["storage"]


def test_what_the_sentence_bears_out_stays_as_it_was_found() -> None:
    found = refined(Finds(settings=(NAMED,)), {"setting:arming-checks": 0.4})
    assert found.settings == (NAMED,)


def test_what_no_word_names_is_added_with_its_chance() -> None:
    found = refined(
        Finds(), {"setting:landing": 0.81, "component:battery": 0.3, "component:other": 0.9}
    )
    assert [(f.id, f.words, f.score) for f in found.settings] == [("landing", "", 81.0)]
    assert found.components == ()


def test_what_the_encoder_does_not_know_stays() -> None:
    assert ids(refined(Finds(settings=(NAMED,)), {})) == ["arming-checks"]


def test_what_the_heading_names_is_the_items_own_where_its_sentence_is_about_it() -> None:
    found = refined(Finds(settings=(ABOVE,)), {"setting:storage": 0.9})
    assert [(f.id, f.start) for f in found.settings] == [("storage", 0)]
