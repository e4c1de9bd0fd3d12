"""What a change item can be, with the one-line meanings that corpus, model and page share."""

from __future__ import annotations

from enum import StrEnum


class Kind(StrEnum):
    """A kind of change; an item has any number of them, or none."""

    FEATURE = "feature"
    FIX = "fix"
    FLIGHT_BEHAVIOUR = "flight-behaviour"
    COMPATIBILITY = "compatibility"


MEANING: dict[Kind, str] = {
    Kind.FEATURE: "adds or enhances a capability",
    Kind.FIX: "corrects a defect",
    Kind.FLIGHT_BEHAVIOUR: "a pilot should recheck or test-fly because of it",
    Kind.COMPATIBILITY: "works with other hardware, firmware, app, protocol or file versions",
}
