from __future__ import annotations

import datetime as dt
from itertools import pairwise
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.domain.kit import Kit, Unit, UnitScope
from triage.domain.notes import Notes, Place, Release, Source, SourceFormat, Status
from triage.errors import ConfigError
from triage.kit.applicability import candidates, concerned

HERON = Unit(label="heron", component="aircraft", name="Quillmere Heron 2", version="1.2")
TILLER = Unit(label="tiller", component="radio-controller", version="1.2")


def versions(notes: Notes, scope: UnitScope) -> list[list[str]]:
    return [[notes.releases[at].version for at in offer.covers] for offer in scope.offers]


def test_releases_after_the_installed_count_together(make: SimpleNamespace) -> None:
    notes = make.notes(*map(make.release, ["1.4", "1.3", "1.3-beta1", "1.2", "1.1"]))
    (unit,) = candidates(notes, Kit(units=(HERON,))).units
    assert unit.known and unit.installed == "1.2"
    assert versions(notes, unit) == [
        ["1.3-beta1"],
        ["1.3-beta1", "1.3"],
        ["1.3-beta1", "1.3", "1.4"],
    ]


def test_order_does_not_hang_on_where_the_document_puts_a_release(make: SimpleNamespace) -> None:
    notes = make.notes(*map(make.release, ["1.10", "1.2", "1.4", "1.3"]))
    (unit,) = candidates(notes, Kit(units=(HERON,))).units
    assert versions(notes, unit)[-1] == ["1.3", "1.4", "1.10"]


def test_unknown_version_offers_everything_and_says_so(make: SimpleNamespace) -> None:
    notes = make.notes(*map(make.release, ["1.4", "1.3"]))
    for version in ("", "latest", "2024-09-03"):
        unit = Unit(label="heron", component="aircraft", version=version)
        (scope,) = candidates(notes, Kit(units=(unit,))).units
        assert not scope.known and versions(notes, scope)[-1] == ["1.3", "1.4"]
        assert "every release counts as new" in scope.remarks[0]


def test_without_a_kit_the_documents_own_things_are_assumed(make: SimpleNamespace) -> None:
    kit = Kit(units=(Unit(label="aircraft", component="aircraft"),), assumed=True)
    notes = make.notes(make.release("2.0", "app"), make.release("1.4"), make.release("1.3"))
    scope = candidates(notes, kit)
    assert [(unit.unit.label, len(unit.offers)) for unit in scope.units] == [
        ("app", 1),
        ("aircraft", 2),
    ]
    assert scope.remarks == ("no kit is stated: an app, an aircraft of unknown version assumed",)
    assert not scope.elsewhere


def test_things_that_are_not_in_the_kit_are_shown_elsewhere(make: SimpleNamespace) -> None:
    notes = make.notes(
        make.release("1.4", "aircraft", "Quillmere Heron 3"),
        make.release("1.3", "aircraft", "Quillmere Heron 2"),
        make.release("2.0", "goggles"),
    )
    scope = candidates(notes, Kit(units=(HERON, TILLER)))
    assert [unit.unit.label for unit in scope.units] == ["heron"]
    assert versions(notes, scope.units[0]) == [["1.3"]]
    assert [(x.release, x.reason) for x in scope.elsewhere] == [
        (0, "for Quillmere Heron 3, which the kit does not list"),
        (2, "for goggles, which the kit does not list"),
    ]


def test_a_unit_without_a_name_is_not_taken_for_either_model(make: SimpleNamespace) -> None:
    notes = make.notes(
        make.release("1.4", "aircraft", "Heron 2"), make.release("1.5", "aircraft", "Heron 3")
    )
    unit = Unit(label="mine", component="aircraft", version="1.3")
    (scope,) = candidates(notes, Kit(units=(unit,))).units
    assert not scope.offers and "triage kit set 'mine' --name" in scope.remarks[0]


def test_units_alike_are_one_scope(make: SimpleNamespace) -> None:
    cells = tuple(Unit(label=f"battery-{n}", component="battery", version="1") for n in (1, 2))
    old = Unit(label="battery-3", component="battery", version="0.9")
    scope = candidates(make.notes(make.release("1.1", "battery")), Kit(units=(*cells, old)))
    assert [unit.labels for unit in scope.units] == [("battery-1", "battery-2"), ("battery-3",)]


def test_a_part_is_its_carriers_unless_listed(make: SimpleNamespace) -> None:
    notes = make.notes(make.release("1.4", "flight-controller"))
    assert candidates(notes, Kit(units=(HERON,))).units[0].unit == HERON
    board = Unit(label="board", component="flight-controller", version="1.0")
    assert candidates(notes, Kit(units=(HERON, board))).units[0].unit == board


def test_a_document_that_does_not_say_what_it_is_for(make: SimpleNamespace) -> None:
    notes = make.notes(make.release("1.4", ""))
    scope = candidates(notes, Kit(units=(TILLER, HERON)))
    assert scope.units[0].unit == HERON and "taken to be for heron" in scope.remarks[0]
    assert candidates(notes, Kit(units=(TILLER, HERON)), "tiller").units[0].unit == TILLER
    assert candidates(notes, Kit(units=(TILLER,))).units[0].unit == TILLER
    with pytest.raises(ConfigError, match="it holds tiller"):
        candidates(notes, Kit(units=(TILLER,)), "visor")


def test_what_cannot_be_compared_is_placed_by_date_or_set_aside(make: SimpleNamespace) -> None:
    days = [dt.date(2026, 3, n) for n in (1, 2, 3)]
    later = make.release("1.2-4", day=days[2])
    here, before = make.release("1.2", day=days[1]), make.release("1.2-3", day=days[0])
    notes = make.notes(before, later, here)
    (unit,) = candidates(notes, Kit(units=(HERON,))).units
    assert versions(notes, unit) == [["1.2-4"]]
    assert "placed by where it stands" in unit.remarks[0]

    notes = make.notes(make.release("1.3"), later)
    (unit,) = candidates(notes, Kit(units=(HERON,))).units
    assert versions(notes, unit) == [["1.3"]]
    assert unit.unplaced[0].release == 1 and "no standard says" in unit.unplaced[0].reason


def test_what_is_not_released_is_not_offered(make: SimpleNamespace) -> None:
    notes = make.notes(
        make.release("1.5", status=Status.UNRELEASED), make.release("1.4", status=Status.WITHDRAWN)
    )
    (unit,) = candidates(notes, Kit(units=(HERON,))).units
    assert versions(notes, unit) == [["1.4"]]
    assert unit.unplaced[0].reason == "not released yet"


def test_nothing_newer(make: SimpleNamespace) -> None:
    (unit,) = candidates(make.notes(make.release("1.1")), Kit(units=(HERON,))).units
    assert unit.known and not unit.offers and not unit.unplaced


def test_whom_an_item_concerns(make: SimpleNamespace) -> None:
    scope = candidates(make.notes(make.release("1.4")), Kit(units=(HERON, TILLER)))
    assert concerned(scope, "heron", ()) == ("heron",)
    assert concerned(scope, "heron", ("goggles",)) == ()
    assert concerned(scope, "heron", ("radio-controller", "gimbal")) == ("heron", "tiller")


place = Place(start=0, end=0, line=1, end_line=1)
source = Source(name="x", format=SourceFormat.TEXT, encoding="utf-8", sha256="", characters=0)
some = st.builds(
    Release,
    title=st.just(""),
    component=st.sampled_from(["", "aircraft", "app", "goggles", "other"]),
    unit=st.sampled_from(["", "Heron 2", "Heron 3", "Deck"]),
    version=st.sampled_from(
        ["", "1.2", "1.3", "1.3-beta1", "1.2a", "2024-09-03", "1.2-4", "latest"]
    ),
    date=st.none(),
    status=st.sampled_from(Status),
    items=st.just(()),
    place=st.just(place),
)


@given(
    st.lists(some, max_size=8), st.sampled_from(["", "1.2", "1.2a", "2024-01-01"]), st.booleans()
)
def test_no_release_is_lost_and_offers_grow(
    releases: list[Release], version: str, assumed: bool
) -> None:
    notes = Notes(source=source, releases=tuple(releases))
    unit = Unit(label="heron", component="aircraft", name="Heron 2", version=version)
    kit = Kit(units=(unit, Unit(label="phone", component="app")), assumed=assumed)
    scope = candidates(notes, kit)
    for unit_scope in scope.units:
        covers = [offer.covers for offer in unit_scope.offers]
        assert all(b[:-1] == a for a, b in pairwise(covers))
        assert all(offer.covers[-1] == offer.release for offer in unit_scope.offers)
        assert unit_scope.known or not version or len(unit_scope.unplaced) or covers
    assert {x.release for x in scope.elsewhere} <= set(range(len(releases)))


def test_a_silent_release_is_for_what_the_others_of_its_document_are_for() -> None:
    from triage.domain.kit import Kit, Unit
    from triage.reading.reader import read
    from triage.reading.tools import shipped_tools

    text = b"Quillmere Deck 5.2\n- New map\n\nVersion 5.1\n- Older map\n"
    notes = read(text, "notes.txt", shipped_tools())
    kit = Kit(
        units=(
            Unit(label="heron", component="aircraft", name="Quillmere Heron 2", version="3.4.2"),
            Unit(label="phone", component="app", name="Quillmere Deck", version="5.0"),
        )
    )
    scope = candidates(notes, kit)
    assert [(unit.unit.label, len(unit.offers)) for unit in scope.units] == [("phone", 2)]
