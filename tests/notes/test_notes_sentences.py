"""Requirement sentences and instructions."""

from collections import Counter
from pathlib import Path

import pytest

from triage.domain.notes import Comparison, InstructionKind, Place
from triage.notes.instructions import instructions_in, kind_of
from triage.notes.requirements import requirements_in
from triage.notes.sentences import sentences

DATA = Path(__file__).parents[1] / "data" / "notes"
NOWHERE = Place(start=0, end=0, line=1, end_line=1)


def f1(name: str) -> float:
    right = wrong = missed = 0
    for line in (DATA / name).read_text(encoding="utf-8").splitlines():
        if not line or line.startswith("#"):
            continue
        label, sentence = line.split(" | ", 1)
        want: Counter[tuple[str, ...]] = Counter(
            tuple(part.split(",")) for part in label.split(";") if part != "-"
        )
        found = requirements_in(sentence, NOWHERE)
        got: Counter[tuple[str, ...]] = Counter(
            (r.component, r.comparison.value, r.version) for r in found
        )
        right += (want & got).total()
        wrong += (got - want).total()
        missed += (want - got).total()
    return 2 * right / (2 * right + wrong + missed)


@pytest.mark.parametrize("name", ["requirements.txt", "requirements-held-out.txt"])
def test_requirement_sentences_reach_their_mark(name: str) -> None:
    assert f1(name) >= 0.9


def test_a_version_without_a_unit_is_one_of_the_releases_own() -> None:
    (found,) = requirements_in(
        "You must update to 2.0 before installing this version.",
        NOWHERE,
        component="aircraft",
        unit="Quillmere Heron 2",
    )
    assert (found.component, found.name, found.version) == ("aircraft", "Quillmere Heron 2", "2.0")
    assert found.comparison is Comparison.FIRST


ORDERS = [
    ("Restart the aircraft after updating.", InstructionKind.RESTART),
    ("Please power cycle the controller.", InstructionKind.RESTART),
    ("Calibrate the compass before the first flight.", InstructionKind.CALIBRATE),
    ("The IMU must be calibrated again.", InstructionKind.CALIBRATE),
    ("If the update fails, restart all devices and try again.", InstructionKind.RETRY),
    ("Some settings may be reset to their defaults.", InstructionKind.SETTINGS_RESET),
    ("This update resets all parameters.", InstructionKind.SETTINGS_RESET),
    ("Check your return-to-home altitude before flying.", InstructionKind.RECHECK),
    ("Users of such setups are advised to re-check their failsafe.", InstructionKind.RECHECK),
    ("It cannot be downgraded to an earlier version.", InstructionKind.NO_WAY_BACK),
    ("Rolling back is not supported.", InstructionKind.NO_WAY_BACK),
    ("Make sure the battery is charged to at least 50 %.", InstructionKind.CHARGE),
    ("Update the controller first.", InstructionKind.UPDATE_FIRST),
    ("Back up your parameters before updating.", InstructionKind.BACK_UP),
    ("Insert each battery and update them one by one.", InstructionKind.EACH_UNIT),
    ("Do not fly until the calibration is complete.", InstructionKind.WARNING),
    ("WARNING: remove the propellers.", InstructionKind.WARNING),
    ("Please keep the phone awake during the update.", InstructionKind.OTHER),
]
TOLD = [
    "Fixed a crash on restart.",
    "Added a reminder to calibrate the compass.",
    "Improved charging speed.",
    "The compass calibration is shown as a picture.",
    "Corrects the check of the battery before take-off",
    "Remove redundant checks",
    "No changes from 1.2-beta1",
    "The map is not reset any more",
]


@pytest.mark.parametrize(("sentence", "kind"), ORDERS)
def test_orders_have_their_kind(sentence: str, kind: InstructionKind) -> None:
    assert kind_of(sentence) is kind


@pytest.mark.parametrize("sentence", TOLD)
def test_what_is_only_told_is_no_instruction(sentence: str) -> None:
    assert instructions_in(sentence, NOWHERE) == []


def test_sentences_keep_abbreviations_and_versions_whole() -> None:
    text = "Use it e.g. Outdoors with 1.2.3. Then land! Is that all?"
    assert [text[a:b] for a, b in sentences(text)] == [
        "Use it e.g. Outdoors with 1.2.3.",
        "Then land!",
        "Is that all?",
    ]
