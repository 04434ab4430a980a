"""What was asked for under each key, as a digest: another request under the same key is then told from the same one."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

__all__ = ["down_revision", "revision", "upgrade"]

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Add the column; of what was sent before it is empty. No row is rewritten, and the triggers stay as they are."""
    op.add_column("submission", sa.Column("digest", sa.Text(), server_default="", nullable=False))
