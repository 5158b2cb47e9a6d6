"""What Alembic runs: the caller's connection, the caller's transaction, our tables."""

from alembic import context
from sqlmodel import SQLModel

import stillset_service.store.tables  # noqa: F401  (the tables register themselves in the metadata)

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=SQLModel.metadata,
    transactional_ddl=True,
    render_as_batch=True,
)
with context.begin_transaction():
    context.run_migrations()
