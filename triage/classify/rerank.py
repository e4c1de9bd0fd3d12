"""Settings and components of an item: what its words name, weighed by what its sentence says.

A word that is only the occasion of a change ("recording starts on arming") is a find of the
vocabulary, not of the sentence; a sentence may speak of a setting in words no vocabulary lists.
"""

from __future__ import annotations

from collections.abc import Mapping

from triage.classify.phrases import COMPONENT, SETTING
from triage.domain.finds import Find, Finds, FoundBy

# Chances of the encoder, chosen on items kept out of its fitting.
_KEPT_FROM = 0.1  # a named one stays from here
_ADDED_FROM = 0.5  # one that no word names is added from here
_VAGUE = {"other"}  # tells the operator nothing unless a word stands for it


def refined(finds: Finds, chances: Mapping[str, float]) -> Finds:
    """The finds with those taken out that the sentence is hardly about, and those added that it
    is about without a listed word; `chances` by `setting:ID` and `component:ID`.
    """
    return finds.model_copy(
        update={
            "settings": _refined(finds.settings, SETTING, chances),
            "components": _refined(finds.components, COMPONENT, chances),
        }
    )


def _refined(
    found: tuple[Find, ...], family: str, chances: Mapping[str, float]
) -> tuple[Find, ...]:
    own = [
        find
        for find in found
        if find.by is FoundBy.WORDS and chances.get(f"{family}:{find.id}", 1.0) >= _KEPT_FROM
    ]
    named = {find.id for find in own}
    added = [
        Find(id=id, words="", start=0, end=0, score=round(100 * chance, 1))
        for target, chance in chances.items()
        if target.startswith(f"{family}:")
        and chance >= _ADDED_FROM
        and (id := target.removeprefix(f"{family}:")) not in named | _VAGUE
    ]
    spoken = named | {find.id for find in added}
    above = [find for find in found if find.by is FoundBy.HEADING and find.id not in spoken]
    return (*own, *added, *above)
