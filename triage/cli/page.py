"""`triage page`: the local page in the browser."""

from __future__ import annotations

from contextlib import suppress
from typing import Annotated

import typer

from triage.cli.out import say


def page(
    port: Annotated[
        int, typer.Option(min=0, max=65_535, help="Port to listen on; a free one by default.")
    ] = 0,
    browser: Annotated[
        bool, typer.Option("--browser/--no-browser", help="Open the page in the browser.")
    ] = True,
) -> None:
    """Serve the page to this machine's browser only, until it is stopped."""
    from triage.web.serve import serve

    def started(link: str) -> None:
        say(f"The page is at\n{link}\nKeep the link to yourself. Stop with Ctrl+C.\n")
        if browser:
            import webbrowser

            webbrowser.open(link)

    # Started in the background the process ignores the interrupt, and the server just returns.
    with suppress(KeyboardInterrupt):
        serve(port, started)
    say("The page is closed.\n")
