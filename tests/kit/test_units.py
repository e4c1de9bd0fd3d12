from __future__ import annotations

import pytest

from triage.domain.kit import Kit, Unit
from triage.kit.units import alike, component_id, installed, meant, relied_on, touched

HERON = Unit(
    label="heron", component="aircraft", name="Quillmere Heron 2", version="1.4",
    functions=("landing",),
)  # fmt: skip
TILLER = Unit(label="tiller", component="radio-controller", version="same as the aircraft")
CELL = Unit(label="battery-1", component="battery", version="same as tiller")
KIT = Kit(units=(HERON, TILLER, CELL), functions=("return-home",))


@pytest.mark.parametrize(
    ("a", "b", "same"),
    [
        ("Heron 2", "Quillmere Heron 2", True),
        ("Quillmere Heron 2 aircraft", "Heron 2", True),
        ("quilmere heron 2", "Quillmere Heron 2", True),
        ("Heron 2", "Heron 3", False),
        ("Heron 2 Pro", "Heron 2", False),
        ("Heron", "Quillmere Heron 2", False),
        ("Visor", "Wand", False),
        ("", "Wand", False),
    ],
)
def test_names_of_one_product(a: str, b: str, same: bool) -> None:
    assert alike(a, b) is alike(b, a) is same


def test_words_for_components() -> None:
    assert component_id("Drone") == component_id("aircraft") == "aircraft"
    assert component_id("hoverboard") == ""


def labels(units: tuple[Unit, ...]) -> list[str]:
    return [unit.label for unit in units]


def test_the_units_meant() -> None:
    assert labels(meant(KIT, "aircraft", "")) == ["heron"]
    assert labels(meant(KIT, "", "Heron 2")) == ["heron"]
    assert meant(KIT, "aircraft", "Heron 3") == ()
    assert labels(meant(KIT, "flight-controller", "")) == ["heron"]
    assert labels(meant(KIT, "battery", "Cell 40")) == ["battery-1"]  # its name is not stated
    assert meant(KIT, "goggles", "") == meant(KIT, "", "") == ()


def test_the_same_version_as_another_unit() -> None:
    assert installed(KIT, TILLER) == installed(KIT, CELL) == ("1.4", "")
    alone = Kit(units=(TILLER, CELL))
    assert installed(alone, CELL)[0] == "" and "names no single unit" in installed(alone, CELL)[1]
    ring = Unit(label="heron", component="aircraft", version="same as tiller")
    assert installed(Kit(units=(ring, TILLER)), ring)[0] == ""
    odd = Unit(label="x", component="app", version="latest")
    assert "cannot be read" in installed(Kit(units=(odd,)), odd)[1]


def test_functions_of_the_kit_and_of_the_unit() -> None:
    assert relied_on(KIT, "heron") == ("return-home", "landing")
    assert relied_on(KIT, "tiller") == ("return-home",)
    assert relied_on(Kit(units=(TILLER,)), "tiller") == ()


def test_whom_an_item_touches() -> None:
    assert touched(KIT, ["goggles"]) == ()
    assert touched(KIT, ["goggles", "gimbal"]) == ("heron",)
    assert touched(KIT, ["battery", "camera"]) == ("heron", "battery-1")
    assert touched(KIT, ["other"]) is None
    assert touched(Kit(units=(HERON,), assumed=True), ["goggles"]) is None
