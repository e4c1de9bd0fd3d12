"""Use case: read a document and judge its items."""

from __future__ import annotations

from collections.abc import Callable, Collection
from typing import TYPE_CHECKING, NamedTuple

from triage.domain.judged import JudgedItem, JudgedNotes
from triage.domain.kinds import Kind
from triage.domain.notes import SourceFormat
from triage.errors import SourceError

if TYPE_CHECKING:
    from triage.classify import Classifier
    from triage.classify.explain import Moved
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


def item_called(judged: JudgedNotes, ref: str) -> JudgedItem:
    """The item of a number; SourceError when there is none."""
    found = next((item for item in judged.items if item.item.ref == ref.strip().lstrip("#")), None)
    if found is None:
        last = judged.items[-1].item.ref if judged.items else "none"
        raise SourceError(f"no item '{ref[:20]}'", mend=f"items run from 1 to {last}")
    return found


def settle_item(
    judged: JudgedNotes, item: JudgedItem, kinds: Collection[Kind], engine: Engine
) -> None:
    """Record the kinds of an item as the operator states them; in effect at once."""
    from triage.classify import corrections
    from triage.classify.judge import unit_of

    unit = unit_of(judged.notes.releases[item.release], engine.recogniser)
    heading = corrections.heading_of(item.item)
    corrections.keep_correction(item.item.text, heading, tuple(kinds), unit=unit)


def explain_item(
    judged: JudgedNotes, item: JudgedItem, engine: Engine
) -> dict[Kind, tuple[Moved, ...]]:
    """Which words moved each kind of an item."""
    from triage.classify.explain import explain
    from triage.classify.judge import unit_of

    unit = unit_of(judged.notes.releases[item.release], engine.recogniser)
    words = item.item
    return explain(engine.classifier, engine.recogniser.read, words.text, words.heading, unit)


def is_pdf(data: bytes) -> bool:
    """Whether a document is a PDF, of which only the text is read."""
    from triage.notes import source

    return source.is_pdf(data)


def source_text(data: bytes, name: str) -> str:
    """The decoded source, in which the items' places count."""
    from triage.notes import source

    if is_pdf(data):
        from triage.notes.pdf_reader import extract

        return extract(data, name)
    return source.decode(data, name).text


def count_items(data: bytes, name: str) -> int:
    """How many items a document holds, without judging them."""
    from triage.notes import read

    return sum(len(release.items) for release in read(data, name).releases)


def corrections_stamp() -> object:
    """Something that changes when a correction is made, here or in another process."""
    from triage.classify.corrections import NAME
    from triage.storage.user_folder import stamp_of, user_file

    return stamp_of(user_file(NAME))
