"""`triage items --settle`: the operator's word on what an item is."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from triage.cli.out import say
from triage.domain.kinds import MEANING, Kind
from triage.errors import ConfigError

if TYPE_CHECKING:
    from triage.app.read import Engine
    from triage.domain.judged import JudgedItem, JudgedNotes

_NONE = "none"


def settle_stated(read: JudgedNotes, stated: Sequence[str], machine: Engine) -> None:
    """Keep corrections written as ITEM=KINDS; nothing is kept when one of them does not hold."""
    by_ref = {item.item.ref: item for item in read.items}
    pairs = []
    for text in stated:
        ref, _, kinds = text.partition("=")
        item = by_ref.get(ref.strip())
        if item is None or not kinds.strip():
            raise ConfigError(
                f"--settle-item: '{text}' names no item and kinds", mend="write 12=fix,feature"
            )
        pairs.append((item, kinds_in(kinds)))
    for item, chosen in pairs:
        _keep(read, item, chosen, machine)


def settle_asked(read: JudgedNotes, machine: Engine, *, piped: bool) -> None:
    """Go through the unsure items; an empty answer leaves one as it is."""
    from triage.cli.asking import at_terminal

    if piped or not at_terminal():
        raise ConfigError("--settle asks at a terminal", mend="name a file, or use --settle-item")
    unsure = [item for item in read.items if item.unsure]
    if not unsure:
        say("No item is unsure.\n")
    for kind in Kind:
        say(f"{kind.value}: {MEANING[kind]}\n")
    say("Write kinds between commas, 'none', or nothing to leave an item unsure.\n")
    for item in unsure:
        _ask(read, item, machine)


def kinds_in(text: str) -> tuple[Kind, ...]:
    """The kinds written between commas; the start of a name will do."""
    if text.strip().lower() == _NONE:
        return ()
    kinds = []
    for word in (part.strip().lower() for part in text.split(",")):
        found = [kind for kind in Kind if word and kind.value.startswith(word)]
        if word in list(Kind):
            found = [Kind(word)]
        if len(found) != 1:
            known = ", ".join(kind.value for kind in Kind)
            raise ConfigError(f"'{word}' is no kind", mend=f"write some of {known}, or none")
        kinds += found
    return tuple(kinds)


def _ask(read: JudgedNotes, item: JudgedItem, machine: Engine) -> None:
    from triage.cli.asking import ask
    from triage.render.items import kinds_shown, short

    say(f"\n{item.item.ref}. {short(item.item.text)}\n   read as: {kinds_shown(item)}\n")
    while answer := ask("   it is"):
        try:
            kinds = kinds_in(answer)
        except ConfigError as error:
            say(f"   {error}\n")
            continue
        return _keep(read, item, kinds, machine)
    return None


def _keep(read: JudgedNotes, item: JudgedItem, kinds: tuple[Kind, ...], machine: Engine) -> None:
    from triage.app.read import settle_item

    settle_item(read, item, kinds, machine)
    words = ", ".join(kind.value for kind in kinds) or "no kind"
    say(f"Settled: item {item.item.ref} is {words}.\n")
