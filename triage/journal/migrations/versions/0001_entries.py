"""Entries, attachments, the index of words, and the triggers that let nothing be changed."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

TABLES = ("triage_journal", "triage_entry", "triage_attachment")
REFUSED = "the journal is append-only"
NEXT = "the entry is not the next one"


def upgrade() -> None:
    """From nothing."""
    op.create_table("triage_journal", sa.Column("id", sa.String(64), primary_key=True))
    op.create_table(
        "triage_entry",
        sa.Column("seq", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("kind", sa.String(16), nullable=False),
        sa.Column("about", sa.Integer, sa.ForeignKey("triage_entry.seq"), nullable=False),
        sa.Column("day", sa.Date, nullable=False),
        sa.Column("due", sa.Date),
        sa.Column("record", sa.Text, nullable=False),
        sa.Column("digest", sa.String(64), nullable=False),
    )
    op.create_index("triage_entry_about", "triage_entry", ["about", "seq"])
    op.create_index("triage_entry_due", "triage_entry", ["due", "seq"])
    op.create_index("triage_entry_kind", "triage_entry", ["kind", "seq"])
    op.create_table(
        "triage_attachment",
        sa.Column("sha256", sa.String(64), primary_key=True),
        sa.Column("size", sa.Integer, nullable=False),
        sa.Column("packed", sa.LargeBinary, nullable=False),
    )
    if op.get_bind().dialect.name == "sqlite":
        _sqlite()
    else:
        _postgresql()


def _sqlite() -> None:
    op.execute(
        "CREATE VIRTUAL TABLE triage_words USING fts5"
        "(words, content='', tokenize='unicode61 remove_diacritics 0')"
    )
    for table in TABLES:
        for verb in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{REFUSED}'); END"
            )
    # REPLACE deletes without asking the triggers above
    op.execute(
        "CREATE TRIGGER triage_entry_next BEFORE INSERT ON triage_entry "
        "WHEN NEW.seq IS NOT (SELECT coalesce(max(seq), 0) + 1 FROM triage_entry) "
        f"BEGIN SELECT RAISE(ABORT, '{NEXT}'); END"
    )
    op.execute(
        "CREATE TRIGGER triage_attachment_once BEFORE INSERT ON triage_attachment "
        "WHEN EXISTS (SELECT 1 FROM triage_attachment WHERE sha256 = NEW.sha256) "
        f"BEGIN SELECT RAISE(ABORT, '{REFUSED}'); END"
    )
    op.execute(
        "CREATE TRIGGER triage_journal_once BEFORE INSERT ON triage_journal "
        "WHEN EXISTS (SELECT 1 FROM triage_journal) "
        f"BEGIN SELECT RAISE(ABORT, '{REFUSED}'); END"
    )


def _postgresql() -> None:
    op.execute("CREATE TABLE triage_words (seq integer PRIMARY KEY, words tsvector NOT NULL)")
    op.execute("CREATE INDEX triage_words_index ON triage_words USING gin (words)")
    op.execute(
        "CREATE FUNCTION triage_refuse() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{REFUSED}'; END $$"
    )
    op.execute(
        "CREATE FUNCTION triage_next() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        "IF NEW.seq <> (SELECT coalesce(max(seq), 0) + 1 FROM triage_entry) THEN "
        f"RAISE EXCEPTION '{NEXT}'; END IF; RETURN NEW; END $$"
    )
    for table in (*TABLES, "triage_words"):
        op.execute(
            f"CREATE TRIGGER {table}_no_change BEFORE UPDATE OR DELETE OR TRUNCATE ON {table} "
            "FOR EACH STATEMENT EXECUTE FUNCTION triage_refuse()"
        )
    op.execute(
        "CREATE TRIGGER triage_entry_next BEFORE INSERT ON triage_entry "
        "FOR EACH ROW EXECUTE FUNCTION triage_next()"
    )
    op.execute("CREATE UNIQUE INDEX triage_journal_once ON triage_journal ((true))")
