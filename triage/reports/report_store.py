"""The record of field reports in the user folder, only ever added to.

Errors: StoreError naming file, line and mend.
"""

from __future__ import annotations

from pathlib import Path

from pydantic import TypeAdapter

from triage.domain.reports import FieldReport, ReportsRead
from triage.storage.record_log import Log
from triage.storage.user_folder import user_file

NAME = "reports.jsonl"
OLD_NAME = "looks.jsonl"  # before version 0.2


def reports_path(path: Path | None) -> Path:
    """The record meant: the stated file, or the one in the user folder under its name of then."""
    if path is not None:
        return path
    new, old = user_file(NAME), user_file(OLD_NAME)
    return old if old.exists() and not new.exists() else new


def read_reports(path: Path | None = None) -> ReportsRead:
    """All reports in the order they were recorded; none when there is no record yet."""
    reports, torn = _log(path).read_with_torn()
    return ReportsRead(reports=reports, torn=torn)


def add_report(report: FieldReport, path: Path | None = None) -> str:
    """Add a report to the end of the record, on the disk before this returns.

    Returns the torn line that was set aside for it, '' when there was none.
    """
    return _log(path).append(report)


def _log(path: Path | None) -> Log[FieldReport]:
    return Log(reports_path(path), TypeAdapter(FieldReport), "report")
