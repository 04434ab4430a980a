"""Run the notebook's migrations on the connection that `ballbench.store.opening` hands over."""

from __future__ import annotations

from alembic import context

from ballbench.store.tables import METADATA

connection = context.config.attributes["connection"]
context.configure(connection=connection, target_metadata=METADATA, transactional_ddl=False)
context.run_migrations()
