"""A changelog of the published convention against its own parser."""

import keepachangelog

from tests.reading.conftest import ReadText
from triage.domain.notes import Status

# Keep a Changelog 1.1.0: the six types of change, [Unreleased], [YANKED]; the entries are invented.
KEPT = """# Changelog

All notable changes to this project will be documented in this file.

## [Unreleased]

### Added

- Wind shown in the goggles.

## [1.1.1] - 2026-03-05 [YANKED]

### Changed

- Slower climb in sport mode.

### Deprecated

- The old stick curve.

### Removed

- Support for card readers.

## [1.1.0] - 2026-02-15

### Fixed

- Drift after landing.
- Menu that stayed open.

### Security

- Pairing asks for a code.

### Added

- Night map.
"""


def test_keep_a_changelog_agrees_with_its_own_parser(read_text: ReadText) -> None:
    parsed = keepachangelog.to_dict(KEPT.splitlines(), show_unreleased=True)
    notes = read_text(KEPT, "CHANGELOG.md")
    assert [r.version or "unreleased" for r in notes.releases] == list(parsed)
    for release, theirs in zip(notes.releases, parsed.values(), strict=True):
        date = theirs["metadata"]["release_date"]
        if release.date:
            assert date.startswith(str(release.date.day))
        wanted = {line for kind, lines in theirs.items() if kind != "metadata" for line in lines}
        got = {item.text: item.heading[-1].lower() for item in release.items}
        told = {one.text for one in release.instructions} | {a.text for a in notes.aside}
        told |= {one.text for one in release.requirements}
        assert wanted <= got.keys() | told  # nothing is lost
        assert len(wanted & got.keys()) >= len(wanted) - 1
        for text in wanted & got.keys():
            assert text in theirs[got[text]]
    assert [r.status for r in notes.releases] == [
        Status.UNRELEASED,
        Status.WITHDRAWN,
        Status.RELEASED,
    ]
