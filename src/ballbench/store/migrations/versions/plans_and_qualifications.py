"""Plans and qualified instruments; a test may follow a plan, be a repeat study, and have places that a person reads."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

__all__ = ["down_revision", "revision", "upgrade"]

revision = "0003"
down_revision = "0002"

_SAYS = "the notebook keeps what was recorded; write a correction instead"


def upgrade() -> None:
    """Add tables that are written once, and columns that old tests have empty."""
    op.create_table(
        "plan",
        sa.Column("id", sa.Integer(), nullable=False),
        _key("plan"),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("requirement", sa.Text(), nullable=False),
        sa.Column("requirement_digest", sa.Text(), nullable=False),
        sa.Column("quantity", sa.Text(), nullable=False),
        sa.Column("asked", sa.Text(), nullable=False),
        sa.Column("result", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_plan")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_plan_key"), "plan", ["key"])
    op.create_table(
        "followed_plan",
        sa.Column("test_id", sa.Integer(), nullable=False),
        sa.Column("plan_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["test_id"], ["ball_test.id"], name=op.f("fk_followed_plan_test_id")),
        sa.ForeignKeyConstraint(["plan_id"], ["plan.id"], name=op.f("fk_followed_plan_plan_id")),
        sa.PrimaryKeyConstraint("test_id", name=op.f("pk_followed_plan")),
    )
    op.create_table(
        "qualification",
        sa.Column("id", sa.Integer(), nullable=False),
        _key("qualification"),
        sa.Column("test_id", sa.Integer(), nullable=True),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("quantity", sa.Text(), nullable=False),
        sa.Column("entry", sa.Text(), nullable=False),
        sa.Column("sentence", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["test_id"], ["ball_test.id"], name=op.f("fk_qualification_test_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_qualification")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_qualification_key"), "qualification", ["key"])
    op.create_index(op.f("ix_qualification_quantity_id"), "qualification", ["quantity", "id"])
    op.add_column("ball_test", sa.Column("purpose", sa.Text(), server_default="", nullable=False))
    op.add_column("place", sa.Column("person", sa.Text(), server_default="", nullable=False))
    for table, known in (("plan", "id"), ("followed_plan", "test_id"), ("qualification", "id")):
        _written_once(table, known)


def _key(table: str) -> sa.Column[str]:
    """Column of the submission that wrote a row, checked at commit, since the submission is written last."""
    target = sa.ForeignKey("submission.key", name=op.f(f"fk_{table}_key"), deferrable=True, initially="DEFERRED")
    return sa.Column("key", sa.Text(), target, nullable=False)


def _written_once(table: str, known_by: str) -> None:
    """Refuse to change or delete rows."""
    if op.get_bind().dialect.name == "postgresql":
        for act in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_refuses_{act.lower()} BEFORE {act} ON {table} FOR EACH ROW "
                "EXECUTE FUNCTION ballbench_keeps()"
            )
        op.execute(
            f"CREATE TRIGGER {table}_refuses_truncate BEFORE TRUNCATE ON {table} "
            "FOR EACH STATEMENT EXECUTE FUNCTION ballbench_keeps()"
        )
        return
    for act in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER {table}_refuses_{act.lower()} BEFORE {act} ON {table} "
            f"BEGIN SELECT RAISE(ABORT, '{_SAYS}'); END"
        )
    known = f"SELECT 1 FROM {table} WHERE {known_by} = NEW.{known_by}"  # noqa: S608 - names of this file
    op.execute(
        f"CREATE TRIGGER {table}_refuses_replace BEFORE INSERT ON {table} WHEN EXISTS ({known}) "
        f"BEGIN SELECT RAISE(ABORT, '{_SAYS}'); END"
    )
