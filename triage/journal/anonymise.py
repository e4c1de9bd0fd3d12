"""An entry without names and places: only what is listed here leaves.

Left out: the pilot, file names, units' labels and names, everything the operator or others wrote
in words (reasons, outcomes, jobs, needs, reports), recorded settings, the notes themselves and the
time of day. Units are numbered instead. Such an export cannot be verified or imported.
"""

from __future__ import annotations

import re
from typing import Any

from triage.advice import presets
from triage.domain.journal import (
    Advised,
    Correction,
    Decision,
    DecisionOutcome,
    JournalEntry,
    RecordedDecision,
    Updated,
)
from triage.domain.update_run import RunNote, Summary, VersionChange
from triage.journal.history import PastDecision

_VERSION = re.compile(r"[vV]?\d+(\.\d+){0,4}([-+~](alpha|beta|rc|dev)[.\d]*)?")


class Names:
    """Numbers in place of the operator's own labels, the same for the same label."""

    def __init__(self) -> None:
        self._numbers: dict[str, str] = {}

    def units(self, labels: tuple[str, ...]) -> tuple[str, ...]:
        """`unit-1`, `unit-2`... in order of first sight."""
        return tuple(
            self._numbers.setdefault(label, f"unit-{len(self._numbers) + 1}") for label in labels
        )


def nameless(entry: JournalEntry, names: Names) -> dict[str, Any]:
    """The entry as plain values."""
    payload = entry.record.payload
    common: dict[str, Any] = {
        "seq": entry.seq,
        "kind": payload.kind,
        "day": payload.day.isoformat(),
        "due": payload.due.isoformat() if payload.due else None,
    }
    if isinstance(payload, RecordedDecision):
        return {
            **common,
            "tool_version": payload.tool_version,
            "format": payload.format.value,
            "policy": _policy(payload.policy.name),
            "model_sha256": payload.model_sha256,
            "notes_sha256": payload.notes.sha256,
            "advised": [
                nameless_advised(a, names).model_dump(mode="json") for a in payload.advised
            ],
            "decisions": [_decision(d, names) for d in payload.decisions],
            "reports": [
                {"day": e.day.isoformat(), "users": e.users, "clean": e.clean}
                for e in payload.evidence
            ],
        }
    if isinstance(payload, Updated):
        return {**common, "about": payload.about, **_told(payload.summary, names)}
    common |= {"about": payload.about, "corrects": payload.corrects}
    if isinstance(payload, DecisionOutcome):
        told = {"result", "function", "severity", "went_back", "flights"}
        return {
            **common,
            **payload.model_dump(mode="json", include=told),
            "units": list(names.units(payload.units)),
        }
    if isinstance(payload, Correction):
        return {**common, "decisions": [_decision(d, names) for d in payload.decisions]}
    return common


def _told(summary: Summary, names: Names) -> dict[str, Any]:
    over = _nameless_summary(summary, names)
    told = {"unit", "version", "verdict", "against", "policy", "done"}
    return {
        **over.model_dump(mode="json", include=told),
        "versions": [change.model_dump() for change in over.versions],
        "skipped": len(over.skipped),
        "failed": len(over.failed),
        "left": len(over.left),
        "abandoned": bool(over.abandoned),
        "notes_sha256": over.digests.notes,
    }


def _nameless_summary(over: Summary, names: Names) -> Summary:
    """Numbers for units; steps are counted, their titles and reasons are left out."""
    nothing = RunNote(title="", reason="")

    def unit(label: str) -> str:
        return names.units((label,))[0]

    return over.model_copy(
        update={
            "unit": unit(over.unit),
            "title": "",
            "version": _version(over.version),
            "policy": _policy(over.policy),
            "versions": tuple(
                VersionChange(unit=unit(c.unit), before=_version(c.before), after=_version(c.after))
                for c in over.versions
            ),
            "skipped": (nothing,) * len(over.skipped),
            "failed": (nothing,) * len(over.failed),
            "left": ("",) * len(over.left),
            "abandoned": "without words" if over.abandoned else "",
        }
    )


def nameless_update(entry: JournalEntry, names: Names) -> JournalEntry:
    """The entry of an update run with numbers for units and without words."""
    payload = entry.record.payload
    assert isinstance(payload, Updated)
    summary = _nameless_summary(payload.summary, names)
    payload = payload.model_copy(update={"summary": summary})
    record = entry.record.model_copy(update={"pilot": "", "payload": payload})
    return entry.model_copy(update={"record": record})


def nameless_case(case: PastDecision, names: Names) -> PastDecision:
    """The case with numbers for units and without words."""

    def outcome(given: DecisionOutcome) -> DecisionOutcome:
        units = names.units(given.units)
        return given.model_copy(update={"units": units, "words": "", "avoided": ""})

    decision = case.decision
    return case.model_copy(
        update={
            "pilot": "",
            "source": "",
            "advised": nameless_advised(case.advised, names),
            "decision": Decision(units=names.units(decision.units), choice=decision.choice),
            "outcome": outcome(case.outcome) if case.outcome else None,
            "problems": tuple(outcome(o) for o in case.problems),
            "avoided": (),
        }
    )


def nameless_advised(advised: Advised, names: Names) -> Advised:
    """Versions, verdict and functions; no names and no words."""
    return advised.model_copy(
        update={
            "units": names.units(advised.units),
            "name": "",
            "installed": _version(advised.installed),
            "version": _version(advised.version),
            "title": "",
            "headline": "",
            "ahead": tuple(
                a.model_copy(update={"version": _version(a.version)}) for a in advised.ahead
            ),
        }
    )


def _decision(decision: Decision, names: Names) -> dict[str, Any]:
    return {"units": list(names.units(decision.units)), "choice": decision.choice.value}


def _policy(name: str) -> str:
    return name if name in presets() else "own"


def _version(text: str) -> str:
    """A version as it is; other words in its place could hold a name."""
    return text if _VERSION.fullmatch(text) else ""
