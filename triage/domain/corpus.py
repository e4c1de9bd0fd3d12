"""A labelled change item as the corpora hold it."""

from __future__ import annotations

from typing import Literal

from triage.domain.base import Frozen
from triage.domain.kinds import Kind
from triage.domain.outcomes import Outcome


class CorpusItem(Frozen):
    """One item we wrote: `document` groups items of one invented release; `title` names it.

    `outcome` is that of the defect it names, '' where it was not labelled.
    """

    document: str
    style: str
    unit: str
    title: str
    heading: str
    text: str
    kinds: tuple[Kind, ...]
    settings: tuple[str, ...] = ()
    components: tuple[str, ...] = ()
    outcome: Outcome | Literal[""] = ""
