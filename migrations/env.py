"""The environment of the migrations: store/migrate.py hands the connection over."""

from __future__ import annotations

from alembic import context

from geneticlog.store.tables import Table

connection = context.config.attributes["connection"]
context.configure(
    connection=connection,
    target_metadata=Table.metadata,
    render_as_batch=connection.dialect.name == "sqlite",
    compare_type=True,
    transaction_per_migration=False,
)
context.run_migrations()
