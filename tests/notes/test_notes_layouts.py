"""Pasted text in all its layouts: bullets, wrapping, lost bullets, headings, version blocks."""

import pytest

from triage.domain.notes import Release, SourceFormat
from triage.notes import read_text


def day_of(release: Release) -> str:
    return str(release.date.day) if release.date else ""


CONSUMER = """Quillmere Heron 2 Release Notes

Date: 2026.03.04
Aircraft Firmware: v01.04.0500
Remote Controller Firmware: v02.01.0300
Quillmere Deck App: aOS v5.3.2 / Larkos v5.3.4

What’s New
• Added support for the Quillmere Wand motion controller.
• Optimized hover accuracy in strong wind and improved the return-to-home
path planning over water.
•Fixed an issue where the gimbal could tilt slowly after landing.
● Added the following languages:
   ○ Portuguese
   ○ Polish

Notes
1. Restart the aircraft and remote controller after updating.
2. Once updated, the aircraft cannot be rolled back to an earlier version.
"""


def items(text: str, form: SourceFormat | None = SourceFormat.TEXT) -> list[str]:
    return [i.text for r in read_text(text, "paste", format=form).releases for i in r.items]


def paths(
    text: str, form: SourceFormat | None = SourceFormat.TEXT
) -> list[tuple[tuple[str, ...], str]]:
    releases = read_text(text, "paste", format=form).releases
    return [(i.heading, i.text) for r in releases for i in r.items]


def test_consumer_notes() -> None:
    (release,) = read_text(CONSUMER, "paste").releases
    assert (release.unit, release.component) == ("Quillmere Heron 2", "aircraft")
    assert (release.version, day_of(release)) == ("01.04.0500", "2026-03-04")
    assert [(r.component, r.comparison.value, r.version) for r in release.requirements] == [
        ("radio-controller", "at-least", "02.01.0300"),
        ("app", "at-least", "5.3.2"),
    ]
    assert [(i.heading, i.level, i.text) for i in release.items][2:5] == [
        (("What's New",), 0, "Fixed an issue where the gimbal could tilt slowly after landing."),
        (("What's New", "Added the following languages"), 1, "Portuguese"),
        (("What's New", "Added the following languages"), 1, "Polish"),
    ]
    assert [i.kind.value for i in release.instructions] == ["restart", "no-way-back"]


def test_lost_bullets_are_told_from_a_wrapped_paragraph() -> None:
    lost = "Heron 1.2\nFixed the drift\nAdded a menu for the stick curve\nSlower start of motors\n"
    assert items(lost) == [
        "Fixed the drift",
        "Added a menu for the stick curve",
        "Slower start of motors",
    ]
    wrapped = (
        "Heron 1.2\n\nThe stick curve of the throttle has been reworked so that the hover\n"
        "point sits in the middle, and the dead band has become smaller.\n"
    )
    assert len(items(wrapped)) == 1


def test_an_unindented_continuation_belongs_to_its_bullet() -> None:
    text = "* Home point is sent at once\nif the module is unplugged we should\nsay so\n* Next"
    assert items(text) == [
        "Home point is sent at once if the module is unplugged we should say so",
        "Next",
    ]


def test_a_compound_broken_at_its_hyphen_is_whole_again() -> None:
    assert items("- Corrected the pre-\n  arm check\n- b") == ["Corrected the pre-arm check", "b"]


@pytest.mark.parametrize("bullet", ["-", "*", "•", "◦", "–", "▪", "➢", "+"])
def test_every_bullet_marks_an_entry(bullet: str) -> None:
    assert items(f"Bug fixes\n{bullet} one thing\n{bullet} another") == ["one thing", "another"]


def test_numbered_headings_and_numbered_items() -> None:
    text = "1) New boards supported\n- Kestra F7 Nano\n2) Fixes\n- drift\n"
    assert paths(text) == [(("New boards supported",), "Kestra F7 Nano"), (("Fixes",), "drift")]
    assert items("1. Fixed the drift\n2. Added a menu\n") == ["Fixed the drift", "Added a menu"]


def test_a_heading_glued_to_the_list_above_it() -> None:
    assert paths("- one\nBug fixes:\n- two") == [((), "one"), (("Bug fixes",), "two")]


def test_a_parent_with_a_colon_is_context_and_without_one_an_item() -> None:
    assert paths("- Maps:\n  - offline\n- Menu\n  - larger") == [
        (("Maps",), "offline"),
        ((), "Menu"),
        ((), "larger"),
    ]


def test_a_sentence_laid_out_as_a_list_is_one_item() -> None:
    text = (
        "Do not use the compass unless:\n\n- it has been calibrated, and\n- it is free of noise.\n"
    )
    assert items(text) == [
        "Do not use the compass unless: it has been calibrated, and it is free of noise."
    ]


def test_paragraphs_are_items_and_plain_runs_of_changes_are_split() -> None:
    text = (
        "Heron 1.2\n\nAdded a low cell alarm. Fixed the alarm sounding twice. Improved the gauge.\n"
    )
    assert len(items(text)) == 3
    prose = "Heron 1.2\n\nThe gauge follows the cells now. Fixed the alarm. That took a while.\n"
    assert len(items(prose)) == 1


def test_typographic_and_full_width_forms_read_as_plain_ones() -> None:
    text = "Version\u00a01.2\n\u2022\u00a0Fixed the \u201cdrift\u201d\nApp：v5.3\nGoggles：v1.0"
    notes = read_text(text, "paste")
    (release,) = notes.releases
    assert release.version == "1.2"
    assert [i.text for i in release.items] == ['Fixed the "drift"']
    assert [(r.component, r.version) for r in release.requirements] == [
        ("app", "5.3"),
        ("goggles", "1.0"),
    ]


def test_a_paste_without_a_header_is_one_release_without_a_version() -> None:
    notes = read_text("- Fixed the drift\n- Added a menu", "paste")
    assert [(r.version, len(r.items)) for r in notes.releases] == [("", 2)]


def test_a_release_announced_in_a_sentence() -> None:
    text = "The new controller firmware 2.1.0 is out (4 May 2026).\n\nIt has a longer range.\n"
    notes = read_text(text, "mail")
    (release,) = notes.releases
    assert (release.component, release.version) == ("radio-controller", "2.1.0")
    assert day_of(release) == "2026-05-04"
    assert "from a sentence" in notes.remarks[0]


def test_a_release_that_only_says_no_changes_stays() -> None:
    notes = read_text("Release 1.2\n\nNo changes from 1.2-beta1\n\nRelease 1.2-beta1\n- a", "paste")
    assert [(r.version, r.items[0].text) for r in notes.releases] == [
        ("1.2", "No changes from 1.2-beta1"),
        ("1.2-beta1", "a"),
    ]


def test_introduction_before_the_first_release_is_told_in_a_remark() -> None:
    notes = read_text("We are happy to be back.\n\nRelease 1.2\n- a", "paste")
    assert [r.version for r in notes.releases] == ["1.2"]
    assert "introductory" in notes.remarks[0]


def test_a_table_with_a_row_a_release() -> None:
    text = (
        "| Date | Aircraft firmware | App | What's new |\n|---|---|---|---|\n"
        "| 2026-03-04 | 1.4.0 | 5.3 | Adds waypoints |\n"
        "| 2025-12-18 | 1.3.2 | 5.2 | Fixes drift |\n"
    )
    for form in (SourceFormat.MARKDOWN, SourceFormat.TEXT):
        first, second = read_text(text, "t", format=form).releases
        assert (first.version, first.component, day_of(first)) == (
            "1.4.0",
            "aircraft",
            "2026-03-04",
        )
        assert [(r.component, r.version) for r in first.requirements] == [("app", "5.3")]
        assert (second.version, second.items[0].text) == ("1.3.2", "Fixes drift")


def test_control_and_direction_characters_never_reach_the_text() -> None:
    text = "Release 1.2\n- Fixed \x1b[31mred\x1b[0m \u202eand\u2066 bell\x07 and \x9b31m\n"
    item = read_text(text, "paste").releases[0].items[0]
    assert item.text == "Fixed red and bell and 31m"
    assert item.original == text[item.places[0].start : item.places[0].end]
    assert "\x1b[31m" in item.original


def test_a_change_stated_twice_is_one_item_with_two_places() -> None:
    text = (
        "Release 1.2\n\nHighlights\n- Longer hover time\n\nChanges\n"
        "- Hover time is longer by two minutes at 20 degrees\n- Fixed the menu\n- Fixed the menu\n"
    )
    (release,) = read_text(text, "paste").releases
    assert [(i.text, [p.line for p in i.places]) for i in release.items] == [
        ("Hover time is longer by two minutes at 20 degrees", [7, 4]),
        ("Fixed the menu", [8, 9]),
    ]


def test_a_beta_repeated_in_its_final_stays_with_the_beta() -> None:
    text = (
        "Release 1.2\n- Fixed the drift\n- Added a menu\n\nRelease 1.2-beta1\n- Fixed the drift\n"
    )
    final, beta = read_text(text, "paste").releases
    assert [i.text for i in final.items] == ["Added a menu"]
    assert [p.line for p in beta.items[0].places] == [6, 2]


def test_the_same_words_in_two_unrelated_releases_are_two_changes() -> None:
    text = "Release 1.3\n- Various fixes\n\nRelease 1.2\n- Various fixes\n"
    assert [len(r.items) for r in read_text(text, "paste").releases] == [1, 1]


def test_a_release_does_not_require_itself_from_its_version_table() -> None:
    notes = read_text(
        "## Release 3.5.0 (withdrawn)\n\nDo not install it.\n\n| Component | Version |\n|---|---|\n"
        "| Aircraft firmware | 3.5.0 |\n| Goggles | 2.2.0 or later |\n\n- Ridge hold.\n",
        "notes.md",
        format=SourceFormat.MARKDOWN,
    )
    asked = [(r.component, r.version) for rel in notes.releases for r in rel.requirements]
    assert asked == [("goggles", "2.2.0")]
