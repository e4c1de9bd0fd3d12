"""The operator's kit: its file, version order, what a document offers it, and what must move."""

from triage.kit.applicability import candidates, concerned
from triage.kit.kit_file import load_kit
from triage.kit.units import as_used_with, installed, meant, relied_on, touched
from triage.kit.versions import compare, order

__all__ = [
    "as_used_with",
    "candidates",
    "compare",
    "concerned",
    "installed",
    "load_kit",
    "meant",
    "order",
    "relied_on",
    "touched",
]
