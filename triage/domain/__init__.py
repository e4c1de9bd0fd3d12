"""Frozen types shared by all rooms; no behaviour, no imports from any other room."""
