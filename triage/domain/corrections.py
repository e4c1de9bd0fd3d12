"""What the operator settled about an item."""

from __future__ import annotations

from triage.domain.base import Frozen
from triage.domain.kinds import Kind


class ItemCorrection(Frozen):
    """The kinds an item has, by the operator's word; it stands for the same words again."""

    text: str
    heading: str = ""
    unit: str = ""
    kinds: tuple[Kind, ...]
