"""What Alembic runs: the steps that a book lacks, on the connection and in the transaction it is given."""

from __future__ import annotations

from alembic import context

context.configure(
    connection=context.config.attributes["connection"],
    version_table=context.config.attributes["version_table"],
    transactional_ddl=True,  # SQLite can take back a change of tables as well
)
with context.begin_transaction():
    context.run_migrations()
