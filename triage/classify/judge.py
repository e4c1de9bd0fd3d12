"""Notes in, judged items out."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

from triage.classify.classifier import Classifier
from triage.classify.costs import costs
from triage.classify.recogniser import Recogniser
from triage.domain.finds import Finds
from triage.domain.judged import JudgedIssue, JudgedItem, JudgedNotes, Judgement, Standing
from triage.domain.kinds import Kind
from triage.domain.notes import Item, KnownIssue, Notes, Notice, Release
from triage.domain.outcomes import OutcomeChances

Settled = Callable[[Item], frozenset[Kind] | None]
"""The kinds the operator has settled for an item, or None."""


def judge(
    notes: Notes,
    recogniser: Recogniser,
    classifier: Classifier,
    settled: Settled = lambda item: None,
) -> JudgedNotes:
    """Every item of the notes with its chances, standings and finds, in the notes' order."""
    placed = [(index, item) for index, r in enumerate(notes.releases) for item in r.items]
    units = [unit_of(release, recogniser) for release in notes.releases]
    readings = [recogniser.read(item.text, item.heading) for _, item in placed]
    said = classifier.read(readings, [units[index] for index, _ in placed])
    chances = [dict(zip(classifier.kinds, row, strict=True)) for row in said.chances.tolist()]
    judged = [
        _judged(index, item, found, outcome, row, settled(item))
        for (index, item), found, outcome, row in zip(
            placed, said.finds, said.outcomes, chances, strict=True
        )
    ]
    return JudgedNotes(
        notes=notes,
        items=tuple(judged),
        issues=tuple(_issues(notes, units, recogniser, classifier)),
        model_sha256=classifier.sha256,
    )


def _issues(
    notes: Notes, units: Sequence[str], recogniser: Recogniser, classifier: Classifier
) -> Iterator[JudgedIssue]:
    """Known issues, and words against a release, with what can happen by them."""
    stated: list[tuple[int, KnownIssue | Notice]] = []
    for index, release in enumerate(notes.releases):
        stated += [(index, issue) for issue in release.known_issues]
        stated += [(index, notice) for notice in release.notices if notice.kind.against]
    readings = [
        recogniser.read(one.text, one.heading if isinstance(one, KnownIssue) else ())
        for _, one in stated
    ]
    outcomes = classifier.harm(readings, [units[index] for index, _ in stated])
    for (index, one), reading, outcome in zip(stated, readings, outcomes, strict=True):
        yield JudgedIssue(issue=one, release=index, finds=reading.finds, outcome=outcome)


def unit_of(release: Release, recogniser: Recogniser) -> str:
    """The component a release is for: as the reader says, else the first its title names."""
    if release.component:
        return release.component
    return unit_in(f"{release.unit} {release.title}", recogniser)


def unit_in(title: str, recogniser: Recogniser) -> str:
    """The first component a title names, '' when none."""
    components = recogniser.read(title).finds.components
    return components[0].id if components else ""


def _judged(
    index: int,
    item: Item,
    finds: Finds,
    outcome: OutcomeChances,
    chances: Mapping[Kind, float],
    settled: frozenset[Kind] | None,
) -> JudgedItem:
    judgements = []
    for kind in Kind:
        if settled is None:
            chance, standing = chances[kind], costs()[kind].standing(chances[kind])
        else:
            chance = float(kind in settled)
            standing = Standing.YES if kind in settled else Standing.NO
        judgements.append(
            Judgement(kind=kind, chance=chance, standing=standing, settled=settled is not None)
        )
    return JudgedItem(
        item=item, release=index, judgements=tuple(judgements), finds=finds, outcome=outcome
    )
