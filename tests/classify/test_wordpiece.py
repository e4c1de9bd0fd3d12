"""Word pieces, against the library `tokenizers` (PyPI), which implements BERT's scheme."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.classify.encoder_file import shipped
from triage.training.corpus import read_corpus

tokenizers = pytest.importorskip("tokenizers")
PIECES = shipped().encoder.pieces
PUBLISHED = tokenizers.BertWordPieceTokenizer(vocab=PIECES.place, lowercase=True)


def published(text: str) -> list[int]:
    found: list[int] = PUBLISHED.encode(text, add_special_tokens=False).ids
    return found


def test_the_corpora_are_split_as_published() -> None:
    for item in read_corpus()[::25]:
        assert PIECES.numbers(item.text) == published(item.text), item.text


@pytest.mark.parametrize(
    "text",
    [
        "Fixed RTL_ALT's unit",
        "naïve café",
        "50 % → 30 %",
        "新機能 added",
        "a" * 150,
        "",
        "\t\n",
        "°C",
    ],
)
def test_odd_texts_are_split_as_published(text: str) -> None:
    assert PIECES.numbers(text) == published(text)


@given(st.text(st.characters(max_codepoint=0x24F), max_size=80))
def test_any_latin_text_is_split_as_published(text: str) -> None:
    assert PIECES.numbers(text) == published(text)


@given(st.text(max_size=200), st.text(max_size=200), st.integers(8, 96))
def test_an_input_never_exceeds_its_length(context: str, item: str, length: int) -> None:
    numbers, first = PIECES.input(context, item, length)
    assert 2 <= first < len(numbers) <= length
    assert numbers[0] == PIECES.start
    assert numbers[first - 1] == numbers[-1] == PIECES.end
    assert all(0 <= number < len(PIECES.place) for number in numbers)
    assert not any(a == b == PIECES.end for a, b in pairwise(numbers[first:]))
