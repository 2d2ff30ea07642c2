"""Alembic's entry: runs the migrations on the connection the program gives, in the program's transaction."""

from alembic import context

from pmsched.store.tables import metadata

connection = context.config.attributes["connection"]
context.configure(
    connection=connection,
    target_metadata=metadata,
    render_as_batch=connection.dialect.name == "sqlite",
    compare_type=True,
    transaction_per_migration=False,
)
context.run_migrations()
