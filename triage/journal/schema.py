"""The journal's tables; triggers and the index of words stand in the migrations."""

from __future__ import annotations

from sqlalchemy import (
    Column,
    Date,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
)

metadata = MetaData()
VERSIONS = "triage_journal_version"
WORDS = "triage_words"

journal = Table(
    "triage_journal",
    metadata,
    Column("id", String(64), primary_key=True),
)

# Beside `record` and `digest`, the columns repeat parts of the record to be searched by.
entry = Table(
    "triage_entry",
    metadata,
    Column("seq", Integer, primary_key=True, autoincrement=False),
    Column("kind", String(16), nullable=False),
    Column("about", Integer, ForeignKey("triage_entry.seq"), nullable=False),
    Column("day", Date, nullable=False),
    Column("due", Date),
    Column("record", Text, nullable=False),
    Column("digest", String(64), nullable=False),
    Index("triage_entry_about", "about", "seq"),
    Index("triage_entry_due", "due", "seq"),
    Index("triage_entry_kind", "kind", "seq"),
)

attachment = Table(
    "triage_attachment",
    metadata,
    Column("sha256", String(64), primary_key=True),
    Column("size", Integer, nullable=False),
    Column("packed", LargeBinary, nullable=False),
)
