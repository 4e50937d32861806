"""Runs the steps on the connection that the caller passes in ``config.attributes``, in the caller's transaction."""

from __future__ import annotations

from alembic import context

from storage.book.tables import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    version_table="schema_step",
    transactional_ddl=True,
)
context.run_migrations()
