"""One text for one value, and attachments that expand no further than they say."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.journal import making
from triage.errors import StoreError
from triage.journal.canonical import canonical, digest, pack, read_entry, unpack
from triage.journal.fulltext import for_postgresql, for_sqlite, indexed, words_in
from triage.journal.store import Journal

PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
    max_leaves=20,
)  # fmt: skip


@given(PLAIN)
def test_canonical_text_reads_back_to_the_same_text(value: object) -> None:
    text = canonical(value)
    assert text.isascii() and json.loads(text) == value and canonical(json.loads(text)) == text


def test_the_order_of_keys_does_not_matter() -> None:
    assert canonical({"b": 1, "a": [2.5, "é"]}) == '{"a":[2.5,"\\u00e9"],"b":1}'


def test_a_digest_from_the_standard() -> None:
    """Source: FIPS 180-2, appendix B.1: SHA-256 of 'abc'."""
    wanted = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert digest("abc") == wanted == digest(b"abc")


@given(st.binary(max_size=2000))
def test_attachments_come_back(data: bytes) -> None:
    assert unpack(pack(data), len(data)) == data


def test_attachments_that_lie_about_their_size() -> None:
    bomb = pack(b"\0" * 10_000_000)
    for size in (0, 100, 9_999_999, 10_000_001, -1, 10**12):
        with pytest.raises(StoreError):
            unpack(bomb, size)
    with pytest.raises(StoreError, match="cannot be expanded"):
        unpack(b"no zlib", 5)


def test_an_entry_of_an_unknown_form_is_one_line(in_file: Journal) -> None:
    making.add(in_file)
    text = canonical({"seq": 1, "payload": {"kind": "wish"}})
    with pytest.raises(StoreError, match="entry 1 cannot be read") as caught:
        read_entry(text, "x", 1)
    assert "\n" not in str(caught.value)


@given(st.text())
def test_any_words_can_be_indexed_and_asked_for(text: str) -> None:
    assert indexed(text).split() == words_in(text)
    for ask in (for_sqlite, for_postgresql):
        try:
            query = ask(text)
        except StoreError:
            continue
        assert not set(query) & set("';\\")
