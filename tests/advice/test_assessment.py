"""What an assessment carries besides its verdict."""

from __future__ import annotations

import datetime as dt
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from tests.advice import situations_made as making
from triage.advice import Beside, assess, presets, tables
from triage.domain.advice import Assessment, Verdict
from triage.domain.kit import Kit
from triage.domain.notes import StatedDate
from triage.reference.vocabulary import components, settings

BALANCED = presets()["balanced"].policy
RTH = {"kinds": "FB", "settings": ["rth-altitude"]}


def advice(*rows: Mapping[str, Any], kit: Kit | None = None, **of_release: Any) -> Assessment:
    judged, scope = making.simple(rows, **of_release)
    return assess(judged, kit, scope, BALANCED, today=making.DAY)


def test_functions_cover_the_vocabularies_once() -> None:
    led = [s for f in tables.functions() for s in f.settings]
    assert sorted(led) == sorted(s.id for s in settings())
    parts = [c for f in tables.functions() for c in f.components]
    assert len(parts) == len(set(parts))
    assert {c.id for c in components()} == set(parts)
    assert {c.id for c in components()} == set(tables.priors().unnamed_severity)


def test_recheck_tells_the_recorded_value() -> None:
    judged, scope = making.simple([RTH, {"kinds": "C", "settings": ["geofence", "rth-altitude"]}])
    found = assess(
        judged,
        None,
        scope,
        BALANCED,
        today=making.DAY,
        beside=Beside(recorded={"rth-altitude": "40 m"}),
    )
    assert [(r.setting, r.recorded) for r in found.recheck] == [
        ("rth-altitude", "40 m"),
        ("geofence", ""),
    ]
    assert [p.ref for p in found.recheck[0].pointers] == ["1", "2"]


def test_every_named_hazard_points_to_its_items_and_lines() -> None:
    found = advice(RTH, {"kinds": "XB", "settings": ["gnss"]})
    for hazard in (*found.moving, *found.staying):
        assert hazard.pointers or not hazard.function
    assert {p.line for h in found.moving for p in h.pointers} == {1, 2}


def test_unsure_items_are_counted_out_in_the_evidence() -> None:
    found = advice(RTH, {"kinds": "Fb", "settings": ["rth-behaviour"]})
    row = next(h for h in found.moving if h.function == "return-home")
    assert row.evidence.startswith("2 changes (1 unsure)")


def test_no_kit_no_version_no_date_no_looks_are_said() -> None:
    said = " ".join(a.text for a in advice(RTH, days=None).assumptions)
    for word in ("no kit", "version not known", "date of release", "no field reports", "no needs"):
        assert word in said
    known = advice(RTH, kit=making.kit(needs=["x"], functions=["return-home"]))
    assert not any("kit on file" in a.text for a in known.assumptions)


def test_a_date_that_reads_two_ways_is_taken_late_and_said() -> None:
    judged, scope = making.simple([RTH])
    date = StatedDate(text="02/01/2026", day=dt.date(2026, 2, 1), or_else=dt.date(2026, 1, 2))
    release = judged.notes.releases[0].model_copy(update={"date": date})
    notes = judged.notes.model_copy(update={"releases": (release,)})
    found = assess(
        judged.model_copy(update={"notes": notes}), None, scope, BALANCED, today=making.DAY
    )
    assert any("two ways: taken as 2026-02-01" in a.text for a in found.assumptions)
    assert any(g.why.startswith("29 days out") for g in found.gates if g.id == "days")


def test_warning_tells_which_release_mends_the_defect() -> None:
    items = [
        making.item("1", "XB", settings=["motor-esc"], harm=True, release=0),
        making.item("2", "FB", settings=["rth-behaviour"], release=1),
    ]
    shipped = [making.release("1.4", days=20), making.release("1.5", days=1)]
    judged = making.notes(shipped, items)
    found = assess(judged, None, making.scope(judged), BALANCED, today=making.DAY)
    assert found.warning.startswith("Do not fly the installed version")
    assert "until the update to 1.4 is done" in found.warning
    assert "maker's instructions and your local rules" in found.warning
    assert found.reasons[0].pointers[0].ref == "1"
    gone = [making.release("1.4", days=20, status="withdrawn")]
    judged = making.notes(gone, items[:1])
    found = assess(judged, None, making.scope(judged), BALANCED, today=making.DAY)
    assert "no release here" in found.warning
    assert found.verdict is Verdict.WAIT


def test_trouble_without_a_function_opens_no_row_for_each_function() -> None:
    judged, scope = making.simple([RTH], days=60)
    look = making.look(clean=False, users=5)
    found = assess(judged, None, scope, BALANCED, [look], today=making.DAY)
    assert {h.function for h in found.moving} == {"return-home", ""}
    assert found.verdict is Verdict.WAIT


def test_looks_of_later_days_do_not_count() -> None:
    judged, scope = making.simple([RTH])
    later = making.look(clean=True, users=9000, days_ago=-1)
    with_it = assess(judged, None, scope, BALANCED, [later], today=making.DAY)
    without = assess(judged, None, scope, BALANCED, today=making.DAY)
    assert with_it.model_dump(exclude={"digests"}) == without.model_dump(
        exclude={"digests", "assumptions"}
    ) | {"assumptions": with_it.model_dump()["assumptions"]}


def test_what_would_change_it_does_change_it() -> None:
    """The number of clean users found by search is the smallest that does."""
    judged, scope = making.simple([RTH], days=14)
    found = assess(judged, None, scope, BALANCED, today=making.DAY)
    (told,) = [c.text for c in found.changes if c.kind == "looks"]
    users = int(told.split("with ")[1].split()[0])

    def verdict(n: int) -> Verdict:
        look = making.look(clean=True, users=n)
        return assess(judged, None, scope, BALANCED, [look], today=making.DAY).verdict

    assert told.startswith("today already")
    assert verdict(users) is Verdict.UPDATE
    assert verdict(users - 1) is Verdict.WAIT


def test_trouble_that_would_turn_an_update_does_turn_it() -> None:
    judged, scope = making.simple([RTH], days=40)
    found = assess(judged, None, scope, BALANCED, today=making.DAY)
    assert found.verdict is Verdict.UPDATE
    assert found.changes[0].text.startswith("trouble reported by 1 user in return to home")
    look = making.look(clean=False, users=1, function="return-home")
    turned = assess(judged, None, scope, BALANCED, [look], today=making.DAY)
    assert turned.verdict is Verdict.WAIT


def test_settling_an_item_that_flips_does_flip() -> None:
    row = {"kinds": "Fb", "settings": ["rth-behaviour"]}
    found = advice(row, days=10)
    assert [c.text.split(":")[1][:10] for c in found.unsure] == [" if it is "]
    assert advice({**row, "kinds": "F"}, days=10).verdict is not found.verdict


def test_advice_imports_nothing_heavy_and_nothing_above() -> None:
    code = (
        "import sys, triage.advice;"
        "print([m for m in ('spacy', 'sklearn', 'scipy', 'sqlite3', 'triage.render', 'triage.cli',"
        " 'triage.reading', 'triage.classify', 'rapidfuzz', 'numpy.random') if m in sys.modules])"
    )
    root = Path(__file__).parents[2]
    run = subprocess.run(
        [sys.executable, "-c", code], cwd=root, capture_output=True, text=True, check=True
    )
    assert run.stdout.strip() == "[]"
