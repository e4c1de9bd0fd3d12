"""Splits text into word pieces: lower case, no accents, longest piece first.

The scheme is WordPiece as BERT's uncased models use it (J. Devlin et al., 'BERT', 2019); the tests
check it against the library `tokenizers`.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Sequence
from functools import lru_cache

_CACHE = 65536
_LONGEST = 100  # characters; a longer run is one unknown piece
START, END, UNKNOWN = "[CLS]", "[SEP]", "[UNK]"


class Pieces:
    """A vocabulary of pieces; the place of a piece is its number."""

    def __init__(self, vocabulary: Sequence[str]) -> None:
        self.place = {piece: number for number, piece in enumerate(vocabulary)}
        self.start, self.end, self._unknown = (self.place[p] for p in (START, END, UNKNOWN))
        self._of_word = lru_cache(_CACHE)(self._word)

    def numbers(self, text: str) -> list[int]:
        """The pieces of a text, in order."""
        return [number for word in words(text) for number in self._of_word(word)]

    def input(self, context: str, item: str, length: int) -> tuple[list[int], int]:
        """Numbers of `[CLS] context [SEP] item [SEP]`, at most `length`, and how many come before
        the item; a long context is cut to half of them.
        """
        first = [self.start, *self.numbers(context)][: length // 2 - 1]
        first.append(self.end)
        second = self.numbers(item)[: length - len(first) - 1]
        return [*first, *second, self.end], len(first)

    def _word(self, word: str) -> tuple[int, ...]:
        if len(word) > _LONGEST:
            return (self._unknown,)
        found, start = [], 0
        while start < len(word):
            for end in range(len(word), start, -1):
                piece = word[start:end] if start == 0 else f"##{word[start:end]}"
                if piece in self.place:
                    found.append(self.place[piece])
                    start = end
                    break
            else:
                return (self._unknown,)
        return tuple(found)


def words(text: str) -> Iterator[str]:
    """Words in lower case without accents; each punctuation mark and ideograph by itself."""
    word = ""
    plain = unicodedata.normalize("NFD", text.lower())
    for character in plain:
        kind = _kind(character)
        if kind == "letter":
            word += character
            continue
        if kind == "nothing":
            continue
        if word:
            yield word
            word = ""
        if kind == "alone":
            yield character
    if word:
        yield word


@lru_cache(_CACHE)
def _kind(character: str) -> str:
    category = unicodedata.category(character)
    if character in "\t\n\r":
        return "space"
    if category == "Mn" or category[0] == "C" or character == "\ufffd":
        return "nothing"
    if character.isspace():
        return "space"
    if category[0] == "P" or (character.isascii() and not character.isalnum()):
        return "alone"
    return "alone" if _ideograph(ord(character)) else "letter"


def _ideograph(code: int) -> bool:
    """Whether a character is of the CJK blocks, which are written without spaces."""
    return (
        0x4E00 <= code <= 0x9FFF
        or 0x3400 <= code <= 0x4DBF
        or 0xF900 <= code <= 0xFAFF
        or 0x20000 <= code <= 0x2CEAF
        or 0x2F800 <= code <= 0x2FA1F
    )
