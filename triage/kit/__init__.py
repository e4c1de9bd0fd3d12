"""The operator's kit: its file, version order, what a document offers it, and what must move."""

from triage.kit.file import load
from triage.kit.units import installed, meant, relied_on, touched
from triage.kit.versions import compare, order

__all__ = ["compare", "installed", "load", "meant", "order", "relied_on", "touched"]
