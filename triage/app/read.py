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
    from triage.domain.corrections import ReadingCorrection
    from triage.domain.notes import Instruction, KnownIssue, Notes, Notice, Role
    from triage.reading.models import ReadingModels
    from triage.reading.tools import Tools


class Engine(NamedTuple):
    """What reads and judges; built once a process, as it takes the better part of a second."""

    recogniser: Recogniser
    classifier: Classifier
    reading: ReadingModels

    @property
    def tools(self) -> Tools:
        """What the reader asks."""
        from triage.reading.tools import Tools

        return Tools(
            self.recogniser, self.classifier.encoder, self.classifier.targets, self.reading
        )


def engine() -> Engine:
    """The recogniser, and the operator's own model where one was trained, else the shipped one."""
    from triage.classify import open_model, shipped
    from triage.classify.model_file import NAME
    from triage.classify.recogniser import Recogniser
    from triage.reading.models import shipped as reading_models
    from triage.storage.user_folder import user_file

    own = user_file(NAME)
    classifier = open_model(own) if own.exists() else shipped()
    return Engine(Recogniser(), classifier, reading_models())


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
    from triage.reading.corrections import corrected, kept_for
    from triage.reading.reader import read

    notes = read(data, name, engine.tools, format=format)
    notes = corrected(notes, kept_for(notes.source.sha256))
    begun(sum(len(release.items) for release in notes.releases))
    known = settled_in() if settled is None else settled
    return judge(notes, engine.recogniser, engine.classifier, known)


def keep_reading_correction(correction: ReadingCorrection) -> None:
    """Keep the operator's word on how a document is read; in effect at once."""
    from triage.reading.corrections import keep

    keep(correction)


def correctable() -> tuple[Role, ...]:
    """What a statement can be corrected to."""
    from triage.reading.corrections import CORRECTABLE

    return CORRECTABLE


def statement_at(notes: Notes, line: int) -> str:
    """The statement that begins on a line of the source, '' when none does."""
    for release in notes.releases:
        for item in release.items:
            if any(place.line == line for place in item.places):
                return item.text
        said: tuple[Instruction | KnownIssue | Notice, ...] = (
            *release.instructions,
            *release.known_issues,
            *release.notices,
        )
        for one in said:
            if one.place.line == line:
                return one.text
    return next((a.text for a in notes.aside if a.place.line == line), "")


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


def source_text(data: bytes, name: str) -> str:
    """The decoded source, in which the items' places count."""
    from triage.reading.formats import document_blocks

    return document_blocks(data, name).text


def corrections_stamp() -> object:
    """Something that changes when a correction is made, here or in another process."""
    from triage.classify.corrections import NAME
    from triage.reading.corrections import NAME as READINGS
    from triage.storage.user_folder import stamp_of, user_file

    return stamp_of(user_file(NAME)), stamp_of(user_file(READINGS))
