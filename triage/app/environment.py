"""What surrounds the process: the clock, and who is at the keyboard."""

from __future__ import annotations

import datetime as dt
import os
from contextlib import suppress

from triage.errors import ConfigError

PILOT = "TRIAGE_PILOT"


def today() -> dt.date:
    """The day by this machine's clock."""
    return dt.date.today()


def now() -> dt.datetime:
    """The time by this machine's clock, with its zone."""
    return dt.datetime.now().astimezone()


def day_named(option: str, text: str | None) -> dt.date | None:
    """The day that an option names as YYYY-MM-DD, None when it names none."""
    if text is None:
        return None
    try:
        return dt.date.fromisoformat(text)
    except ValueError as error:
        raise ConfigError(
            f"{option}: '{text}' is no date", mend="write it as YYYY-MM-DD"
        ) from error


def pilot(stated: str | None = None, *, shared: bool) -> str:
    """Who writes: as stated, else TRIAGE_PILOT, else the login in a journal that is `shared`."""
    named = stated if stated is not None else os.environ.get(PILOT, "")
    if not named and shared:
        import getpass

        with suppress(KeyError, OSError):  # a login that the system has no name for
            named = getpass.getuser()
    return named
