"""Settings, components and words of condition in an item's text: `Recogniser().read(items)`."""

from triage.recognise.recogniser import Reading, Recogniser

__all__ = ["Reading", "Recogniser"]
