"""Notes in, judged items out."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from triage.classify.classifier import Classifier
from triage.classify.costs import costs
from triage.classify.recogniser import Recogniser
from triage.domain.finds import Finds
from triage.domain.judged import JudgedItem, JudgedNotes, Judgement, Standing
from triage.domain.kinds import Kind
from triage.domain.notes import Item, Notes, Release

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
    chances, finds = classifier.read(readings, [units[index] for index, _ in placed])
    judged = [
        _judged(index, item, found, dict(zip(classifier.kinds, row, strict=True)), settled(item))
        for (index, item), found, row in zip(placed, finds, chances.tolist(), strict=True)
    ]
    return JudgedNotes(notes=notes, items=tuple(judged), model_sha256=classifier.sha256)


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
    return JudgedItem(item=item, release=index, judgements=tuple(judgements), finds=finds)
