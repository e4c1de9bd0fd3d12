"""The database behind the journal: a file of the user's own, or a PostgreSQL server by URL.

SQLite runs with a rollback journal, not a write-ahead log: entries are few and must last, the
journal stays one file that can be copied, it also holds on a network drive, and versions before
3.51.3 can lose a write-ahead log's commits when two processes write at once. `synchronous`
EXTRA brings the folder to the disk as well before an entry counts as written.

Errors: StoreError in one line, without the password of a URL.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, text
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError
from sqlalchemy.pool import NullPool

from triage.errors import StoreError
from triage.journal.schema import VERSIONS
from triage.storage.atomic_write import locked, sync_folder
from triage.storage.user_folder import make_folder, user_file

NAME = "journal.sqlite"
VARIABLE = "TRIAGE_JOURNAL"
HEAD = "0001"  # the newest migration; known here so that opening need not load alembic
WAIT_SECONDS = 10.0
_LOCK = 0x7472696167  # any number, the same for all writers of a server's database

_MENDS = (  # part of the driver's words, what to say, how to mend it
    ("database is locked", "another process is writing the journal", "try again when it has ended"),
    ("lock timeout", "another pilot's entry is being written", "try again in a moment"),
    ("database or disk is full", "the disk is full; nothing was written", "free some space"),
    ("no space left", "the server's disk is full; nothing was written", "free some space"),
    ("disk i/o error", "the disk fails; nothing was written", "check the disk, then verify"),
    ("readonly database", "the journal cannot be written to", "check the permissions"),
    ("unable to open database", "the journal cannot be opened", "check the folder and permissions"),
    ("malformed", "the file is damaged", "put back a copy or import an export"),
    ("not a database", "is no journal", "check the name"),
    ("append-only", "entries are never changed", "write a later entry that corrects it"),
    ("permission denied", "the server does not let you", "ask for SELECT and INSERT"),
    ("failed to resolve", "the server is not found", "check the URL and the network"),
    ("connection failed", "the server does not answer", "check the URL and the network"),
    ("connection refused", "the server does not answer", "check the URL and the network"),
)


def url_of(stated: str | None = None) -> URL:
    """The journal meant: stated, else by TRIAGE_JOURNAL, else the file in the user folder."""
    name = stated or os.environ.get(VARIABLE) or str(user_file(NAME))
    if "://" not in name:
        return URL.create("sqlite", database=str(Path(name).expanduser()))
    try:
        url = make_url(name)
    except (ArgumentError, ValueError) as error:
        raise StoreError("is no URL of a journal", mend=_URL_MEND) from error
    if url.get_backend_name() == "postgresql":
        return url.set(drivername="postgresql+psycopg")
    if url.get_backend_name() == "sqlite" and url.database not in (None, "", ":memory:"):
        return url
    raise StoreError(f"no journal in {url.get_backend_name()}", mend=_URL_MEND)


_URL_MEND = "name a file, or postgresql://user@host/database"


def shown_url(url: URL) -> str:
    """The journal's name for messages, without user and password."""
    if url.get_backend_name() == "sqlite":
        return str(url.database)
    return URL.create(
        "postgresql", host=url.host, port=url.port, database=url.database
    ).render_as_string()


def file_of(url: URL) -> Path | None:
    """The SQLite file; None for a server."""
    return Path(str(url.database)) if url.get_backend_name() == "sqlite" else None


def connect(url: URL, wait: float = WAIT_SECONDS) -> Engine:
    """An engine whose connections wait up to `wait` seconds for another writer.

    `engine.execution_options(writes=True)` begins as a writer: one at a time.
    """
    file = file_of(url)
    if file is not None:
        # no pool: a connection kept open would go on writing to a file that is gone
        engine = create_engine(url, connect_args={"timeout": wait}, poolclass=NullPool)
        event.listen(engine, "connect", _sqlite_settings)
        event.listen(engine, "begin", _sqlite_begin)
        return engine
    try:
        engine = create_engine(url, pool_pre_ping=True, connect_args={"connect_timeout": 10})
    except ModuleNotFoundError as error:
        raise StoreError(
            "a journal on a server needs the package psycopg",
            mend="run: python -m pip install 'psycopg[binary]'",
        ) from error

    def begin(connection: Connection) -> None:
        if connection.get_execution_options().get("writes"):
            connection.exec_driver_sql(f"SET LOCAL lock_timeout = '{int(wait * 1000)}ms'")
            connection.exec_driver_sql("SET LOCAL synchronous_commit = on")
            connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_LOCK})")

    event.listen(engine, "begin", begin)
    return engine


def bring_up_to_date(engine: Engine, *, create: bool) -> bool:
    """Bring the database to the newest form; False when there is no journal and none is made."""
    file = file_of(engine.url)
    if file is not None and not file.exists():
        if not create:
            return False
        _make_file(file)
    with faults(engine.url):
        found = _version(engine)
        if found == HEAD:
            return True
        if found is None and not create:
            return False
        if file is None:
            _migrate(engine)
        else:
            with locked(file):
                _migrate(engine)
    return True


def tighten(file: Path) -> None:
    """Make the file the user's alone, should a copy have opened it to others."""
    with suppress(OSError):  # not ours to change; reading may still be allowed
        if file.stat().st_mode & 0o077:
            file.chmod(0o600)


@contextmanager
def faults(url: URL) -> Iterator[None]:
    """Turn the driver's errors into one line."""
    try:
        yield
    except DBAPIError as error:
        words = str(error.orig)
        for part, problem, mend in _MENDS:
            if part in words.lower():
                raise StoreError(problem, where=shown_url(url), mend=mend) from error
        raise StoreError(
            f"the database refuses: {words}", where=shown_url(url), mend="nothing was written"
        ) from error


def _sqlite_settings(connection: Any, _record: Any) -> None:
    connection.isolation_level = None  # transactions are begun below, not by the driver
    for setting in ("synchronous = EXTRA", "foreign_keys = ON", "recursive_triggers = ON"):
        connection.execute(f"PRAGMA {setting}")


def _sqlite_begin(connection: Connection) -> None:
    writes = connection.get_execution_options().get("writes")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _make_file(file: Path) -> None:
    make_folder(file.parent)
    try:
        os.close(os.open(file, os.O_CREAT | os.O_RDWR, 0o600))
    except OSError as error:
        raise StoreError(
            (error.strerror or str(error)).lower(), where=str(file), mend="check the permissions"
        ) from error
    sync_folder(file.parent)


def _version(engine: Engine) -> str | None:
    with engine.connect() as connection:
        if not engine.dialect.has_table(connection, VERSIONS):
            return None
        found = connection.scalar(text(f"SELECT version_num FROM {VERSIONS}"))
    return None if found is None else str(found)


def _migrate(engine: Engine) -> None:
    """Run the migrations that are missing, all or none of them."""
    from alembic import command
    from alembic.config import Config
    from alembic.util import CommandError

    config = Config()
    folder = str(Path(__file__).with_name("migrations")).replace("%", "%%")
    config.set_main_option("script_location", folder)
    with engine.execution_options(writes=True).begin() as connection:
        config.attributes["connection"] = connection
        try:
            command.upgrade(config, "head")
        except CommandError as error:
            raise StoreError(
                "the journal was made by a newer version of the tool",
                where=shown_url(engine.url),
                mend="update the tool",
            ) from error
