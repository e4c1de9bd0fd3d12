"""Computes the advice of an entry once more from what is stored, and says what differs and why."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any, Protocol

from pydantic import ValidationError

from triage import __version__
from triage.domain.answer import Advice, UnitAdvice
from triage.domain.base import Frozen
from triage.domain.journal import RecordedDecision
from triage.domain.judged import JudgedNotes
from triage.domain.kinds import Kind
from triage.domain.notes import Item, SourceFormat
from triage.journal.followups import decision_in
from triage.journal.record_decision import judged_of
from triage.journal.store import Journal

_FEW = 12  # differences told one by one


class Read(Protocol):
    """Reads and judges a document (`triage.app.read.read_and_judge` with its engine bound)."""

    def __call__(
        self, data: bytes, name: str, *, format: SourceFormat, settled: Any
    ) -> JudgedNotes:
        """The judged notes."""


class Advise(Protocol):
    """Advises on judged notes (`triage.app.journal.advise_again`)."""

    def __call__(self, judged: JudgedNotes, stored: RecordedDecision) -> Advice:
        """The advice from the inputs of the entry."""


class UnitReplay(Frozen):
    """One group of units; `advice_stands` where verdict, day and release are the same.

    `fields` are (name, as stored, as computed now) in short words.
    """

    units: tuple[str, ...]
    same: bool
    advice_stands: bool
    fields: tuple[tuple[str, str, str], ...]


class Replay(Frozen):
    """What came of it; `why` names what is not as it was, `items` those judged otherwise now."""

    seq: int
    units: tuple[UnitReplay, ...]
    why: tuple[str, ...]
    items: tuple[str, ...]

    @property
    def same(self) -> bool:
        """Whether every unit's advice is the same to the last field."""
        return all(unit.same for unit in self.units)


def replay(journal: Journal, seq: int, read: Read, advise: Advise) -> Replay:
    """Recompute the advice of decision `seq`; StoreError when its inputs are lost or altered."""
    stored = decision_in(journal.entry(seq))
    before = json.loads(journal.attachment(stored.advice.sha256))
    judged_before = _judged(journal, stored)
    settled = _settled(judged_before)
    data = journal.attachment(stored.notes.sha256)
    judged = read(data, stored.source, format=stored.format, settled=settled)
    now = advise(judged, stored)
    units = tuple(_compared(old, now.units) for old in before)
    units += tuple(_added(unit) for unit in now.units if not _stored_for(unit, before))
    if all(unit.same for unit in units):
        return Replay(seq=seq, units=units, why=(), items=())
    items = () if judged_before is None else _items(judged_before, judged)
    why = _why(stored, before, now, items)
    if judged_before is not None:
        again = advise(judged_before, stored)
        rules = all(_compared(old, again.units).same for old in before)
        why += (
            "on the items as they were judged then, the advice is the same: the reading differs, "
            "not the rules"
            if rules
            else "on the items as they were judged then, the advice differs too: the rules or "
            "their numbers have changed",
        )
    return Replay(seq=seq, units=units, why=why, items=items)


def _judged(journal: Journal, stored: RecordedDecision) -> JudgedNotes | None:
    """The notes as judged then; None where today's types no longer hold them."""
    try:
        return judged_of(journal.attachment(stored.judged.sha256))
    except ValidationError:
        return None


def _settled(judged: JudgedNotes | None) -> Any:
    """The operator's own answers of then, by the item's words."""
    answers: dict[str, frozenset[Kind]] = {}
    for item in judged.items if judged else ():
        if any(j.settled for j in item.judgements):
            answers[item.item.text] = frozenset(item.kinds)

    def answer(item: Item) -> frozenset[Kind] | None:
        return answers.get(item.text)

    return answer


def _labels(scope: Mapping[str, Any]) -> tuple[str, ...]:
    return tuple(scope["labels"])


def _stored_for(unit: UnitAdvice, before: Sequence[Mapping[str, Any]]) -> bool:
    return any(_labels(old["scope"]) == unit.scope.labels for old in before)


def _added(unit: UnitAdvice) -> UnitReplay:
    new = unit.assessment.verdict.value
    return UnitReplay(
        units=unit.scope.labels, same=False, advice_stands=False, fields=(("advice", "none", new),)
    )


def _compared(old: Mapping[str, Any], units: Sequence[UnitAdvice]) -> UnitReplay:
    labels = _labels(old["scope"])
    found = next((u for u in units if u.scope.labels == labels), None)
    before = old["assessment"]
    if found is None:
        return UnitReplay(
            units=labels,
            same=False,
            advice_stands=False,
            fields=(("advice", before["verdict"], "none"),),
        )
    after = found.assessment.model_dump(mode="json")
    differing = [
        name
        for name in dict.fromkeys((*before, *after))
        if name != "digests" and before.get(name) != after.get(name)
    ]
    fields = tuple((name, *_told(before.get(name), after.get(name))) for name in differing)
    stands = all(before.get(n) == after.get(n) for n in ("verdict", "until", "subject"))
    return UnitReplay(units=labels, same=not fields, advice_stands=stands, fields=fields)


def _told(old: Any, new: Any) -> tuple[str, str]:
    """Two values in short words; of two lists, what only one of them has."""
    if isinstance(old, list) and isinstance(new, list):
        gone = [v for v in old if v not in new]
        come = [v for v in new if v not in old]
        return _few(gone, len(old)), _few(come, len(new))
    return _short(old), _short(new)


def _few(values: Sequence[Any], of: int) -> str:
    if not values:
        return f"{of} in another order or number"
    named = "; ".join(_short(v) for v in values[:3])
    return named if len(values) <= 3 else f"{named}; and {len(values) - 3} more"


def _short(value: Any) -> str:
    if isinstance(value, dict):
        for name in ("text", "name", "title", "words", "worth", "id"):
            if value.get(name):
                rest = [str(value[k]) for k in ("level", "passed", "verdict") if value.get(k)]
                share = [f"{value['share']:.2f}"] if isinstance(value.get("share"), float) else []
                return ", ".join([str(value[name]), *rest, *share])
        return json.dumps(value)[:80]
    return "none" if value is None else str(value)


def _items(before: JudgedNotes, after: JudgedNotes) -> tuple[str, ...]:
    """Items read or judged otherwise, by their words."""

    def kinds(notes: JudgedNotes) -> dict[str, tuple[str, str]]:
        return {
            item.item.text: (
                item.item.ref,
                ", ".join([*item.kinds, *(f"{k}?" for k in item.unsure)]) or "no kind",
            )
            for item in notes.items
        }

    old, new = kinds(before), kinds(after)
    told = []
    for text in dict.fromkeys((*old, *new)):
        if text not in new:
            told.append(f"item {old[text][0]} is no longer found")
        elif text not in old:
            told.append(f"item {new[text][0]} is new")
        elif old[text][1] != new[text][1]:
            told.append(f"item {new[text][0]}: was {old[text][1]}; is {new[text][1]}")
    rest = len(told) - _FEW
    return tuple(told[:_FEW]) + ((f"and {rest} more items",) if rest > 0 else ())


_DIGESTS = {
    "notes": "the stored notes are not the ones that were read",
    "kit": "the kit is understood otherwise",
    "scope": "which releases and items concern the unit is read otherwise",
    "policy": "the policy is understood otherwise",
    "evidence": "the reports are understood otherwise",
    "model": "the model has changed",
    "vocabulary": "the advice's numbers and vocabularies have changed",
}


def _why(
    stored: RecordedDecision, before: Sequence[Mapping[str, Any]], now: Advice, items: Sequence[str]
) -> tuple[str, ...]:
    """Which inputs are not as they were, by their digests."""
    after = {u.scope.labels: u.assessment.digests.model_dump() for u in now.units}
    changed = []
    for old in before:
        new = after.get(_labels(old["scope"]), {})
        then = old["assessment"]["digests"]
        changed += [name for name in _DIGESTS if name in new and new[name] != then.get(name)]
    why = [_DIGESTS[name] for name in _DIGESTS if name in changed]
    if "model" in changed:
        at = why.index(_DIGESTS["model"])
        why[at] += f" ({stored.model_sha256[:12]} then, {now.judged.model_sha256[:12]} now)"
    elif items:
        why.append("the same model judges some items otherwise: they are read otherwise")
    if stored.tool_version != __version__:
        why.append(f"the tool was version {stored.tool_version}, is {__version__}")
    return tuple(why) or ("no input has changed: the rules of the advice have",)
