"""Field reports: the record, which of them say the same, and what they count for."""

from triage.reports.deduplicate import grouped, likeness
from triage.reports.evidence import evidence_for
from triage.reports.report_store import add_report, read_reports

__all__ = ["add_report", "evidence_for", "grouped", "likeness", "read_reports"]
