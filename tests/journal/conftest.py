"""A journal in a file, and the same on a PostgreSQL server where the environment names one."""

from __future__ import annotations

import os
import uuid
from collections.abc import Iterator
from pathlib import Path

import pytest

from triage.journal.store import Journal, open_journal

SERVER = "TRIAGE_TEST_POSTGRES"


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "home"
    monkeypatch.setenv("TRIAGE_HOME", str(folder))
    monkeypatch.delenv("TRIAGE_JOURNAL", raising=False)
    return folder


@pytest.fixture
def server() -> Iterator[str]:
    """The URL of a new database on the server of TRIAGE_TEST_POSTGRES."""
    stated = os.environ.get(SERVER)
    if not stated:
        pytest.skip(f"{SERVER} names no PostgreSQL server")
    from sqlalchemy import create_engine, make_url

    url = make_url(stated).set(drivername="postgresql+psycopg")
    name = f"triage_{uuid.uuid4().hex}"
    admin = create_engine(url, isolation_level="AUTOCOMMIT")
    with admin.connect() as connection:
        connection.exec_driver_sql(f"CREATE DATABASE {name}")
    yield url.set(drivername="postgresql", database=name).render_as_string(hide_password=False)
    with admin.connect() as connection:
        connection.exec_driver_sql(f"DROP DATABASE {name} WITH (FORCE)")
    admin.dispose()


@pytest.fixture(params=["sqlite", "postgresql"])
def where(request: pytest.FixtureRequest, home: Path) -> str:
    """Names a journal that does not exist yet, once for each database."""
    if request.param == "sqlite":
        return str(home / "journal.sqlite")
    return str(request.getfixturevalue("server"))


@pytest.fixture
def journal(where: str) -> Journal:
    return open_journal(where, create=True)


@pytest.fixture
def in_file(home: Path) -> Journal:
    """A journal in a file only."""
    return open_journal(str(home / "journal.sqlite"), create=True)
