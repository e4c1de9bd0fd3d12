"""The facts of a statement: requirements, effects on settings, words about a release, versions.

What a number is of is told by the linear models, what a statement does by the encoder's heads;
the numbers themselves are found by form.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

from triage.domain.finds import Find
from triage.domain.notes import Comparison, EffectKind, InstructionKind, NoticeKind, Role
from triage.reading.candidates import (
    Candidate,
    FactModels,
    Surround,
    days_in,
    told,
    values_in,
    versions_in,
)

Chances = Mapping[str, float]
_KIND = {
    "order": InstructionKind.UPDATE_FIRST,
    "backup-settings": InstructionKind.BACK_UP,
}
# 'was'/'now' pairs whose order is fixed by their words; the models tell the rest.
_NAMED = re.compile(
    r"(?:renamed (?:from )?)?[\"'“]?(?P<old>[\w/ +.-]{2,40}?)[\"'”]?\s?(?:,|has been|is|was|are)?"
    r"\s?"
    r"(?:now called|is called|renamed(?: to| as)?|→|->|⇒|=>|becomes|became)\s*[\"'“]?"
    r"(?P<new>[\w/ +.-]{2,40}?)[\"'”]?(?=$|[.,;()]| \(| from | now| in )",
    re.I,
)
_SUBJECT = re.compile(
    r"(?:(?:needs?|requires?|works with|together with|only with|the|your|a|an|and|all|both)\s){0,3}"
    r"(?P<name>[A-Z][\w-]*(?:\s[A-Z0-9][\w-]*){0,2})\b",
)
_NO_NAMES = frozenset(
    (
        "firmware",
        "software",
        "version",
        "requires",
        "needs",
        "requirements",
        "minimum",
        "from",
        "not",
        "only",
        "works",
        "this",
        "it",
        "users",
        "release",
        "update",
        "with",
        "for",
        "if",
        "on",
        "use",
    )
)


class Need(NamedTuple):
    """A requirement before its unit is settled."""

    component: str
    name: str
    comparison: Comparison
    version: str


class Change(NamedTuple):
    """An effect before its setting is looked up."""

    change: EffectKind
    setting: str
    before: str
    after: str
    kept: bool


class Facts(NamedTuple):
    """What the models tell of a statement's numbers: each version, day and value with its part."""

    versions: tuple[tuple[Candidate, str, float], ...]
    days: tuple[tuple[Candidate, str, float], ...]

    def of(self, part: str) -> list[str]:
        """The versions that are such a part, in order."""
        return [candidate.words for candidate, own, _ in self.versions if own == part]


def numbers(text: str, around: Surround, models: FactModels) -> Facts:
    """Versions and days of a statement, each with what it is of."""
    loose = around.role == Role.VERSION or bool(around.label)
    versions = told(text, versions_in(text, loose=loose), around, models.versions)
    days = told(text, days_in(text), around, models.days)
    kept = []
    for version in versions:
        one, part, chance = version
        rival = next((d for d in days if d[0].start < one.end and one.start < d[0].end), None)
        if rival is not None:
            as_day = rival[2] if rival[1] in ("release", "deadline") else 0.0
            as_version = chance if part != "none" else 0.0
            if as_day > as_version:
                continue
            days = [d for d in days if d is not rival]
        kept.append(version)
    return Facts(tuple(kept), tuple(days))


def requirements(
    text: str,
    facts: Facts,
    relations: Chances,
    *,
    mentions: Sequence[Find],
    named: Callable[[str], tuple[str, str]],
    own: str,
    least: float,
) -> list[Need]:
    """What a statement asks of other units.

    `relations` are the chances of the relations, `mentions` the components its words name, `named`
    tells the component and name of a unit known from the document, `own` is the component the
    release is for.
    """
    likely = [(chance, name) for name, chance in relations.items() if chance >= least]
    if not likely:
        return []
    _, best = max(likely)
    comparison = Comparison(best)
    wanted = [v for v in facts.versions if v[1] == "required"]
    if not wanted and comparison in (Comparison.AT_LEAST, Comparison.EXACTLY, Comparison.BELOW):
        wanted = [v for v in facts.versions if v[1] in ("named", "none") and _dotted(v[0])][:1]
    found = []
    for candidate, _, _ in wanted:
        component, name = _nearest(text, candidate, mentions, named, own)
        found.append(Need(component, name, comparison, candidate.words))
    if not found and comparison in (
        Comparison.SAME,
        Comparison.WITH,
        Comparison.FIRST,
        Comparison.NOT_WITH,
    ):
        others = [m for m in mentions if m.start >= 0 and m.id != own] or list(mentions)[:1]
        for mention in others[:2]:
            found.append(Need(mention.id, mention.words, comparison, ""))
    return list(dict.fromkeys(found))


def _dotted(candidate: Candidate) -> bool:
    return "." in candidate.words.strip(".")


def _nearest(
    text: str,
    candidate: Candidate,
    mentions: Sequence[Find],
    named: Callable[[str], tuple[str, str]],
    own: str,
) -> tuple[str, str]:
    """The unit a version is asked of: the mention next before it, else behind it, else a name."""
    behind = [m for m in mentions if m.start >= 0 and m.start >= candidate.end]
    before = [m for m in mentions if m.start >= 0 and m.end <= candidate.start + 1]
    clause = re.split(r"[;.]\s", text[: candidate.start])[-1]
    edge = candidate.start - len(clause)
    close = [m for m in before if m.start >= edge] or before
    subject = _subject_of(clause)
    if close:
        name = subject if close[-1].words.lower() in subject.lower() else close[-1].words
        return close[-1].id, name
    component, name = named(clause)
    if component:
        return component, name
    if subject:
        return "", subject
    if behind and behind[0].start - candidate.end < 40:
        return behind[0].id, behind[0].words
    placeless = [m for m in mentions if m.start < 0]
    if placeless:
        return placeless[0].id, ""
    return "", ""


def _subject_of(clause: str) -> str:
    """The name of what a version is asked of, out of the words before it; '' for none."""
    found = _SUBJECT.match(clause.strip(" -*•(\"'"))
    words = found["name"].strip() if found else ""
    return "" if words.lower() in _NO_NAMES else words


def effects(
    text: str, around: Surround, chances: Chances, models: FactModels, *, least: float
) -> list[Change]:
    """What a statement does to settings; `chances` of the sorts of effect and of 'kept'."""
    kinds = [kind for kind in EffectKind if chances.get(kind.value, 0.0) >= least]
    if not kinds:
        return []
    kept = chances.get("kept", 0.0) >= 0.5
    values = told(text, values_in(text), around, models.values)
    old = max((v for v in values if v[1] == "from"), key=lambda v: v[2], default=None)
    new = max((v for v in values if v[1] == "to"), key=lambda v: v[2], default=None)
    found = []
    for kind in kinds:
        before, after = old[0].words if old else "", new[0].words if new else ""
        if kind is EffectKind.REMOVED:
            before, after = "", ""
        setting = _subject(text, [v[0] for v in (old, new) if v])
        if kind is EffectKind.RENAMED and (pair := _NAMED.search(text)):
            before, after = pair["old"].strip(), pair["new"].strip()
            setting = before
        found.append(Change(kind, setting, before, after, kept))
    return found


def _subject(text: str, values: Sequence[Candidate]) -> str:
    """The words that name the setting: those before the verb, or before the first value."""
    head = re.split(
        r"\s(?:is|are|was|were|has|have|now|can|may|will|goes|starts|defaults?|set|raised|lowered"
        r"|reduced|increased|changed|limited|reset|removed|added|renamed)\b|[:(→]",
        text,
        maxsplit=1,
    )[0]
    if values and len(head) > values[0].start > 3:
        head = text[: values[0].start]
    return head.strip(" -–—:,'\"")[:60]


def instruction_kind(chances: Chances) -> InstructionKind:
    """The sort of an instruction, the likeliest."""
    best = max(chances, key=lambda name: chances[name])
    return _KIND.get(best) or InstructionKind(best)


def notice_kind(chances: Chances, role: Role, text: str) -> tuple[NoticeKind, float]:
    """The sort of a word about a release among those that its role admits, and its chance."""
    against = role is Role.NOTICE
    own = {k: c for k, c in chances.items() if NoticeKind(k).against == against}
    total = sum(own.values()) or 1.0
    best = max(own, key=lambda name: own[name])
    return NoticeKind(best), own[best] / total
