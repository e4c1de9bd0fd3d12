"""Changelogs of other kinds against general-purpose parsers: Keep a Changelog and Debian's."""

import gzip
from pathlib import Path

import keepachangelog
import pytest
from debian.changelog import Changelog

from triage.domain.notes import SourceFormat, Status
from triage.notes import read_text

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


def test_keep_a_changelog_agrees_with_its_own_parser() -> None:
    parsed = keepachangelog.to_dict(KEPT.splitlines(), show_unreleased=True)
    notes = read_text(KEPT, "CHANGELOG.md")
    assert [r.version or "unreleased" for r in notes.releases] == list(parsed)
    for release, theirs in zip(notes.releases, parsed.values(), strict=True):
        date = theirs["metadata"]["release_date"]
        if release.date:
            assert date.startswith(str(release.date.day))
        got: dict[str, list[str]] = {}
        for item in release.items:
            got.setdefault(item.heading[-1].lower(), []).append(item.text)
        assert got == {kind: lines for kind, lines in theirs.items() if kind != "metadata"}
    assert [r.status for r in notes.releases] == [
        Status.UNRELEASED,
        Status.WITHDRAWN,
        Status.RELEASED,
    ]


def installed() -> list[Path]:
    found = sorted(Path("/usr/share/doc").glob("*/changelog.Debian.gz"))
    return [path for path in found if path.stat().st_size > 1500][:200:12][:8]


@pytest.mark.skipif(len(installed()) < 3, reason="no Debian changelogs are installed")
@pytest.mark.parametrize("path", installed(), ids=lambda path: path.parent.name)
def test_installed_changelogs_agree_with_python_debian(path: Path) -> None:
    text = gzip.decompress(path.read_bytes()).decode("utf-8", errors="replace")
    theirs = [block for block in Changelog(text) if block.urgency and block.date]
    notes = read_text(text, path.name, format=SourceFormat.TEXT)
    ours = {r.version: r for r in notes.releases}
    both = [block for block in theirs if str(block.version) in ours]
    assert len(both) >= 0.95 * len(theirs)
    for block in both:
        day = ours[str(block.version)].date
        assert day is None or f"{day.day:%d %b %Y}" in f"{block.date}".replace(",  ", ", 0")
    lines = [line.rstrip() for block in theirs for line in block.changes()]
    # An entry that only introduces its nested list ('debian/control:') is context, no item.
    bullets = sum(line.startswith("  * ") and line[-1] not in ":," for line in lines)
    own = [p for r in notes.releases for i in r.items for p in i.places if i.level == 0]
    assert 0.95 * bullets <= len(own) <= 1.05 * bullets + 1
