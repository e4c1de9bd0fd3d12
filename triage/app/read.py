"""Use case: read a document and judge its items."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple

from triage.domain.judged import JudgedNotes
from triage.domain.notes import SourceFormat

if TYPE_CHECKING:
    from triage.classify import Classifier
    from triage.classify.judge import Settled
    from triage.classify.recogniser import Recogniser


class Engine(NamedTuple):
    """What reads and judges; built once a process, as it takes the better part of a second."""

    recogniser: Recogniser
    classifier: Classifier


def engine() -> Engine:
    """The recogniser, and the operator's own model where one was trained, else the shipped one."""
    from triage.classify import open_model, shipped
    from triage.classify.model_file import NAME
    from triage.classify.recogniser import Recogniser
    from triage.storage.user_folder import user_file

    own = user_file(NAME)
    return Engine(Recogniser(), open_model(own) if own.exists() else shipped())


def read_and_judge(
    data: bytes,
    name: str,
    engine: Engine,
    *,
    format: SourceFormat | None = None,
    settled: Settled | None = None,
    begun: Callable[[int], None] = lambda items: None,
) -> JudgedNotes:
    """Split and classify one document; SourceError when it cannot be read.

    `settled` stands in for the operator's own corrections. `begun` is told how many items there
    are to judge, which is what takes the time.
    """
    from triage.classify import judge
    from triage.classify.corrections import settled_in
    from triage.notes import read

    notes = read(data, name, format=format)
    begun(sum(len(release.items) for release in notes.releases))
    known = settled_in() if settled is None else settled
    return judge(notes, engine.recogniser, engine.classifier, known)


def corrections_stamp() -> object:
    """Something that changes when a correction is made, here or in another process."""
    from triage.classify.corrections import NAME
    from triage.storage.user_folder import stamp_of, user_file

    return stamp_of(user_file(NAME))
