"""Features name what an item says, whatever its names and numbers are."""

from __future__ import annotations

from triage.classify.features import features, grams, plain_word
from triage.classify.recogniser import Recogniser
from triage.classify.word_shape import shape, sort_of

RECOGNISER = Recogniser()


def test_groups_hold_words_pairs_heading_and_marks() -> None:
    reading = RECOGNISER.read("Fixed drift in RTH", ("Bug fixes",))
    words, letters, heading, marks = features(reading, "aircraft")
    assert {"w:fixed", "f:fixed", "b:fixed drift"} <= set(words)
    assert "<fi" in letters and "xed>" in letters
    assert heading == ("h:bug", "h:fixes")
    assert {"s:rth-behaviour", "u:aircraft", "harm"} <= set(marks)


def test_numbers_fold_into_one_word() -> None:
    assert plain_word("4.5") == "#" == plain_word("1000")
    assert plain_word("f405") == "f405"
    assert plain_word("--") == ""


def test_unknown_names_share_a_sort() -> None:
    assert sort_of("Kestra7X") == sort_of("QX42") == "<name>"
    assert sort_of("RTL_ALT,") == "<parameter>"
    assert sort_of("GimbalView") == "<joined>"
    assert sort_of("EKF") == "<capitals>"
    assert sort_of("1.5m") == "<number>"
    assert shape("added QX42") == shape("added Kestra7X")


def test_grams_mark_the_edges_and_never_are_empty() -> None:
    assert grams("a") == ("<a>",) * len(grams("a"))
    assert all(grams(word) for word in ("", "a", "drift"))
