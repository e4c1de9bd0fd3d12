"""Run by alembic: brings the database behind the given connection to the newest form."""

from alembic import context

from triage.journal.schema import VERSIONS, metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    version_table=VERSIONS,
    transactional_ddl=True,
)
with context.begin_transaction():
    context.run_migrations()
