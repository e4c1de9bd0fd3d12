"""What the pages of a document show, ready to be put into a template."""

from __future__ import annotations

from typing import NamedTuple
from urllib.parse import urlencode

from triage.advice import presets
from triage.advice.policy_scale import STEPS, scale_step
from triage.app.policies import OWN, own_policy
from triage.domain.advice import Assessment, Verdict
from triage.render import advice_plots
from triage.render.items import release_title
from triage.render.note import note, verdict_words
from triage.render.outline import Section
from triage.web.desk import BETWEEN, Desk, PageAnswer, PageChoice, step_shown
from triage.web.documents import Document
from triage.web.forms import PASTE

_EVEN = 0.5  # below it a picture of how often the advice stays would mislead
_ITEMS = "Items by kind"  # these have a page of their own


class Link(NamedTuple):
    """A link, and whether it is where one stands."""

    href: str
    words: str
    here: bool


class Option(NamedTuple):
    """A choice in a form."""

    value: str
    words: str


class Plot(NamedTuple):
    """An SVG and the same in words."""

    svg: str
    words: str


class UnitView(NamedTuple):
    """One group of like units: the note, pictures, and what may be done about it."""

    labels: str
    name: str
    verdict: str
    kind: str
    sections: tuple[Section, ...]
    pictures: tuple[Plot, ...]
    decidable: bool
    label: str


class DocumentView(NamedTuple):
    """What the answer page shows."""

    key: str
    base: str
    name: str
    unit: str
    only: tuple[Link, ...]
    demo: bool
    policy: str
    query: str
    presets: tuple[Link, ...]
    step: int
    steps: int
    said: str
    units: tuple[UnitView, ...]
    remarks: tuple[str, ...]
    releases: tuple[Option, ...]


def query_of(choice: PageChoice) -> str:
    """The choice as the address says it, '' for none."""
    pairs = {"policy": choice.policy} if choice.policy else {}
    if choice.policy == BETWEEN:
        pairs["step"] = str(choice.step)
    if choice.unit:
        pairs["unit"] = choice.unit
    return "?" + urlencode(pairs) if pairs else ""


def document_view(desk: Desk, answer: PageAnswer, choice: PageChoice) -> DocumentView:
    """The whole answer."""
    document, advice = answer.document, answer.advice
    base = f"/notes/{document.key}"
    named = [*presets(), *([OWN] if own_policy() else [])]
    links = tuple(
        Link(
            href=base + query_of(choice._replace(policy=name)),
            words="your own" if name == OWN else name,
            here=_is_chosen(name, choice, answer.inputs.policy.name),
        )
        for name in named
    )
    labels = (
        ["", *(unit.label for unit in answer.inputs.kit.units)]
        if len(answer.inputs.kit.units) > 1
        else []
    )
    only = tuple(
        Link(base + query_of(choice._replace(unit=label)), label or "all", label == choice.unit)
        for label in labels
    )
    units = tuple(unit_view(desk, answer, at) for at in range(len(advice.units)))
    remarks = [*advice.judged.notes.remarks, *advice.scope.remarks]
    remarks += [r for u in advice.units for r in u.scope.remarks]
    remarks += [
        f"{release_title(advice.judged.notes.releases[u.release])}: {u.reason}"
        for u in advice.scope.elsewhere
    ]
    return DocumentView(
        key=document.key,
        base=base,
        name=title_of(document),
        unit=choice.unit,
        only=only,
        demo=document.wanted.kit is not None,
        policy=answer.inputs.policy.name,
        query=query_of(choice),
        presets=links,
        step=step_shown(choice),
        steps=STEPS,
        said=" ".join(f"{u.labels}: {u.verdict}." for u in units) or "Nothing to decide.",
        units=units,
        remarks=tuple(dict.fromkeys(remarks)),
        releases=tuple(
            Option(str(n), release_title(r))
            for n, r in enumerate(document.judged.notes.releases[:200])
            if r.version
        ),
    )


def title_of(document: Document) -> str:
    """What to call a document: its file, or the newest release of what was pasted."""
    releases = document.judged.notes.releases
    if document.name != PASTE or not releases:
        return document.name
    return f"{release_title(releases[0])} (pasted)"


def _is_chosen(name: str, choice: PageChoice, policy: str) -> bool:
    if choice.policy:
        return name == choice.policy or (choice.policy == BETWEEN and name == policy)
    return name == (OWN if own_policy() else policy)


def unit_view(desk: Desk, answer: PageAnswer, at: int) -> UnitView:
    """One unit's note and pictures."""
    unit = answer.advice.units[at]
    advice = unit.assessment
    sections = note(answer.advice.judged, unit.scope, unit.plan, advice, brief=False)
    shown = tuple(
        section.model_copy(update={"level": min(section.level + 1, 3)})
        for section in sections
        if section.level < 3 and section.title != _ITEMS
    )
    return UnitView(
        labels=", ".join(unit.scope.labels),
        name=unit.scope.unit.name or unit.scope.unit.component,
        verdict=verdict_words(advice).lower(),
        kind="update" if advice.verdict is Verdict.UPDATE else "wait",
        sections=shown,
        pictures=_pictures(desk, answer, at, advice),
        decidable=advice.subject is not None,
        label=unit.scope.labels[0],
    )


def _pictures(desk: Desk, answer: PageAnswer, at: int, advice: Assessment) -> tuple[Plot, ...]:
    unit = answer.advice.units[at]
    course = desk.course(answer, unit)
    if course is None:
        return ()
    found, here = desk.verdicts(answer, unit), scale_step(answer.inputs.policy)
    strict = advice_plots.strictness(found, here, tuple(presets()))
    sure = advice.certainty.draws and advice.certainty.share >= _EVEN
    drawn = (
        strict,
        advice_plots.two_sides(advice.moving, advice.staying),
        *([advice_plots.sureness(advice.certainty, advice.verdict)] if sure else []),
        advice_plots.reports(course),
        advice_plots.risk_ahead(course),
    )
    return tuple(Plot(figure.svg, figure.text) for figure in drawn)
