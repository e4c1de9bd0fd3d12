"""Decide for each firmware release: update now, or wait and watch."""

__version__ = "0.2.0"
