"""Search in words: one way to cut text into words for both databases.

Words are letters and digits, case folded, accents taken off. A query wants all its words; one
with a point or hyphen in it ('3.6.0', 'return-to-home') wants its parts in that order, and `land*`
stands for every word that starts so.
"""

from __future__ import annotations

import re
import unicodedata

from triage.errors import StoreError

LIMIT = 500_000  # bytes of one entry that are indexed; PostgreSQL takes 1 MB with its own marks
_LONGEST = 60  # characters of one word; longer ones are no words
_WORD = re.compile(r"[^\W_]+")


def words_in(text: str) -> list[str]:
    """The words in order."""
    folded = unicodedata.normalize("NFKD", text.casefold())
    plain = "".join(c for c in folded if not unicodedata.combining(c))
    return [word[:_LONGEST] for word in _WORD.findall(plain)]


def indexed(text: str) -> str:
    """The text as both databases index it; what is beyond the limit is not found by."""
    whole = " ".join(words_in(text[:LIMIT])).encode()
    cut = whole[:LIMIT].rpartition(b" ")[0] if len(whole) > LIMIT else whole
    return cut.decode()


def search_phrases(query: str) -> tuple[tuple[tuple[str, ...], bool], ...]:
    """Each wanted phrase, and whether its last word is only a beginning; StoreError when none."""
    found = tuple(
        (tuple(words), part.endswith("*")) for part in query.split() if (words := words_in(part))
    )
    if not found:
        raise StoreError("nothing to search for", mend="name a word of two or more letters")
    return found


def for_sqlite(query: str) -> str:
    """The query as FTS5 takes it."""
    return " AND ".join(
        f'"{" ".join(words)}"{"*" if open_ended else ""}'
        for words, open_ended in search_phrases(query)
    )


def for_postgresql(query: str) -> str:
    """The query as to_tsquery takes it."""
    return " & ".join(
        "(" + " <-> ".join(words) + (":*" if open_ended else "") + ")"
        for words, open_ended in search_phrases(query)
    )
