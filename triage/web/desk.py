"""What every page works with: the session's documents, and the plain calls on the user's files."""

from __future__ import annotations

import datetime as dt
import time
from collections import OrderedDict
from collections.abc import Callable, Hashable
from contextlib import suppress
from functools import cached_property
from pathlib import Path
from threading import Lock, Thread
from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

from triage.advice import DEFAULT, presets, read_policy
from triage.advice.course import Course, course
from triage.advice.strictness import STEPS, between, step_of, verdicts
from triage.app.pipeline import Advice, Engine, Prepared, UnitAdvice, advise, engine, prepare
from triage.classify.corrections import NAME as CORRECTIONS
from triage.classify.corrections import heading_of, settle, settled_in
from triage.classify.judge import unit_of
from triage.domain.advice import Candidate, Evidence, Verdict
from triage.domain.kinds import Kind
from triage.domain.kit import Kit
from triage.domain.policy import Policy
from triage.domain.reports import LookGroup
from triage.errors import ConfigError, SourceError, TriageError
from triage.reports import evidence_for, grouped, read
from triage.reports.report_store import path_of
from triage.settings.snapshots import last_recorded
from triage.storage.atomic_write import read_text
from triage.storage.user_folder import user_file
from triage.web.documents import Document, Documents, kit_of

if TYPE_CHECKING:
    from triage.journal.record_decision import Inputs

OWN = "own"
BETWEEN = "between"
_ANSWERS = 128  # kept, each some hundred kilobytes at most
_FORESEEN = 500  # items; beyond that the steps would keep the machine busy for long
_BREATH = 0.02  # seconds left to what the user asks for meanwhile
Found = TypeVar("Found")


class Choice(NamedTuple):
    """What the address says: a preset, 'own' or 'between' at a step; one unit, '' for all."""

    policy: str = ""
    step: int = 0
    unit: str = ""


class Answer(NamedTuple):
    """The advice for a document with all that went into it."""

    document: Document
    advice: Advice
    policy: Policy
    kit: Kit
    evidence: tuple[Evidence, ...]
    recorded: dict[str, dict[str, str]]
    day: dt.date
    unit: str


class Desk:
    """The session: its documents, and answers already worked out.

    One that `foresees` works out every step of the slider in the background once a document is
    looked at, so that moving it shows what is ready.
    """

    def __init__(
        self, today: Callable[[], dt.date] = dt.date.today, *, foresees: bool = False
    ) -> None:
        self.today, self._foresees = today, foresees
        self.documents = Documents(lambda: self.engine, settled_in, settled_stamp)
        self._answers = Kept(_ANSWERS)
        self._looks = Kept(2)
        self._foreseen: set[Hashable] = set()

    @cached_property
    def engine(self) -> Engine:
        """The model and the recogniser, loaded once."""
        return engine()

    def settle(self, key: str, ref: str, kinds: frozenset[Kind]) -> None:
        """Record the kinds of an item as the operator states them."""
        judged = self.documents.get(key).judged
        found = next((item for item in judged.items if item.item.ref == ref), None)
        if found is None:
            raise SourceError(f"no item '{ref[:20]}'", mend="go back to the items")
        unit = unit_of(judged.notes.releases[found.release], self.engine.recogniser)
        settle(found.item.text, heading_of(found.item), tuple(kinds), unit=unit)

    def looks(self, path: Path | None = None) -> tuple[tuple[LookGroup, ...], str]:
        """The looks in groups that say the same, and a last line that was cut short."""
        file = path_of(path)

        def load() -> tuple[tuple[LookGroup, ...], str]:
            found = read(file)
            return tuple(grouped(found.looks)), found.torn

        return self._looks.get((file, stamp_of(file)), load)

    def answer(self, key: str, choice: Choice) -> Answer:
        """The advice for a document under a policy."""
        document = self.documents.get(key)
        kit, policy = kit_of(document), policy_of(choice)
        evidence = evidence_for(document.judged.notes, self.looks(document.setting.looks)[0])[0]
        recorded = {} if document.setting.kit else recorded_of(kit)
        day = document.setting.day or self.today()
        prepared = self.prepared(document, kit, choice.unit)
        basis = (key, document.stamp, kit, evidence, day, choice.unit)
        advice = self._answers.get(
            (*basis, policy, repr(recorded)),
            lambda: advise(
                document.judged,
                kit,
                policy,
                evidence,
                today=day,
                unit=choice.unit,
                recorded=recorded,
                prepared=prepared,
            ),
        )
        return Answer(document, advice, policy, kit, evidence, recorded, day, choice.unit)

    def warm(self) -> None:
        """Load the model before it is asked for; a fault in it is told when it is."""
        with suppress(TriageError):
            _ = self.engine

    def prepared(self, document: Document, kit: Kit, unit: str) -> Prepared:
        """What no policy changes."""
        basis = ("prepared", document.key, document.stamp, kit, unit)
        return self._answers.get(basis, lambda: prepare(document.judged, kit, unit))

    def moves(self, answer: Answer, unit: UnitAdvice) -> tuple[Candidate, ...]:
        """The moves open to a unit."""
        scope, moves = self.prepared(answer.document, answer.kit, answer.unit)
        return moves[scope.units.index(unit.scope)]

    def foresee(self, answer: Answer) -> None:
        """Begin to work out what the slider may be moved to."""
        basis = _basis(answer)
        few = len(answer.document.judged.items) <= _FORESEEN
        if not self._foresees or not few or basis in self._foreseen:
            return
        self._foreseen.add(basis)
        here = step_of(answer.policy) or 0
        steps = sorted(range(STEPS + 1), key=lambda step: abs(step - here))

        def work() -> None:
            with suppress(TriageError):  # it is told when it is asked for
                for step in steps:
                    time.sleep(_BREATH)
                    self.answer(answer.document.key, Choice(BETWEEN, step, answer.unit))

        Thread(target=work, daemon=True).start()

    def verdicts(self, answer: Answer, unit: UnitAdvice) -> tuple[Verdict, ...]:
        """The advice for a unit at every step of strictness."""
        judged, scope = answer.document.judged, answer.advice.scope
        return self._answers.get(
            ("verdicts", *_basis(answer), unit.scope.labels),
            lambda: verdicts(
                judged,
                scope.kit,
                self.moves(answer, unit),
                answer.evidence,
                today=answer.day,
            ),
        )

    def course(self, answer: Answer, unit: UnitAdvice) -> Course | None:
        """How the advice for a unit runs over the days, None when there is nothing to move to."""
        judged, scope, advice = answer.document.judged, answer.advice.scope, unit.assessment
        if advice.subject is None:
            return None
        chosen = next(move for move in self.moves(answer, unit) if move.release == advice.subject)
        return course(
            judged,
            scope.kit,
            chosen,
            answer.policy,
            answer.evidence,
            today=answer.day,
            until=advice.until,
        )


class Kept:
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


def _basis(answer: Answer) -> tuple[Hashable, ...]:
    document = answer.document
    return (document.key, document.stamp, answer.kit, answer.evidence, answer.day, answer.unit)


def policy_of(choice: Choice) -> Policy:
    """The policy chosen; without a choice the operator's own, else the default preset."""
    own = own_policy()
    if choice.policy == BETWEEN:
        return between(max(0, min(STEPS, choice.step)))
    if choice.policy in presets():
        return presets()[choice.policy].policy
    if choice.policy not in ("", OWN) or (choice.policy == OWN and own is None):
        known = ", ".join(presets())
        raise ConfigError(f"no policy '{choice.policy[:40]}'", mend=f"take one of {known}")
    return own or presets()[DEFAULT].policy


def own_policy() -> Policy | None:
    """The operator's own policy, where there is a file."""
    file = user_file("policy.toml")
    return read_policy(read_text(file), str(file)) if file.exists() else None


def step_shown(choice: Choice) -> int:
    """Where the slider stands: the step chosen, else that of the policy, else the middle."""
    if choice.policy == BETWEEN:
        return max(0, min(STEPS, choice.step))
    found = step_of(policy_of(choice))
    return STEPS // 2 if found is None else found


def recorded_of(kit: Kit) -> dict[str, dict[str, str]]:
    """The settings last recorded, by unit label."""
    return {unit.label: last_recorded(unit.label) for unit in kit.units}


def inputs_of(answer: Answer) -> Inputs:
    """What the journal keeps of an answer."""
    from triage.journal.record_decision import Inputs
    from triage.reports.evidence import is_about

    releases = answer.document.judged.notes.releases
    looks = read(answer.document.setting.looks).looks
    return Inputs(
        data=answer.document.data,
        kit=answer.kit,
        policy=answer.policy,
        day=answer.day,
        evidence=answer.evidence,
        looks=tuple(look for look in looks if any(is_about(look, r) for r in releases)),
        unit=answer.unit,
        recorded=answer.recorded,
    )


def settled_stamp() -> object:
    """Something that changes when a correction is made, here or at the terminal."""
    return stamp_of(user_file(CORRECTIONS))


def stamp_of(path: Path) -> object:
    """What tells whether a file has been written since."""
    try:
        found = path.stat()
    except OSError:
        return None
    return (found.st_mtime_ns, found.st_size)
