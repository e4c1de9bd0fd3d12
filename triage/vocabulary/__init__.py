"""Data files (settings, components, conditions, functions, priors, presets) and their loader."""

from triage.vocabulary.load import (
    Component,
    Conditions,
    Frequency,
    Setting,
    components,
    conditions,
    load_toml,
    look_alikes,
    settings,
)

__all__ = [
    "Component",
    "Conditions",
    "Frequency",
    "Setting",
    "components",
    "conditions",
    "load_toml",
    "look_alikes",
    "settings",
]
