"""The whole way from a document to notes: blocks, atoms, roles, facts, releases."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from triage.classify.heads import Heads
from triage.domain.notes import Aside, Notes, Role, Source, SourceFormat
from triage.errors import SourceError
from triage.reading import facts as facts_of
from triage.reading.assembly import Assembler, Draft, Named, weighs
from triage.reading.atoms import atoms_of
from triage.reading.candidates import Surround
from triage.reading.context import Context, contexts, heading_rank
from triage.reading.dates import order_of_days
from triage.reading.formats import document_blocks
from triage.reading.formats.blocks import Block
from triage.reading.freeze import Known, Numbers, frozen
from triage.reading.language import understood
from triage.reading.roles import heading_vectors, layout_features
from triage.reading.running_text import from_running_text
from triage.reading.standing import UNRELEASED
from triage.reading.statements import Statement, line_starts, place_of, statements_of
from triage.reading.tools import Read, Tools
from triage.reading.version_lines import first_component as component_in
from triage.reading.version_lines import stated_in


def read(data: bytes, name: str, tools: Tools, *, format: SourceFormat | None = None) -> Notes:
    """Read a document as release notes; SourceError when it cannot be read or says nothing."""
    document = document_blocks(data, name, format)
    found = _read(document.blocks, tools)
    if not found.statements:
        raise SourceError(
            "nothing to read was found", where=name, mend="paste the notes themselves as text"
        )
    return notes_of(found, tools, document.source, document.text, document.remarks)


def _read(blocks: Sequence[Block], tools: Tools) -> Read:
    atoms = list(atoms_of(blocks, tools.models.cutter))
    around = contexts(atoms, lambda title: component_in(title, tools.recogniser))
    vectors = tools.encoder.vectors(
        [(before(c), a.text) for a, c in zip(atoms, around, strict=True)]
    )
    told = tools.models.roles.told(
        vectors, heading_vectors(vectors, around), layout_features(atoms, around)
    )
    statements = [_settled(s, tools) for s in statements_of(atoms, around, told)]
    scores = tools.encoder.scores([(before(s.context), s.text) for s in statements])
    seen: Counter[Role] = Counter()
    facts = []
    for statement in statements:
        facts.append(
            facts_of.numbers(statement.text, surround(statement, seen), tools.models.facts)
        )
        seen[statement.role] += 1
    after = [atoms[s.last + 1] if s.last + 1 < len(atoms) else None for s in statements]
    return Read(tuple(statements), scores, tuple(facts), tuple(after))


def before(context: Context) -> str:
    """What the encoder reads before a statement."""
    return f"{context.unit} : {context.heading}"


def surround(statement: Statement, seen: Counter[Role]) -> Surround:
    """What the models of facts are told of a statement."""
    return Surround(
        statement.role,
        statement.context.heading,
        statement.atom.label,
        min(9, seen[statement.role]),
    )


_TOP, _TITLES, _TITLE = 6, 60, 160  # statements at the top; titles kept, and their characters
_LIGHT = frozenset(
    (Role.BACKGROUND, Role.REMARK, Role.BOILERPLATE, Role.USER, Role.DUPLICATE, Role.HEADING)
)
_GRAVE = (Role.NOTICE, Role.KNOWN_ISSUE, Role.REQUIREMENT, Role.AVAILABILITY, Role.INSTRUCTION)


def _settled(statement: Statement, tools: Tools) -> Statement:
    """The role, where what weighs is likely enough beside what does not."""
    thresholds = tools.models.thresholds
    if statement.role not in _LIGHT:
        return statement
    if statement.chance(Role.CHANGE) >= thresholds.change:
        return statement._replace(role=Role.CHANGE)
    for role in _GRAVE:
        if statement.chance(role) >= thresholds.spoken:
            return statement._replace(role=role)
    return statement


def notes_of(found: Read, tools: Tools, source: Source, text: str, remarks: Sequence[str]) -> Notes:
    """The statements put together as releases."""
    starts = line_starts(text)
    assembler = Assembler()
    row: list[Statement] = []
    for number, (statement, facts) in enumerate(zip(found.statements, found.facts, strict=True)):
        row = [*row, statement] if statement.atom.after == "cell" else [statement]
        aside = statement.text.startswith("(") and statement.atom.after == "sentence"
        if (statement.role is Role.VERSION and not aside) or (
            statement.role is Role.HEADING
            and (facts.of("release") or UNRELEASED.search(statement.text))
        ):
            line = place_of(statement.mapped, starts).line
            stated = stated_in(statement, facts, row, line, tools.recogniser)
            if stated or facts.days or UNRELEASED.search(statement.text):
                assembler.version_line(number, statement, facts, stated)
        elif weighs(statement):
            assembler.statement(number, statement.role)
        if statement.role is Role.HEADING:
            assembler.heading(statement, heading_rank(statement.atom, found.following[number]))
    drafts = assembler.finish()
    for draft in drafts:
        from_running_text(draft, found)
    order = order_of_days(d.date for d in drafts if d.date)
    known = Known(_names(drafts), order, starts, text, tools, Heads(tools.targets), Numbers())
    releases, said = [], list(remarks)
    for draft in drafts:
        release, words = frozen(draft, found, known)
        releases.append(release)
        said += words
    language = understood(found.statements)
    return Notes(
        source=source,
        releases=tuple(releases),
        remarks=tuple(dict.fromkeys([*said, *language.remarks])),
        aside=_aside(found, starts),
        not_understood=language.share,
        titles=tuple(
            s.text[:_TITLE]
            for number, s in enumerate(found.statements)
            if number < _TOP or s.role in (Role.VERSION, Role.HEADING)
        )[:_TITLES],
    )


def _names(drafts: Sequence[Draft]) -> dict[str, Named]:
    """The units by name that the version lines gave."""
    return {
        unit.name.lower(): Named(unit.component, unit.name)
        for draft in drafts
        for unit in draft.units
        if len(unit.name) > 2
    }


def _aside(found: Read, starts: Sequence[int]) -> tuple[Aside, ...]:
    """Everything that weighs nothing, so that nothing is lost in silence."""
    return tuple(
        Aside(
            role=s.role,
            text=s.text,
            place=place_of(s.mapped, starts),
            chance=round(s.chance(s.role), 3),
        )
        for s in found.statements
        if not weighs(s) and s.role not in (Role.VERSION, Role.HEADING)
    )
