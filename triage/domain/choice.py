"""What the operator says to an advice; apart, so that a command line costs nothing to read."""

from __future__ import annotations

from enum import StrEnum


class Choice(StrEnum):
    """As advised, or one of the two whatever was advised."""

    FOLLOW = "follow"
    UPDATE = "update"
    WAIT = "wait"
