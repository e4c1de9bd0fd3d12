"""Field reports: the record of looks, and which of them say the same."""

from triage.looks.alike import grouped, likeness
from triage.looks.evidence import evidence_for
from triage.looks.store import add, read

__all__ = ["add", "evidence_for", "grouped", "likeness", "read"]
