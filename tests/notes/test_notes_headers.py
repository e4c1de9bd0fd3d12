"""Release headers: which lines are one, and what they say."""

import pytest

from triage.domain.notes import Status
from triage.notes import read_text
from triage.notes.headers import parse_header

BARE = [
    ("Release 1.5.6 03 Sep 2026", "", "1.5.6", "2026-09-03", Status.RELEASED),
    ("Release 1.5.6-beta1 20 Aug 2026", "", "1.5.6-beta1", "2026-08-20", Status.BETA),
    (
        "*Quillmere Bench 1.3.83 - Sept 10, 2026",
        "Quillmere Bench",
        "1.3.83",
        "2026-09-10",
        Status.RELEASED,
    ),
    ("Version 2.2.1 / 2026-12-17", "", "2.2.1", "2026-12-17", Status.RELEASED),
    ("v01.04.0500", "", "01.04.0500", None, Status.RELEASED),
    (
        "Aircraft firmware v01.04.0500 (2026.03.04)",
        "Aircraft",
        "01.04.0500",
        "2026-03-04",
        Status.RELEASED,
    ),
    ("Quillmere Deck 5.3.2 RC1", "Quillmere Deck", "5.3.2-RC1", None, Status.CANDIDATE),
    (
        "Quillmere Visor goggles V2.1 [WITHDRAWN]",
        "Quillmere Visor goggles",
        "2.1",
        None,
        Status.WITHDRAWN,
    ),
    ("Version 12", "", "12", None, Status.RELEASED),
    (
        "Release Notes - Quillmere Bench - Version 16.09",
        "Quillmere Bench",
        "16.09",
        None,
        Status.RELEASED,
    ),
    ("2026.3.1", "", "2026.3.1", None, Status.RELEASED),
    ("heron (1.2.3-1) unstable; urgency=medium", "heron", "1.2.3-1", None, Status.RELEASED),
]


@pytest.mark.parametrize(("line", "unit", "version", "day", "status"), BARE)
def test_bare_lines_that_are_headers(
    line: str, unit: str, version: str, day: str | None, status: Status
) -> None:
    header = parse_header(line, marked=False)
    assert header is not None
    found = str(header.date.date.day) if header.date else None
    assert (header.unit, header.version, found, header.status) == (unit, version, day, status)


@pytest.mark.parametrize(
    "line",
    [
        "Changes from 4.5.5",
        "Update the bootloader to 1.2",
        "Added support for protocol 2.0",
        "Requires app 5.3 or later",
        "This release fixes 3.2 and 3.3.",
        "Uses the 2.4 GHz band",
        "Maximum height 1.5 m",
        "1. Cloud build",
        "Known issues in 1.4",
        "Heron 1.2 is based on the work of many",
        "20250411: Heron v0.13.0 released",
    ],
)
def test_bare_lines_that_are_no_headers(line: str) -> None:
    assert parse_header(line, marked=False) is None


@pytest.mark.parametrize(
    ("line", "version"),
    [
        ("4.4 Release Notes", "4.4"),
        ("[1.1.1] - 2023-03-05 [YANKED]", "1.1.1"),
        ("[0.15](https://x.y/compare/v0.14...v0.15) (2022-01-13)", "0.15"),
        ("What's new in 3.1.0", "3.1.0"),
        ("7.1.0 - Fast Falcon", "7.1.0"),
        ("1.2 - The wind release", "1.2"),
        ("1.5.0 Release Candidate 3", "1.5.0-rc3"),
        ("Unreleased", ""),
    ],
)
def test_headings_that_are_headers(line: str, version: str) -> None:
    header = parse_header(line, marked=True)
    assert header is not None and header.version == version


@pytest.mark.parametrize(
    "line",
    [
        "1. Cloud Build",
        "2.1 Stick curves",
        "Link 3.x support",
        "Fixes since 1.2",
        "Upgrading to 3.0",
    ],
)
def test_headings_that_are_no_headers(line: str) -> None:
    assert parse_header(line, marked=True) is None


def test_the_document_title_names_the_unit_of_plain_headers() -> None:
    notes = read_text(
        "Quillmere Tiller Release Notes\n\nRelease 1.2 3 May 2026\n- a change", "paste"
    )
    assert notes.releases[0].unit == "Quillmere Tiller"


def test_headings_above_the_releases_name_the_unit() -> None:
    text = "# Goggles\n## v1.2\n- a\n# Remote controller\n## v2.0\n- b\n"
    notes = read_text(text, "notes.md")
    assert [r.component for r in notes.releases] == ["goggles", "radio-controller"]


def test_a_bare_date_below_a_header_is_its_date() -> None:
    notes = read_text("Heron 2 v1.2.0\n2026-04-03\n\n- Fixed the drift", "paste")
    (release,) = notes.releases
    assert release.version == "1.2.0"
    assert release.date is not None and str(release.date.day) == "2026-04-03"


def test_a_change_glued_to_its_header_is_told_apart() -> None:
    notes = read_text("v2.4.1: Fixed the compass\nv2.4.0 - Added log download", "paste")
    assert [(r.version, r.items[0].text) for r in notes.releases] == [
        ("2.4.1", "Fixed the compass"),
        ("2.4.0", "Added log download"),
    ]
