"""Names of units in a text, by the vocabulary of components."""

from __future__ import annotations

import re
from functools import cache

from triage.reference.vocabulary import components


@cache
def _component_words() -> tuple[re.Pattern[str], dict[str, str]]:
    ids = {
        synonym.lower(): entry.id
        for entry in components()
        for synonym in (entry.name, *entry.synonyms)
    }
    ids |= {word[:-1] + "ies": ids[word] for word in list(ids) if word.endswith("y")}
    alternatives = "|".join(re.escape(word) for word in sorted(ids, key=len, reverse=True))
    return re.compile(rf"(?<![\w-])({alternatives})(s|es)?(?![\w-])", re.I), ids


def component_mentions(text: str) -> list[tuple[int, int, str]]:
    """Component names in a text: (start, end, vocabulary id), the longest names first taken."""
    pattern, ids = _component_words()
    return [(m.start(), m.end(), ids[m.group(1).lower()]) for m in pattern.finditer(text)]


def component_of(name: str) -> str:
    """The component that a unit's name speaks of: its last one, not counting 'for X'; else ''."""
    mentions = component_mentions(re.split(r"\s(?:for|with|on)\s", name, maxsplit=1)[0])
    if not mentions:
        mentions = component_mentions(name)
    return mentions[-1][2] if mentions else ""
