"""Rendered documents: marks that hold, every role, many layouts, the same again for a seed."""

import re
from collections import Counter
from functools import cache

import pytest

from triage.domain.corpus import CorpusItem
from triage.reading.candidates import versions_in
from triage.reading.formats import blocks_of
from triage.training.documents import Annotated
from triage.training.held_out import style_kept_out
from triage.training.layouts import LAYOUTS, rendered
from triage.training.stories import Statement, pools, pools_of

ROLES = set("vhciqkwabrud")
ATTRIBUTES = {"q": 3, "e": 4, "o": 1, "only": 1}


@cache
def documents() -> tuple[Annotated, ...]:
    return tuple(rendered(11, 4 * len(LAYOUTS)))


def test_there_are_at_least_thirty_layouts_each_with_a_name_of_its_own() -> None:
    assert len({layout.name for layout in LAYOUTS}) == len(LAYOUTS) >= 30
    assert {document.layout for document in documents()} == {layout.name for layout in LAYOUTS}
    assert {layout.ending for layout in LAYOUTS} == {"txt", "md", "html", "eml"}


def test_the_same_seed_gives_the_same_documents() -> None:
    assert list(rendered(3, 60)) == list(rendered(3, 60))
    assert list(rendered(3, 10)) != list(rendered(4, 10))
    assert list(rendered(3, 60))[:10] == list(rendered(3, 10))


def test_every_role_occurs_and_boilerplate_too() -> None:
    roles = Counter(span.role for document in documents() for span in document.spans)
    assert set(roles) == ROLES
    assert min(roles.values()) >= 20
    bare = sum(len(d.text) - sum(s.end - s.start for s in d.spans) for d in documents())
    assert bare > 20_000


def test_marks_are_gone_from_the_text_and_hold_words() -> None:
    for document in documents():
        assert not re.search("[⟦⟧\ue000]", document.text)
        assert document.spans and document.releases
        numbers = {release.number for release in document.releases}
        for span in document.spans:
            assert document.text[span.start : span.end].strip()
            assert span.release in numbers, (document.name, span)
            for name, fields in span.attributes:
                assert name.startswith("@") or len(fields) >= ATTRIBUTES[name], (name, fields)


def test_versions_and_days_of_the_head_stand_in_marked_lines() -> None:
    for document in documents():
        for release in document.releases:
            lines = [
                document.text[span.start : span.end]
                for span in document.spans
                if span.role == "v" and span.release == release.number
            ]
            assert any(release.version.lstrip("vV") in line for line in lines), document.name
            for _, _, version in release.units:
                assert any(version.lstrip("vV") in line for line in lines), (document.name, version)
            if release.date:
                year = release.date[:4]
                assert any(year in line for line in lines), (document.name, release.date)


def test_words_against_a_release_name_its_own_version() -> None:
    found = 0
    for document in documents():
        own = {release.number: release.version for release in document.releases}
        for span in document.spans:
            if span.role == "w":
                for candidate in versions_in(document.text[span.start : span.end]):
                    found += 1
                    assert candidate.words.strip("vV") in own[span.release]
    assert found > 5


def test_a_reader_finds_every_marked_word() -> None:
    """Each mark's letters come back in a block, whatever the layout."""
    for document in documents():
        covered: set[int] = set()
        for block in blocks_of(document.text, document.name):
            for piece in block.cells or (block.mapped,):
                covered.update(piece.at(offset) for offset in range(len(piece.text)))
        hidden = {
            at
            for found in re.finditer(r"<[^<>]*>|&\w+;", document.text)
            for at in range(*found.span())
        }
        for span in document.spans:
            letters = [
                at for at in range(span.start, span.end)
                if document.text[at].isalpha() and at not in hidden
            ]  # fmt: skip
            missing = [at for at in letters if at not in covered]
            assert len(missing) <= 1, (document.name, document.text[span.start : span.end])


def test_pools_hold_nothing_that_is_kept_out() -> None:
    own = pools()
    for group in (own.effects, own.rows, *own.groups.values()):
        assert not any(style_kept_out(one.style) for one in group)


@pytest.mark.parametrize(
    ("text", "taken"),
    [
        ("Fixed a crash of the map", True),
        ("Return altitude default is 40 m", False),
        ("Requires app 4.2", False),
        ("a | b", False),
        ("x", False),
    ],
)
def test_changes_that_may_have_effects_or_needs_untold_are_not_drawn(
    text: str, taken: bool
) -> None:
    items = [
        CorpusItem(
            document="A-1", style="s", unit="app", title="t", heading="", text=words, kinds=("fix",)
        )
        for words in (text, "Fixed the list", "Fixed the menu", "Fixed the clock")
    ]
    ((_, drawn),) = pools_of(items, [Statement("r", "", "Thanks to all")]).items
    assert (text in [one.text for one in drawn]) == taken
