"""Runs the migrations on the connection that `store.book.schema` (or a developer) hands over."""

from alembic import context

import store.book.tables  # noqa: F401 (makes the tables known to Base)
from store.book.columns import Base

connection = context.config.attributes["connection"]
context.configure(
    connection=connection,
    target_metadata=Base.metadata,
    transactional_ddl=True,
    render_as_batch=connection.dialect.name == "sqlite",
)
with context.begin_transaction():
    context.run_migrations()
