"""Readings out of recordings: the picks that a value was worked out from, and what was stated beside them."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

__all__ = ["down_revision", "revision", "upgrade"]

revision = "0004"
down_revision = "0003"

_SAYS = "the notebook keeps what was recorded; write a correction instead"


def upgrade() -> None:
    """Add a table that is written once."""
    submitted = sa.ForeignKey(
        "submission.key", name=op.f("fk_recording_picks_key"), deferrable=True, initially="DEFERRED"
    )
    op.create_table(
        "recording_picks",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key", sa.Text(), submitted, nullable=False),
        sa.Column("test_id", sa.Integer(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("reading_id", sa.Integer(), nullable=False),
        sa.Column("method", sa.Text(), nullable=False),
        sa.Column("asked", sa.Text(), nullable=False),
        sa.Column("picks", sa.Text(), nullable=False),
        sa.Column("told", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.CheckConstraint("method IN ('listen', 'trace', 'watch')", name=op.f("ck_recording_picks_method")),
        sa.ForeignKeyConstraint(["test_id"], ["ball_test.id"], name=op.f("fk_recording_picks_test_id")),
        sa.ForeignKeyConstraint(["digest"], ["recording.digest"], name=op.f("fk_recording_picks_digest")),
        sa.ForeignKeyConstraint(["reading_id"], ["reading.id"], name=op.f("fk_recording_picks_reading_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_recording_picks")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_recording_picks_test_id_id"), "recording_picks", ["test_id", "id"])
    op.create_index(op.f("ix_recording_picks_key"), "recording_picks", ["key"])
    op.create_index(op.f("ix_recording_picks_reading_id"), "recording_picks", ["reading_id"])
    _written_once()


def _written_once() -> None:
    """Refuse to change or delete rows."""
    if op.get_bind().dialect.name == "postgresql":
        for act in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER recording_picks_refuses_{act.lower()} BEFORE {act} ON recording_picks FOR EACH ROW "
                "EXECUTE FUNCTION ballbench_keeps()"
            )
        op.execute(
            "CREATE TRIGGER recording_picks_refuses_truncate BEFORE TRUNCATE ON recording_picks "
            "FOR EACH STATEMENT EXECUTE FUNCTION ballbench_keeps()"
        )
        return
    for act in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER recording_picks_refuses_{act.lower()} BEFORE {act} ON recording_picks "
            f"BEGIN SELECT RAISE(ABORT, '{_SAYS}'); END"
        )
    known = "SELECT 1 FROM recording_picks WHERE id = NEW.id"
    op.execute(
        f"CREATE TRIGGER recording_picks_refuses_replace BEFORE INSERT ON recording_picks WHEN EXISTS ({known}) "
        f"BEGIN SELECT RAISE(ABORT, '{_SAYS}'); END"
    )
