"""The coarse components of the reading record; the vocabulary is finer."""

_COARSE = {
    "aircraft": "aircraft",
    "flight-controller": "aircraft",
    "radio-controller": "remote-controller",
    "motion-controller": "remote-controller",
    "battery": "battery",
    "goggles": "goggles",
    "app": "app",
    "desktop": "app",
}


def coarse(component: str) -> str:
    """The component in coarse terms, 'other' for what has none of its own."""
    return _COARSE.get(component, "other")
