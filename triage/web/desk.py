"""What every page works with: the session's documents, and the plain calls on the user's files."""

from __future__ import annotations

import datetime as dt
import time
from collections import OrderedDict
from collections.abc import Callable, Hashable
from contextlib import suppress
from functools import cached_property
from threading import Lock, Thread
from typing import Any, NamedTuple, TypeVar

from triage.advice import Beside
from triage.advice.policy_scale import STEPS, between, scale_step, verdicts
from triage.advice.projection import Course, course
from triage.app.assess import PreparedMoves, advise, beside_for, prepare_moves
from triage.app.environment import today as clock
from triage.app.gather import gather
from triage.app.policies import policy_named
from triage.app.read import Engine, corrections_stamp, engine, item_called, settle_item
from triage.domain.advice import Candidate, Verdict
from triage.domain.answer import Advice, Inputs, UnitAdvice
from triage.domain.kinds import Kind
from triage.domain.kit import Kit
from triage.domain.policy import Policy
from triage.errors import TriageError
from triage.kit import as_used_with
from triage.web.documents import Document, Documents

BETWEEN = "between"
_ANSWERS = 128  # kept, each some hundred kilobytes at most
_FORESEEN = 500  # items; beyond that the steps would keep the machine busy for long
_BREATH = 0.02  # seconds left to what the user asks for meanwhile
Found = TypeVar("Found")


class PageChoice(NamedTuple):
    """What the address says: a preset, 'own' or 'between' at a step; one unit, '' for all."""

    policy: str = ""
    step: int = 0
    unit: str = ""


class PageAnswer(NamedTuple):
    """The advice for a document with all that went into it."""

    document: Document
    advice: Advice
    inputs: Inputs


class Desk:
    """The session: its documents, and answers already worked out.

    One that `foresees` works out every step of the slider in the background once a document is
    looked at, so that moving it shows what is ready.
    """

    def __init__(self, today: Callable[[], dt.date] = clock, *, foresees: bool = False) -> None:
        self.today, self._foresees = today, foresees
        self.documents = Documents(lambda: self.engine, corrections_stamp)
        self._answers = ResultCache(_ANSWERS)
        self._foreseen: set[Hashable] = set()

    @cached_property
    def engine(self) -> Engine:
        """The model and the recogniser, loaded once."""
        return engine()

    def settle(self, key: str, ref: str, kinds: frozenset[Kind]) -> None:
        """Record the kinds of an item as the operator states them."""
        judged = self.documents.get(key).judged
        settle_item(judged, item_called(judged, ref), kinds, self.engine)

    def answer(self, key: str, choice: PageChoice) -> PageAnswer:
        """The advice for a document under a policy."""
        document = self.documents.get(key)
        wanted = document.wanted._replace(
            policy=policy_of(choice), unit=choice.unit, day=document.wanted.day or self.today()
        )
        inputs = gather(document.judged.notes, document.data, wanted)
        prepared = self.prepared(document, inputs.kit, choice.unit)
        advice = self._answers.get(
            ("answer", *_basis(document, inputs), inputs.policy, repr(inputs.recorded)),
            lambda: advise(document.judged, inputs, prepared),
        )
        return PageAnswer(document, advice, inputs)

    def warm(self) -> None:
        """Load the model before it is asked for; a fault in it is told when it is."""
        with suppress(TriageError):
            _ = self.engine

    def prepared(self, document: Document, kit: Kit, unit: str) -> PreparedMoves:
        """What no policy changes."""
        basis = ("prepared", document.key, document.stamp, kit, unit)
        return self._answers.get(basis, lambda: prepare_moves(document.judged, kit, unit))

    def moves(self, answer: PageAnswer, unit: UnitAdvice) -> tuple[Candidate, ...]:
        """The moves open to a unit."""
        ready = self.prepared(answer.document, answer.inputs.kit, answer.inputs.unit)
        return ready.moves[ready.scope.units.index(unit.scope)]

    def foresee(self, answer: PageAnswer) -> None:
        """Begin to work out what the slider may be moved to."""
        basis = _basis(answer.document, answer.inputs)
        few = len(answer.document.judged.items) <= _FORESEEN
        if not self._foresees or not few or basis in self._foreseen:
            return
        self._foreseen.add(basis)
        here = scale_step(answer.inputs.policy) or 0
        steps = sorted(range(STEPS + 1), key=lambda step: abs(step - here))

        def work() -> None:
            with suppress(TriageError):  # it is told when it is asked for
                for step in steps:
                    time.sleep(_BREATH)
                    self.answer(answer.document.key, PageChoice(BETWEEN, step, answer.inputs.unit))

        Thread(target=work, daemon=True).start()

    def verdicts(self, answer: PageAnswer, unit: UnitAdvice) -> tuple[Verdict, ...]:
        """The advice for a unit at every step of strictness."""
        judged, scope = answer.advice.judged, answer.advice.scope
        return self._answers.get(
            ("verdicts", *_basis(answer.document, answer.inputs), unit.scope.labels),
            lambda: verdicts(
                judged,
                as_used_with(scope.kit, unit.scope.unit.label),
                self.moves(answer, unit),
                answer.inputs.evidence,
                today=answer.inputs.day,
                beside=self.beside(answer, unit),
            ),
        )

    def course(self, answer: PageAnswer, unit: UnitAdvice) -> Course | None:
        """How the advice for a unit runs over the days, None when there is nothing to move to."""
        judged, scope, advice = answer.advice.judged, answer.advice.scope, unit.assessment
        if advice.subject is None:
            return None
        chosen = next(move for move in self.moves(answer, unit) if move.release == advice.subject)
        return course(
            judged,
            as_used_with(scope.kit, unit.scope.unit.label),
            chosen,
            answer.inputs.policy,
            answer.inputs.evidence,
            today=answer.inputs.day,
            until=advice.until,
            beside=self.beside(answer, unit),
        )

    def beside(self, answer: PageAnswer, unit: UnitAdvice) -> Beside:
        """What the advice for a unit takes besides notes, kit, moves and policy."""
        inputs = answer.inputs
        return beside_for(
            inputs, self.prepared(answer.document, inputs.kit, inputs.unit), unit.scope
        )


class ResultCache:
    """The last results by what they were worked out from."""

    def __init__(self, most: int) -> None:
        self._most, self._held, self._lock = most, OrderedDict[Hashable, Any](), Lock()

    def get(self, key: Hashable, work: Callable[[], Found]) -> Found:
        """The result kept for the key, else that of `work`."""
        with self._lock:
            if key in self._held:
                self._held.move_to_end(key)
                found: Found = self._held[key]
                return found
        made = work()
        with self._lock:
            self._held[key] = made
            while len(self._held) > self._most:
                self._held.popitem(last=False)
        return made


def _basis(document: Document, inputs: Inputs) -> tuple[Hashable, ...]:
    """What an answer hangs on besides policy and recorded settings."""
    asked = (inputs.kit, inputs.evidence, inputs.day, inputs.unit, inputs.first_seen)
    return (document.key, document.stamp, *asked)


def policy_of(choice: PageChoice) -> Policy:
    """The policy chosen; without a choice the operator's own, else the default preset."""
    if choice.policy == BETWEEN:
        return between(max(0, min(STEPS, choice.step)))
    return policy_named(choice.policy)


def step_shown(choice: PageChoice) -> int:
    """Where the slider stands: the step chosen, else that of the policy, else the middle."""
    if choice.policy == BETWEEN:
        return max(0, min(STEPS, choice.step))
    found = scale_step(policy_of(choice))
    return STEPS // 2 if found is None else found
