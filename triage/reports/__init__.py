"""Field reports: the record, which of them say the same, and what they count for."""

from triage.reports.deduplicate import grouped, likeness
from triage.reports.evidence import evidence_for
from triage.reports.report_store import add, read

__all__ = ["add", "evidence_for", "grouped", "likeness", "read"]
