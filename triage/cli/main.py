"""The `triage` command: gathers the groups and turns every fault into one line."""

from __future__ import annotations

import sys

import typer

from triage import __version__
from triage.cli import (
    assess,
    demo,
    items,
    journal,
    kit,
    model,
    page,
    policy,
    report,
    schema,
    settings,
    update,
    watch,
)
from triage.cli.out import leave_quietly, say, warn
from triage.errors import TriageError

app = typer.Typer(
    name="triage",
    help="For drone operators: update now, or wait and watch? Reads firmware release notes, "
    "weighs moving against staying, and says why. It never calls a release safe.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
app.command("assess")(assess.assess)
app.command("items")(items.items)
app.command("demo")(demo.demo)
app.command("page")(page.page)
app.command("schema")(schema.schema)
app.add_typer(policy.app, name="policy")
app.add_typer(kit.app, name="kit")
app.add_typer(report.app, name="report")
app.add_typer(watch.app, name="watch")
app.add_typer(settings.app, name="settings")
app.add_typer(update.app, name="update")
app.add_typer(journal.app, name="journal")
app.add_typer(model.app, name="model")


def _version(wanted: bool) -> None:
    if wanted:
        say(f"triage {__version__}\n")
        raise typer.Exit


@app.callback()
def root(
    version: bool = typer.Option(
        False, "--version", callback=_version, is_eager=True, help="Print the version."
    ),
) -> None:
    """Options before a command."""


def main() -> None:
    """Run the command; exit 0, 2 for a fault the user can mend, 130 when interrupted."""
    sys.exit(run(sys.argv[1:]))


def run(arguments: list[str]) -> int:
    """The exit status of one command line."""
    try:
        result = typer.main.get_command(app).main(arguments, "triage", standalone_mode=False)
        return result if isinstance(result, int) else 0
    except TriageError as error:
        warn(str(error))
        return 2
    except typer.TyperException as error:
        return _misused(error)
    except (typer.Abort, KeyboardInterrupt):
        warn("stopped; nothing was changed")
        return 130
    except BrokenPipeError:
        leave_quietly()
        return 0


def _misused(error: typer.TyperException) -> int:
    """A wrong option or argument in one line; a group without a command shows its help."""
    message = error.format_message()
    if "\n" in message.strip():
        say(f"{message}\n")
        return 2
    context = getattr(error, "ctx", None)
    hint = f"; see `{context.command_path} --help`" if context else ""
    warn(f"{message.rstrip('.')}{hint}")
    return 2
