"""Alembic's environment: migrations run on the app's own engine, each in one transaction."""

from alembic import context
from flask import current_app

database = current_app.extensions["migrate"].db


def run() -> None:
    with database.engine.connect().execution_options(bagtrail_writes=True) as connection:
        context.configure(
            connection=connection,
            target_metadata=database.metadata,
            render_as_batch=True,
            compare_type=True,
            transaction_per_migration=True,
        )
        with context.begin_transaction():
            context.run_migrations()
        connection.commit()


run()
