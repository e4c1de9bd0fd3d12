"""The phrases to look for, from the vocabularies, each under a key `family:id`.

A clue's words stand under `family:id#number`, and the words it asks for or shuns under
`near:family:id#number` and `apart:family:id#number`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from triage.reference.vocabulary import Clue, components, conditions, settings

SETTING, COMPONENT, FREQUENCY, HARM = "setting", "component", "frequency", "harm"
NEAR, APART = "near", "apart"


def plural(phrase: str) -> str:
    """The phrase with its last word in the plural; unchanged where that makes no sense."""
    last = phrase[-1:]
    if not last.isalpha() or phrase.endswith("s"):
        return phrase
    if last == "y" and phrase[-2:-1] not in "aeiou":
        return phrase[:-1] + "ies"
    return phrase + ("es" if phrase.endswith(("ch", "sh", "x", "z")) else "s")


def phrases() -> Iterator[tuple[str, str]]:
    """All (key, phrase) pairs, lower case, without doubles."""
    for setting in settings():
        key = f"{SETTING}:{setting.id}"
        yield from _variants(key, _free(setting.synonyms, setting.clue))
        yield from _clues(key, setting.clue)
    for component in components():
        key = f"{COMPONENT}:{component.id}"
        yield from _variants(key, _free((*component.synonyms, *component.parts), component.clue))
        yield from _clues(key, component.clue)
    for frequency in conditions().frequency:
        for word in frequency.words:
            yield f"{FREQUENCY}:{frequency.id}", word.lower()
    for word in conditions().harm.words:
        yield f"{HARM}:", word.lower()


def _free(words: Iterable[str], clues: Iterable[Clue]) -> list[str]:
    """The words that no clue ties to their company."""
    tied = {word for clue in clues for word in clue.words}
    return [word for word in words if word not in tied]


def _variants(key: str, words: Iterable[str]) -> Iterator[tuple[str, str]]:
    lower = [word.lower() for word in words]
    yield from ((key, form) for form in dict.fromkeys(f for w in lower for f in (w, plural(w))))


def _clues(key: str, clues: Iterable[Clue]) -> Iterator[tuple[str, str]]:
    for number, clue in enumerate(clues):
        yield from _variants(f"{key}#{number}", clue.words)
        yield from ((f"{NEAR}:{key}#{number}", word.lower()) for word in clue.near)
        yield from ((f"{APART}:{key}#{number}", word.lower()) for word in clue.not_near)
