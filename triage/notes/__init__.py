"""Reads release notes in any form: text, Markdown, HTML or PDF to releases, items, requirements."""

from triage.notes.reading import read, read_text

__all__ = ["read", "read_text"]
