"""Fits the models that tell whose version, which day and which value a number is."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator

from triage.reading.candidates import (
    Candidate,
    FactModels,
    Surround,
    days_in,
    features,
    values_in,
    versions_in,
)
from triage.training.documents import Span, StatedRelease
from triage.training.examples import ROLE_OF, Labelled
from triage.training.linear_fit import fit_linear

Row = tuple[list[str], str]


def fit_facts(
    documents: Iterable[Labelled], statements: Iterable[tuple[Span, str, str]]
) -> FactModels:
    """All three models; `statements` are single ones: mark, text, heading."""
    versions: list[Row] = []
    days: list[Row] = []
    values: list[Row] = []
    for document in documents:
        for text, around, span, release, others in _whole(document):
            versions += _versions(text, around, span, release, others)
            days += _days(text, around, span, release)
            values += _values(text, around, span)
    for span, text, heading in statements:
        around = Surround(ROLE_OF[span.role], heading, "", 1)
        versions += _versions(text, around, span, None, ())
        days += _days(text, around, span, None)
        values += _values(text, around, span)
    return FactModels(
        *(
            fit_linear([row for row, _ in rows], [label for _, label in rows], size=1 << 14)
            for rows in (versions, days, values)
        )
    )


def _whole(
    found: Labelled,
) -> Iterator[tuple[str, Surround, Span | None, StatedRelease | None, tuple[StatedRelease, ...]]]:
    """Each statement of a document, its atoms put together."""
    releases = {release.number: release for release in found.document.releases}
    seen: Counter[str] = Counter()
    number = 0
    while number < len(found.atoms):
        at = found.spans[number]
        end = number + 1
        while at >= 0 and end < len(found.atoms) and found.spans[end] == at:
            end += 1
        span = found.document.spans[at] if at >= 0 else None
        role = ROLE_OF[span.role] if span else "boilerplate"
        text = " ".join(atom.text for atom in found.atoms[number:end])
        atom, context = found.atoms[number], found.contexts[number]
        around = Surround(role, context.heading, atom.label, min(9, seen[role]))
        seen[role] += 1
        release = releases.get(span.release) if span else None
        yield text, around, span, release, found.document.releases
        number = end


def same_version(a: str, b: str) -> bool:
    """Whether two versions are the same but for marks and a leading v."""
    return bool(a) and _bare(a) == _bare(b)


def _bare(version: str) -> str:
    return re.sub(
        r"[^a-z0-9]+", ".", re.sub(r"^(?:version|v|release)\s*(?=\d)", "", version.lower())
    ).strip(".")


def _versions(
    text: str,
    around: Surround,
    span: Span | None,
    release: StatedRelease | None,
    others: tuple[StatedRelease, ...],
) -> Iterator[Row]:
    found = versions_in(text, loose=around.role == "version" or bool(around.label))
    asked = [f[2] for f in span.fields("q") if len(f) > 2] if span else []
    only = (
        [v for f in span.fields("only") for v in re.split(r"[,\s]+", " ".join(f))] if span else []
    )
    for number, candidate in enumerate(found):
        label = "none"
        if any(same_version(candidate.words, version) for version in asked):
            label = "required"
        elif any(same_version(candidate.words, version) for version in only):
            label = "affected"
        elif around.role == "version" and release:
            units = [version for _, _, version in release.units]
            if same_version(candidate.words, release.version):
                label = "release"
            elif any(same_version(candidate.words, version) for version in units):
                label = "unit"
            elif any(same_version(candidate.words, other.version) for other in others):
                label = "release"
        elif any(same_version(candidate.words, other.version) for other in others):
            label = "named"
        yield features(text, found, number, around), label


def _days(
    text: str, around: Surround, span: Span | None, release: StatedRelease | None
) -> Iterator[Row]:
    found = days_in(text)
    for number, candidate in enumerate(found):
        day = candidate.day
        stated = {str(d) for d in (day.day, day.or_else) if d} if day else set()
        label = "other"
        if (
            release
            and release.date in stated
            and around.role in ("version", "remark", "availability", "boilerplate")
        ):
            label = "release"
        elif span and span.role == "a" and "deadline" in span.words:
            label = "deadline"
        elif span and span.role == "v" and release is None:
            label = "release"
        yield features(text, found, number, around), label


def _values(text: str, around: Surround, span: Span | None) -> Iterator[Row]:
    effects = list(span.fields("e")) if span else []
    if not effects:
        return
    found = values_in(text)
    olds = {_words(fields[2]) for fields in effects if len(fields) > 2} - {""}
    news = {_words(fields[3]) for fields in effects if len(fields) > 3} - {""}
    for number, candidate in enumerate(found):
        label = value_label(candidate, olds, news)
        yield [*features(text, found, number, around), *(f"e={f[0]}" for f in effects)], label


def value_label(candidate: Candidate, olds: set[str], news: set[str]) -> str:
    """from, to or none by what the mark names."""
    words = _words(candidate.words)
    if words in news:
        return "to"
    return "from" if words in olds else "none"


def _words(text: str) -> str:
    return re.sub(r"[^a-z0-9]+", " ", text.lower()).strip()
