"""Notes built by hand, as a reader would leave them; makers, units and changes are invented."""

from __future__ import annotations

from collections.abc import Sequence

from triage.domain.finds import Find, Finds
from triage.domain.judged import JudgedItem, JudgedNotes, Judgement, Standing
from triage.domain.kinds import Kind
from triage.domain.notes import (
    Effect,
    EffectKind,
    Instruction,
    InstructionKind,
    Item,
    Notes,
    Place,
    Release,
    Source,
    SourceFormat,
    Status,
)
from triage.settings.setting_names import setting_in


def place(line: int) -> Place:
    return Place(start=0, end=1, line=line, end_line=line)


def effect(
    change: str,
    setting: str,
    before: str = "",
    after: str = "",
    *,
    kept: bool = False,
    line: int = 1,
    setting_id: str | None = None,
) -> Effect:
    id = setting_in(setting) if setting_id is None else setting_id
    return Effect(
        change=EffectKind(change),
        setting=setting,
        setting_id=id,
        before=before,
        after=after,
        kept=kept,
        place=place(line),
    )


def item(
    text: str,
    effects: Sequence[Effect] = (),
    *,
    release: int = 0,
    line: int = 1,
    settings: Sequence[str] = (),
    kinds: Sequence[Kind] = (),
) -> JudgedItem:
    ref = str(100 * release + line)
    judgements = tuple(
        Judgement(
            kind=k, chance=float(k in kinds), standing=Standing("yes" if k in kinds else "no")
        )
        for k in Kind
    )
    finds = Finds(settings=tuple(Find(id=s, words=s, start=1, end=2) for s in settings))
    made = Item(ref=ref, text=text, original=text, places=(place(line),), effects=tuple(effects))
    return JudgedItem(item=made, release=release, judgements=judgements, finds=finds)


def told(kind: str, text: str, line: int = 9) -> Instruction:
    return Instruction(kind=InstructionKind(kind), text=text, place=place(line))


def notes(
    *items: JudgedItem,
    instructions: Sequence[Instruction] = (),
    versions: Sequence[str] = ("3.6.0",),
) -> JudgedNotes:
    """Releases in the order of `versions`; the instructions stand in the last."""
    last = len(versions) - 1
    releases = tuple(
        Release(
            title=f"Heron 2 {version}",
            component="aircraft",
            unit="Quillmere Heron 2",
            version=version,
            date=None,
            status=Status.RELEASED,
            items=tuple(i.item for i in items if i.release == n),
            instructions=tuple(instructions) if n == last else (),
            place=place(1),
        )
        for n, version in enumerate(versions)
    )
    source = Source(
        name="built", format=SourceFormat.TEXT, encoding="utf-8", sha256="0" * 64, characters=1
    )
    return JudgedNotes(
        notes=Notes(source=source, releases=releases), items=tuple(items), model_sha256="0" * 64
    )
