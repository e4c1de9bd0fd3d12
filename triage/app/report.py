"""Use case: field reports recorded, and listed with near-duplicates together."""

from __future__ import annotations

import datetime as dt

from triage.app.environment import today
from triage.app.gather import FieldReports, field_reports
from triage.domain.reports import ReportGroup
from triage.kit.versions import compare
from triage.reports import report_store
from triage.reports.stated_report import Draft, resolved


def record_report(draft: Draft, on: dt.date | None = None) -> tuple[ReportGroup, str]:
    """Record a report, on the day `on`, else today.

    Returns the group it counts with, and a torn line that was set aside for it, '' for none.
    """
    made = resolved(draft, on or today())
    torn = report_store.add_report(made)
    groups = field_reports().groups
    return next(group for group in reversed(groups) if made in group.reports), torn


def listed(version: str = "") -> FieldReports:
    """All reports, or only the groups about a release."""
    found = field_reports()
    if not version:
        return found
    about = (g for g in found.groups if compare(g.counted.version, version) == 0)
    return found._replace(groups=tuple(about))
