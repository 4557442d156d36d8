"""Where Alembic meets the open transaction it shall work in."""

from __future__ import annotations

from alembic import context

from sprayadvisor.adapters.store.schema import METADATA

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=METADATA,
    render_as_batch=True,  # SQLite cannot alter most things in place
)
with context.begin_transaction():
    context.run_migrations()
