"""The phrases to look for, from the vocabularies, each under a key `family:id`."""

from __future__ import annotations

from collections.abc import Iterator

from triage.vocabulary import components, conditions, settings

SETTING, COMPONENT, FREQUENCY, HARM = "setting", "component", "frequency", "harm"


def plural(phrase: str) -> str:
    """The phrase with its last word in the plural; unchanged where that makes no sense."""
    last = phrase[-1:]
    if not last.isalpha() or phrase.endswith("s"):
        return phrase
    if last == "y" and phrase[-2:-1] not in "aeiou":
        return phrase[:-1] + "ies"
    return phrase + ("es" if phrase.endswith(("ch", "sh", "x", "z")) else "s")


def phrases() -> Iterator[tuple[str, str]]:
    """All (key, phrase) pairs, lower case."""
    for setting in settings():
        for synonym in setting.synonyms:
            yield f"{SETTING}:{setting.id}", synonym.lower()
            yield f"{SETTING}:{setting.id}", plural(synonym.lower())
    for component in components():
        for synonym in (*component.synonyms, *component.parts):
            yield f"{COMPONENT}:{component.id}", synonym.lower()
            yield f"{COMPONENT}:{component.id}", plural(synonym.lower())
    for frequency in conditions().frequency:
        for word in frequency.words:
            yield f"{FREQUENCY}:{frequency.id}", word.lower()
    for word in conditions().harm.words:
        yield f"{HARM}:", word.lower()
