"""`triage kit`: the operator's units, jobs, needs and the functions relied on."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from triage.app.environment import today
from triage.cli.out import say
from triage.cli.shared import remind
from triage.errors import ConfigError

if TYPE_CHECKING:
    from triage.domain.kit import Kit

app = typer.Typer(
    help="State your units, installed versions, jobs and needs.", no_args_is_help=True
)

KitFile = Annotated[
    Path | None, typer.Option("--kit", help="The kit file; by default the one in your folder.")
]
Label = Annotated[str, typer.Argument(help="Your own short name of the unit, such as battery-1.")]
Uses = Annotated[
    list[str] | None,
    typer.Option("--uses", help="A function you rely on with it, by id; may be repeated."),
]
Remove = Annotated[bool, typer.Option("--remove", help="Take out instead of adding.")]


class Back(StrEnum):
    """Whether a unit can go back to an earlier version."""

    YES = "yes"
    NO = "no"
    UNKNOWN = "unknown"


_BACK: dict[Back, bool | None] = {Back.YES: True, Back.NO: False, Back.UNKNOWN: None}
BackOption = Annotated[Back, typer.Option("--back", help="Can it go back to an earlier version?")]


@app.command("list")
def list_(
    kit: KitFile = None,
    json: Annotated[bool, typer.Option("--json", help="Print the kit as JSON.")] = False,
) -> None:
    """Show the kit."""
    from triage.kit import kit_file

    remind()
    found = kit_file.load_kit(kit)
    if json:
        say(found.model_dump_json(indent=2) + "\n")
    else:
        _shown(found)


@app.command()
def add(
    label: Label,
    component: Annotated[str, typer.Argument(help="What kind of thing it is; see: kit kinds.")],
    name: Annotated[str, typer.Option(help="The maker's name of it.")] = "",
    version: Annotated[str, typer.Option(help="Installed version, as the unit shows it.")] = "",
    back: BackOption = Back.UNKNOWN,
    uses: Uses = None,
    kit: KitFile = None,
) -> None:
    """Add a unit."""
    from triage.domain.kit import Unit
    from triage.kit import kit_file

    unit = Unit(
        label=label,
        component=component,
        name=name,
        version=version,
        reversible=_BACK[back],
        functions=tuple(uses or ()),
    )
    _shown(kit_file.add_unit(kit, unit))


@app.command("set")
def set_(
    label: Label,
    new_label: Annotated[str | None, typer.Option("--label", help="Another label.")] = None,
    component: Annotated[str | None, typer.Option(help="Another kind.")] = None,
    name: Annotated[str | None, typer.Option(help="The maker's name; '' takes it out.")] = None,
    version: Annotated[str | None, typer.Option(help="Installed version; '' for unknown.")] = None,
    back: Annotated[Back | None, typer.Option("--back", help="Can it go back?")] = None,
    uses: Uses = None,
    kit: KitFile = None,
) -> None:
    """Change a unit; what is not named stays."""
    from triage.kit import kit_file

    stated = {"label": new_label, "component": component, "name": name, "version": version}
    changes: dict[str, object] = {key: value for key, value in stated.items() if value is not None}
    if back is not None:
        changes["reversible"] = _BACK[back]
    if uses is not None:
        changes["functions"] = tuple(word for word in uses if word)
    if not changes:
        raise ConfigError("nothing to change", mend="name what to change, such as --version 1.4")
    _shown(kit_file.set_unit(kit, label, **changes))


@app.command()
def remove(label: Label, kit: KitFile = None) -> None:
    """Take a unit out."""
    from triage.kit import kit_file

    _shown(kit_file.remove_unit(kit, label))


@app.command()
def check(kit: KitFile = None) -> None:
    """Tell what the kit lacks, and the mend."""
    from triage.kit import kit_file
    from triage.kit.kit_check import kit_remarks as check_kit
    from triage.render.kit import remarks_shown
    from triage.render.text import to_text

    remind()
    say(to_text(remarks_shown(check_kit(kit_file.load_kit(kit), today()))))


@app.command()
def job(
    day: Annotated[dt.datetime, typer.Argument(formats=["%Y-%m-%d"], help="The day.")],
    what: Annotated[str, typer.Argument(help="What you have promised.")] = "",
    flown_in: Annotated[
        list[str] | None,
        typer.Option("--in", help="A condition: cold, heat, wind, dark, wet, mission..."),
    ] = None,
    uses: Annotated[
        list[str] | None,
        typer.Option("--uses", help="A function it can't be flown without; see: kit use --list."),
    ] = None,
    remove: Remove = False,
    kit: KitFile = None,
) -> None:
    """Add a promised flight, or take out those of a day."""
    from triage.kit import kit_file

    if remove:
        _shown(kit_file.remove_job(kit, day.date()))
    else:
        _shown(kit_file.add_job(kit, day.date(), what, flown_in or (), uses or ()))


@app.command()
def need(
    words: Annotated[list[str], typer.Argument(help="What you hope for, each need in quotes.")],
    remove: Remove = False,
    kit: KitFile = None,
) -> None:
    """Add what you hope an update brings, or take it out."""
    from triage.kit import kit_file

    change = kit_file.remove_words if remove else kit_file.add_words
    _shown(change(kit, "needs", words))


@app.command()
def use(
    functions: Annotated[list[str] | None, typer.Argument(help="Function ids.")] = None,
    remove: Remove = False,
    list_all: Annotated[bool, typer.Option("--list", help="Show all function ids.")] = False,
    kit: KitFile = None,
) -> None:
    """Add functions you rely on with any unit, or take them out."""
    from triage.kit import kit_file
    from triage.kit.units import function_names

    if list_all:
        _ids(function_names().items())
    elif functions:
        change = kit_file.remove_words if remove else kit_file.add_words
        _shown(change(kit, "functions", functions))
    else:
        raise ConfigError("no function is named", mend="see: triage kit use --list")


@app.command()
def kinds() -> None:
    """Show the kinds of things a unit can be."""
    from triage.reference.vocabulary import components

    _ids((entry.id, entry.name) for entry in components())


def _shown(kit: Kit) -> None:
    from triage.render.kit import kit_shown
    from triage.render.text import to_text

    say(to_text(kit_shown(kit)))


def _ids(pairs: Iterable[tuple[str, str]]) -> None:
    from triage.render.kit import ids_shown
    from triage.render.text import to_text

    say(to_text(ids_shown(pairs)))
