"""What other commands ask of update day: an open run, and the settings last recorded.

Errors: StoreError when a record does not hold.
"""

from __future__ import annotations

from triage.userfiles import user_file

RUNS = "updates.jsonl"
SNAPSHOTS = "snapshots.jsonl"


def reminder() -> str:
    """A line while an update run is open, '' when none is."""
    if not user_file(RUNS).exists():
        return ""
    from triage.updateday.run import reminder as of_runs
    from triage.updateday.runs import open_runs

    return of_runs(open_runs())


def last_recorded(unit: str) -> dict[str, str]:
    """The last recorded values of a unit by the vocabulary's setting id, in words."""
    if not user_file(SNAPSHOTS).exists():
        return {}
    from triage.updateday.snapshots import last_recorded as of_snapshots

    return of_snapshots(unit)
