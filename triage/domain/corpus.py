"""A labelled change item as the corpora hold it."""

from __future__ import annotations

from triage.domain.base import Frozen
from triage.domain.kinds import Kind


class CorpusItem(Frozen):
    """One item we wrote: `document` groups items of one invented release; `title` names it."""

    document: str
    style: str
    unit: str
    title: str
    heading: str
    text: str
    kinds: tuple[Kind, ...]
    settings: tuple[str, ...] = ()
    components: tuple[str, ...] = ()
