"""Whether one requirement of a release holds for one unit at one version."""

from __future__ import annotations

from dataclasses import dataclass

from triage.domain.notes import Comparison, Requirement
from triage.kit.units import component_name
from triage.kit.versions import order

# What an earlier release asked for still holds for those built upon it; the rest is about itself.
LASTING = frozenset({Comparison.AT_LEAST, Comparison.FIRST, Comparison.WITH, Comparison.SAME})
# The other unit could not be used with the moved one; the move itself can be made without it.
EXCLUDING = frozenset({Comparison.EXACTLY, Comparison.BELOW, Comparison.NOT_WITH})


@dataclass(frozen=True)
class InstalledState:
    """A unit's version within a plan; `newest` when it has moved to whatever is newest."""

    version: str
    moved: bool = False
    newest: bool = False


@dataclass(frozen=True)
class Holding:
    """Whether a requirement holds: True, False, or None when it cannot be told."""

    holds: bool | None
    reason: str = ""


def holds(requirement: Requirement, state: InstalledState) -> Holding:
    """Judge a requirement on the unit it is about."""
    wanted = requirement.version
    if not wanted:
        return _unversioned(requirement, state)
    lasts = requirement.comparison in LASTING and requirement.comparison is not Comparison.SAME
    if state.newest and lasts:
        return Holding(True)
    found = order(state.version, wanted)
    if found.sign is None:
        why = "its version is not known" if not state.version else found.reason
        return Holding(None, f"{in_words(requirement)}; {why}")
    good = {
        Comparison.AT_LEAST: found.sign >= 0,
        Comparison.FIRST: found.sign >= 0,
        Comparison.WITH: found.sign >= 0,
        Comparison.SAME: found.sign == 0,
        Comparison.EXACTLY: found.sign == 0,
        Comparison.BELOW: found.sign < 0,
        Comparison.NOT_WITH: found.sign != 0,
    }[requirement.comparison]
    return Holding(good, "" if good else f"{in_words(requirement)}; it has {state.version}")


def in_words(requirement: Requirement) -> str:
    """What is asked of the unit, as the second half of a sentence."""
    version = requirement.version
    return {
        Comparison.AT_LEAST: f"has to have {version or 'a newer version'} or later",
        Comparison.EXACTLY: f"has to have {version or 'a certain version'} exactly",
        Comparison.BELOW: f"has to be below {version or 'a certain version'}",
        Comparison.NOT_WITH: f"cannot be used with {version}" if version else "cannot be used",
        Comparison.FIRST: f"has to be updated first{f', to {version}' if version else ''}",
        Comparison.WITH: f"has to be updated too{f', to {version}' if version else ''}",
        Comparison.SAME: f"has to be on the same release{f', {version}' if version else ''}",
    }[requirement.comparison]


def thing(requirement: Requirement) -> str:
    """The thing a requirement is about, in plain words."""
    return requirement.name or component_name(requirement.component) or "a thing not named"


def _unversioned(requirement: Requirement, state: InstalledState) -> Holding:
    asked = in_words(requirement)
    if requirement.comparison is Comparison.NOT_WITH:
        return Holding(False, asked)
    if requirement.comparison in (Comparison.FIRST, Comparison.WITH, Comparison.SAME):
        return Holding(state.newest or state.moved, "" if state.newest or state.moved else asked)
    return Holding(None, f"{asked}; which version is not stated")
