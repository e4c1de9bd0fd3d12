"""Why an item was judged as it was, as an outline."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from triage.classify.explain import Moved
from triage.domain.judged import JudgedItem, Judgement, Standing
from triage.domain.kinds import MEANING, Kind
from triage.render.items import kinds_shown, short
from triage.render.outline import Outline, Paragraph, Section, Table

_WORDS = 6  # words shown for each kind
_LEAST = 0.005  # a smaller move rounds to nothing

_SAID = {Standing.YES: "yes", Standing.NO: "no", Standing.UNSURE: "unsure, for you to settle"}


def explanation(item: JudgedItem, moved: Mapping[Kind, Sequence[Moved]]) -> Outline:
    """One section a kind: what was said, how sure, and the words that moved it most."""
    line = item.item.places[0].line
    blocks = [
        Paragraph(text=f"Line {line}: {short(item.item.text)}"),
        Paragraph(
            text="Each figure is the chance in 100 that the item is of the kind: with all "
            "words, and once more with the one word taken out."
        ),
    ]
    if item.item.heading:
        blocks.insert(1, Paragraph(text="Under the heading: " + " / ".join(item.item.heading)))
    head = Section(
        title=f"Item {item.item.ref}: {kinds_shown(item)}", blocks=tuple(blocks), level=1
    )
    return (head, *(_kind(item.judgement(kind), words) for kind, words in moved.items()))


def _kind(judgement: Judgement, words: Sequence[Moved]) -> Section:
    kind = judgement.kind
    said = f"{kind.value}: {_SAID[judgement.standing]}"
    if judgement.settled:
        said += " (settled by you)"
    telling = [m for m in words[:_WORDS] if abs(m.effect) >= _LEAST]
    if not telling:
        text = f"No single word matters; the chance is {_percent(words[0].chance)} in 100."
        return Section(title=said, blocks=(Paragraph(text=text if words else MEANING[kind]),))
    rows = tuple(
        (
            m.word if m.start >= 0 else f"heading: {m.word}",
            "for" if m.effect > 0 else "against",
            _percent(m.chance),
            _percent(m.without),
        )
        for m in telling
    )
    table = Table(head=("Word", "Speaks", "With it", "Without"), rows=rows)
    return Section(title=said, blocks=(Paragraph(text=f"{MEANING[kind].capitalize()}."), table))


def _percent(chance: float) -> str:
    return f"{100 * chance:.0f}" if 0.01 <= chance <= 0.99 else f"{100 * chance:.1f}"
