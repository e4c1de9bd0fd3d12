"""Update day: settings before and after, every unit, nothing forgotten."""

from triage.updateday.runs import all_runs, begin, finish, mark, open_runs, reminder, run_called
from triage.updateday.snapshots import last_recorded

__all__ = [
    "all_runs",
    "begin",
    "finish",
    "last_recorded",
    "mark",
    "open_runs",
    "reminder",
    "run_called",
]
