"""Field reports: the record of looks, and which of them say the same."""

from triage.reports.deduplicate import grouped, likeness
from triage.reports.evidence import evidence_for
from triage.reports.report_store import add, read

__all__ = ["add", "evidence_for", "grouped", "likeness", "read"]
