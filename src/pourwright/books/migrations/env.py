"""Runs the migrations on the connection that :mod:`pourwright.books.store` hands over."""

from __future__ import annotations

from alembic import context

from pourwright.books.tables import metadata

_connection = context.config.attributes["connection"]
context.configure(
    connection=_connection, target_metadata=metadata, render_as_batch=_connection.dialect.name == "sqlite"
)
with context.begin_transaction():
    context.run_migrations()
