"""A text knows where each of its characters stands in the source."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from triage.reading.mapped import joined, replaced, whole

WORDS = st.text(alphabet="ab \n*", min_size=1, max_size=40)


@given(WORDS, st.integers(0, 50), st.integers(0, 50))
def test_a_cut_keeps_the_places_of_its_characters(text: str, start: int, length: int) -> None:
    part = whole(text, 7).cut(start, start + length)
    for offset, char in enumerate(part.text):
        assert text[part.at(offset) - 7] == char


@given(WORDS, WORDS)
def test_joined_parts_keep_their_places(left: str, right: str) -> None:
    source = left + "|" + right
    both = joined([whole(left, 0), whole(right, len(left) + 1)], " ")
    for offset in range(len(left)):
        assert source[both.at(offset)] == both.text[offset]
    for offset in range(len(right)):
        at = len(both.text) - len(right) + offset
        assert source[both.at(at)] == both.text[at]


@given(WORDS)
def test_what_is_taken_out_moves_no_other_character(text: str) -> None:
    stars = [(n, n + 1, "") for n, char in enumerate(text) if char == "*"]
    bare = replaced(whole(text, 3), stars)
    assert bare.text == text.replace("*", "")
    for offset, char in enumerate(bare.text):
        assert text[bare.at(offset) - 3] == char
