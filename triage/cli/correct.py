"""`triage items --released DAY` and the like: the operator's word on how the notes are read."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from triage.cli.out import say
from triage.errors import ConfigError

if TYPE_CHECKING:
    from triage.domain.corrections import ReadingCorrection
    from triage.domain.judged import JudgedNotes


class Stated(NamedTuple):
    """The corrections as the options state them; `release` counts from 1."""

    release: int
    version: str | None
    released: str | None
    component: str | None
    roles: tuple[str, ...]

    @property
    def says_something(self) -> bool:
        """Whether there is anything to correct."""
        return any((self.version, self.released, self.component, self.roles))


def correct(read: JudgedNotes, stated: Stated) -> None:
    """Keep the corrections; nothing is kept when one of them does not hold."""
    from triage.app.read import keep_correction

    corrections = [*_of_release(read, stated), *(_of_line(read, stated, t) for t in stated.roles)]
    for correction in corrections:
        keep_correction(correction)
    plural = "s" * (len(corrections) != 1)
    say(f"Kept: {len(corrections)} correction{plural} of {read.notes.source.name}.\n")


def _of_release(read: JudgedNotes, stated: Stated) -> list[ReadingCorrection]:
    from triage.app.environment import day_named
    from triage.domain.corrections import ReadingCorrection
    from triage.reference.vocabulary import components

    count = len(read.notes.releases)
    if not 1 <= stated.release <= count:
        raise ConfigError(
            f"--release: there is no release {stated.release}", mend=f"name one from 1 to {count}"
        )
    known = {component.id for component in components()}
    if stated.component is not None and stated.component not in known:
        raise ConfigError(
            f"--for: '{stated.component}' is no component",
            mend=f"name one of {', '.join(sorted(known))}",
        )
    if not any((stated.version, stated.released, stated.component)):
        return []
    return [
        ReadingCorrection(
            sha256=read.notes.source.sha256,
            release=stated.release - 1,
            version=stated.version,
            day=day_named("--released", stated.released),
            component=stated.component,
        )
    ]


def _of_line(read: JudgedNotes, stated: Stated, written: str) -> ReadingCorrection:
    from triage.app.read import statement_at
    from triage.domain.corrections import ReadingCorrection
    from triage.domain.notes import Role
    from triage.reading.corrections import CORRECTABLE

    line, _, name = written.partition("=")
    if name.strip() not in {role.value for role in CORRECTABLE} or not line.strip().isdigit():
        raise ConfigError(
            f"--role: '{written[:40]}' names no line and role",
            mend=f"write 12=ROLE with one of {', '.join(role.value for role in CORRECTABLE)}",
        )
    text = statement_at(read.notes, int(line))
    if not text:
        raise ConfigError(f"--role: no statement begins on line {line}", mend="see --aside")
    return ReadingCorrection(
        sha256=read.notes.source.sha256,
        release=stated.release - 1,
        statement=text,
        role=Role(name.strip()),
    )
