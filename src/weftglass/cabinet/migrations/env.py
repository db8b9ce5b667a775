"""Runs migrations on the connection that the program opened."""

from alembic import context

from weftglass.cabinet.schema import Base

connection = context.config.attributes["connection"]
context.configure(
    connection=connection,
    target_metadata=Base.metadata,
    render_as_batch=True,
    transactional_ddl=True,
    transaction_per_migration=True,
)
with context.begin_transaction():
    context.run_migrations()
