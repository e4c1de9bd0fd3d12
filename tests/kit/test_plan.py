from __future__ import annotations

from types import SimpleNamespace

from hypothesis import given, settings
from hypothesis import strategies as st

from triage.domain.kit import Kit, Plan, Unit
from triage.domain.notes import (
    Comparison,
    Notes,
    Place,
    Release,
    Requirement,
    Source,
    SourceFormat,
    Status,
)
from triage.kit.applicability import candidates
from triage.kit.plan import plan

C = Comparison
HERON = Unit(label="heron", component="aircraft", version="1.2")
TILLER = Unit(label="tiller", component="radio-controller", version="3.0")
PHONE = Unit(label="phone", component="app", version="7.0")
VISOR = Unit(label="visor", component="goggles", version="2.0", reversible=False)


def planned(notes: Notes, *units: Unit, release: int = 0, label: str = "heron") -> Plan:
    kit = Kit(units=units)
    return plan(notes, candidates(notes, kit), label, release)


def steps(plan: Plan) -> list[tuple[int, str, str]]:
    return [(move.step, move.unit, move.version) for move in plan.moves]


def test_a_release_that_asks_for_nothing(make: SimpleNamespace) -> None:
    found = planned(make.notes(make.release("1.4")), HERON, TILLER)
    assert steps(found) == [(1, "heron", "1.4")]
    assert found.possible and not found.unchecked
    assert found.moves[0].installed == "1.2" and found.moves[0].reason == "the release asked about"


def test_what_must_move_first_comes_first(make: SimpleNamespace) -> None:
    notes = make.notes(
        make.release(
            "1.4",
            "aircraft",
            "",
            make.needs(C.AT_LEAST, "app", "7.2"),
            make.needs(C.FIRST, "radio-controller"),
        ),
        make.release("3.1", "radio-controller", "", make.needs(C.AT_LEAST, "app", "7.4")),
    )
    found = planned(notes, HERON, TILLER, PHONE)
    assert steps(found) == [(1, "phone", "7.4"), (2, "tiller", "3.1"), (3, "heron", "1.4")]
    app, tiller, _ = found.moves
    assert app.release is None and app.requirement is not None
    assert app.requirement.place.line == 7
    assert app.reason == "tiller 3.1 asks: phone has to have 7.4 or later; it has 7.0"
    assert tiller.release == 1 and tiller.reason == "heron 1.4 asks: tiller has to be updated first"


def test_a_requirement_that_holds_moves_nothing(make: SimpleNamespace) -> None:
    need = make.needs(C.AT_LEAST, "app", "6.9")
    notes = make.notes(make.release("1.4", "aircraft", "", need))
    assert steps(planned(notes, HERON, PHONE)) == [(1, "heron", "1.4")]


def test_requirements_of_the_releases_between_last(make: SimpleNamespace) -> None:
    notes = make.notes(
        make.release("1.4"),
        make.release(
            "1.3",
            "aircraft",
            "",
            make.needs(C.AT_LEAST, "app", "7.2"),
            make.needs(C.EXACTLY, "radio-controller", "3.05"),
        ),
    )
    assert steps(planned(notes, HERON, PHONE, TILLER)) == [(1, "phone", "7.2"), (2, "heron", "1.4")]


def test_all_units_alike_move(make: SimpleNamespace) -> None:
    cells = [Unit(label=f"battery-{n}", component="battery", version="1.0") for n in (1, 2)]
    need = make.needs(C.WITH, "battery", "1.1")
    notes = make.notes(make.release("1.4", "aircraft", "", need), make.release("1.1", "battery"))
    assert steps(planned(notes, HERON, *cells)) == [
        (1, "heron", "1.4"),
        (1, "battery-1", "1.1"),
        (1, "battery-2", "1.1"),
    ]


def test_units_that_ask_for_each_other_move_together(make: SimpleNamespace) -> None:
    notes = make.notes(
        make.release("1.4", "aircraft", "", make.needs(C.AT_LEAST, "radio-controller", "3.1")),
        make.release("3.1", "radio-controller", "", make.needs(C.AT_LEAST, "aircraft", "1.4")),
    )
    found = planned(notes, HERON, TILLER)
    assert steps(found) == [(1, "heron", "1.4"), (1, "tiller", "3.1")] and found.possible


def test_units_that_each_want_the_other_first_block(make: SimpleNamespace) -> None:
    notes = make.notes(
        make.release("1.4", "aircraft", "", make.needs(C.FIRST, "radio-controller", "3.1")),
        make.release("3.1", "radio-controller", "", make.needs(C.FIRST, "aircraft", "1.4")),
    )
    found = planned(notes, HERON, TILLER)
    assert not found.possible and "wait for the other" in found.blocks[0].reason


def test_the_unit_left_behind_is_named(make: SimpleNamespace) -> None:
    notes = make.notes(
        make.release("1.4", "aircraft", "", make.needs(C.NOT_WITH, "goggles", "2.0"))
    )
    found = planned(notes, HERON, VISOR)
    assert not found.possible and not found.blocks
    (left,) = found.left_behind
    assert left.unit == "visor" and left.requirement.place.line == 7
    assert left.reason == (
        "heron 1.4 asks: visor cannot be used with 2.0; it has 2.0, and cannot go back"
    )


def test_a_unit_moves_on_or_back_rather_than_being_left(make: SimpleNamespace) -> None:
    need = make.needs(C.NOT_WITH, "goggles", "2.0")
    heron = make.release("1.4", "aircraft", "", need)
    notes = make.notes(heron, make.release("2.1", "goggles"))
    assert (1, "visor", "2.1") in steps(planned(notes, HERON, VISOR))
    able = VISOR.model_copy(update={"reversible": True})
    found = planned(make.notes(heron, make.release("1.9", "goggles")), HERON, able)
    assert found.possible and [m.back for m in found.moves] == [True, False]
    need = make.needs(C.BELOW, "goggles", "2.0")
    heron = make.release("1.4", "aircraft", "", need)
    found = planned(make.notes(heron), HERON, able)
    assert "names no earlier release" in found.left_behind[0].reason


def test_what_the_installed_release_excludes_holds_too(make: SimpleNamespace) -> None:
    notes = make.notes(
        make.release("1.4"),
        make.release("2.0", "goggles", "", make.needs(C.NOT_WITH, "aircraft", "1.4")),
    )
    found = planned(notes, HERON, VISOR)
    assert found.left_behind[0].unit == "visor"
    found = planned(make.notes(*notes.releases, make.release("2.1", "goggles")), HERON, VISOR)
    assert found.possible and (1, "visor", "2.1") in steps(found)
    (visor,) = [move for move in found.moves if move.unit == "visor"]
    assert visor.reason == "visor 2.0 asks: heron cannot be used with 1.4; it has 1.4"


def test_the_search_looks_past_the_first_choice(make: SimpleNamespace) -> None:
    """The app's 7.2 would need a controller that the aircraft forbids; its 7.3 does not."""
    notes = make.notes(
        make.release(
            "1.4",
            "aircraft",
            "",
            make.needs(C.AT_LEAST, "app", "7.2"),
            make.needs(C.BELOW, "radio-controller", "3.1"),
        ),
        make.release("7.3", "app"),
        make.release("7.2", "app", "", make.needs(C.AT_LEAST, "radio-controller", "3.1")),
    )
    # Requirements of 7.2 last, so 7.3 as an offer carries them: a document of its own does not.
    found = planned(notes, HERON, TILLER, PHONE)
    assert not found.possible
    exact = make.release("7.2", "app", "", make.needs(C.EXACTLY, "radio-controller", "3.1"))
    found = planned(make.notes(notes.releases[0], notes.releases[1], exact), HERON, TILLER, PHONE)
    assert found.possible and steps(found) == [(1, "phone", "7.3"), (2, "heron", "1.4")]


def test_a_withdrawn_release_is_no_way_out(make: SimpleNamespace) -> None:
    notes = make.notes(
        make.release("1.4", "aircraft", "", make.needs(C.AT_LEAST, "app", "7.2")),
        make.release("7.2", "app", status=Status.WITHDRAWN),
    )
    found = planned(notes, HERON, PHONE)
    assert "the maker withdrew that version" in found.blocks[0].reason
    better = make.notes(*notes.releases, make.release("7.3", "app"))
    assert (1, "phone", "7.3") in steps(planned(better, HERON, PHONE))


def test_a_stop_on_the_way(make: SimpleNamespace) -> None:
    notes = make.notes(
        make.release("1.5", "aircraft", "", make.needs(C.AT_LEAST, "aircraft", "1.3")),
        make.release("1.4"),
        make.release("1.3"),
    )
    found = planned(notes, HERON)
    assert steps(found) == [(1, "heron", "1.3"), (2, "heron", "1.5")]
    assert [move.installed for move in found.moves] == ["1.2", "1.3"]
    assert "a stop before 1.5" in found.moves[0].reason
    later = HERON.model_copy(update={"version": "1.3"})
    assert steps(planned(notes, later)) == [(1, "heron", "1.5")]


def test_what_cannot_be_checked_is_said(make: SimpleNamespace) -> None:
    unknown = PHONE.model_copy(update={"version": ""})
    need = make.needs(C.AT_LEAST, "app", "7.2")
    notes = make.notes(
        make.release("1.4", "aircraft", "", need, make.needs(C.WITH, "motion-controller"))
    )
    found = planned(notes, HERON, unknown)
    assert found.possible
    assert [(u.unit, u.reason) for u in found.unchecked] == [
        ("phone", "heron 1.4 asks: phone has to have 7.2 or later; its version is not known"),
        (
            "",
            "heron 1.4 asks: motion controller has to be updated too; "
            "the kit lists no motion controller",
        ),
    ]


def test_a_whole_kit_with_a_unit_that_blocks_is_quick(make: SimpleNamespace) -> None:
    kinds = ["battery", "goggles", "app", "desktop", "radio-controller"]
    units = [
        Unit(label=f"{kind}-{n}", component=kind, version=f"1.{n}", reversible=False)
        for kind in kinds
        for n in range(8)
    ]
    wants = [make.needs(C.AT_LEAST, kind, "2.0") for kind in kinds]
    bans = [make.needs(C.BELOW, "goggles", "1.5")]
    notes = make.notes(
        make.release("1.4", "aircraft", "", *wants, *bans),
        *(make.release(f"2.{n}", kind) for kind in kinds for n in range(3)),
    )
    found = planned(notes, HERON, *units)
    assert {unmet.unit for unmet in (*found.left_behind, *found.blocks)} <= {
        f"goggles-{n}" for n in range(8)
    }
    assert not found.possible


place = Place(start=0, end=0, line=1, end_line=1)
source = Source(name="x", format=SourceFormat.TEXT, encoding="utf-8", sha256="", characters=0)
kinds = st.sampled_from(["aircraft", "radio-controller", "app", "goggles"])
some_versions = st.sampled_from(["", "1.0", "1.1", "1.2", "1.3"])
requirements = st.builds(
    Requirement,
    component=kinds,
    name=st.just(""),
    comparison=st.sampled_from(Comparison),
    version=some_versions,
    text=st.just(""),
    place=st.just(place),
)
releases = st.builds(
    Release,
    title=st.just(""),
    component=kinds,
    unit=st.just(""),
    version=some_versions.filter(bool),
    date=st.none(),
    status=st.sampled_from([Status.RELEASED, Status.BETA, Status.WITHDRAWN]),
    items=st.just(()),
    requirements=st.lists(requirements, max_size=3).map(tuple),
    place=st.just(place),
)
units = st.builds(
    Unit,
    label=st.uuids().map(str),
    component=kinds,
    version=some_versions,
    reversible=st.sampled_from([True, False, None]),
)


@settings(deadline=None)
@given(st.lists(releases, min_size=1, max_size=6), st.lists(units, max_size=5))
def test_a_plan_always_ends_with_the_release_and_says_the_same_again(
    rows: list[Release], others: list[Unit]
) -> None:
    notes = Notes(source=source, releases=(rows[0].model_copy(update={"component": "aircraft"}),
                                           *rows[1:]))  # fmt: skip
    kit = (HERON.model_copy(update={"version": "1.0"}), *others)
    found = planned(notes, *kit)
    assert found == planned(notes, *kit)
    finals = [move for move in found.moves if move.unit == "heron"]
    assert finals[-1].release == 0
    assert len({(move.unit, move.version) for move in found.moves}) == len(found.moves)
    assert all(move.reason for move in found.moves)
    order = [move.step for move in found.moves]
    assert order == sorted(order) and set(order) == set(range(1, max(order) + 1))
    for unmet in (*found.blocks, *found.left_behind, *found.unchecked):
        assert unmet.reason
