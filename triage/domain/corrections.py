"""What the operator settled about an item."""

from __future__ import annotations

import datetime as dt

from triage.domain.base import Frozen
from triage.domain.kinds import Kind
from triage.domain.notes import Role


class ItemCorrection(Frozen):
    """The kinds an item has, by the operator's word; it stands for the same words again."""

    text: str
    heading: str = ""
    unit: str = ""
    kinds: tuple[Kind, ...]


class ReadingCorrection(Frozen):
    """What the operator says of a document: of a release, or of one statement.

    `sha256` names the document, `release` is the index of the release in it. What is None is not
    corrected. `statement` is the text whose `role` is corrected.
    """

    sha256: str
    release: int = 0
    version: str | None = None
    day: dt.date | None = None
    component: str | None = None
    statement: str = ""
    role: Role | None = None
