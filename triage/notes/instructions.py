"""What the maker asks the operator to do or to heed around the update, as a typed list."""

from __future__ import annotations

from triage.domain.notes import Instruction, InstructionKind, Place
from triage.notes.rules import instruction_rules, pattern
from triage.notes.sentences import heads_of, sentences


def _heads(words: str) -> frozenset[str]:
    return frozenset(word[:4] for word in words.split())


_DATA = instruction_rules()
_MODAL = pattern(_DATA.modal)
_IMPERATIVE = pattern(_DATA.imperative)
_ADDRESS = pattern(_DATA.address)
_CHANGE = pattern(_DATA.change)
_ORDER = pattern(_DATA.order)
_ADVICE = pattern(_DATA.advice)
_RULES = tuple(
    (rule.kind, pattern(rule.patterns), rule.spoken, _heads(rule.heads)) for rule in _DATA.rule
)
_OTHER = _heads(_DATA.other_heads)
_HEADS = _OTHER.union(*(heads for *_, heads in _RULES))


def may_instruct(text: str) -> bool:
    """A cheap first look: whether any word begins as the words of instructions do."""
    return not _HEADS.isdisjoint(heads_of(text))


def instructions_in(text: str, place: Place) -> list[Instruction]:
    """The instructions in a statement, each sentence under the kind that fits it best."""
    if not may_instruct(text):
        return []
    found = []
    for start, end in sentences(text):
        sentence = text[start:end]
        kind = kind_of(sentence) if len(sentence) <= 800 else None
        if kind is not None:
            found.append(Instruction(kind=kind, text=sentence, place=place))
    return found


def kind_of(sentence: str) -> InstructionKind | None:
    """The kind of instruction a sentence is, None when it only tells what changed."""
    heads = heads_of(sentence)
    open_rules = [rule for rule in _RULES if not rule[3].isdisjoint(heads)]
    other = not _OTHER.isdisjoint(heads)
    if not (open_rules or other) or _CHANGE.match(sentence):
        return None
    spoken = bool(
        _MODAL.search(sentence)
        or (_IMPERATIVE.match(sentence) and (sentence[-1] in ".!" or _ADDRESS.search(sentence)))
    )
    for kind, wording, spoken_only, _ in open_rules:
        if (spoken or not spoken_only) and wording.search(sentence):
            return kind
    if other and (_ORDER.match(sentence) or _ADVICE.search(sentence)):
        return InstructionKind.OTHER
    return None
