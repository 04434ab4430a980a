"""The first notebook: its tables, and the triggers that keep what was recorded as it was recorded."""

from __future__ import annotations

import uuid

import sqlalchemy as sa
from alembic import op

__all__ = ["down_revision", "revision", "upgrade"]

revision = "0001"
down_revision = None

APPEND_ONLY = (
    "identity", "reading", "attempt", "amendment", "mark", "instrument_check", "submission", "recording",
    "test_recording",
)  # fmt: skip
_KNOWN_BY = {
    "instrument_check": "id = NEW.id OR reading_id = NEW.reading_id",
    "recording": "digest = NEW.digest",
    "submission": "id = NEW.id OR key = NEW.key",
}
"""What must differ between the rows of a table; ``id`` alone where nothing is said."""
_SAYS = "the notebook keeps what was recorded; write a correction instead"


def upgrade() -> None:
    """Make the tables and the triggers."""
    op.create_table(
        "identity",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("notebook", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_identity")),
    )
    op.create_table(
        "ball_test",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("requirement", sa.Text(), nullable=False),
        sa.Column("requirement_title", sa.Text(), nullable=False),
        sa.Column("requirement_digest", sa.Text(), nullable=False),
        sa.Column("requirement_text", sa.Text(), nullable=False),
        sa.Column("set_up", sa.Text(), nullable=False),
        sa.Column("set_up_by", sa.Text(), nullable=False),
        sa.Column("blind", sa.Boolean(), nullable=False),
        sa.Column("rule", sa.Text(), nullable=False),
        sa.Column("risk", sa.Double(), nullable=False),
        sa.Column("seed", sa.Integer(), nullable=False),
        sa.Column("invented", sa.Boolean(), nullable=False),
        sa.Column("finished", sa.Text(), nullable=True),
        sa.Column("bench_text", sa.Text(), nullable=False),
        sa.Column("taken_from", sa.Text(), nullable=False),
        sa.CheckConstraint("kind IN ('whole', 'quick', 'taken in')", name=op.f("ck_ball_test_kind")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_ball_test")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "make",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_make")),
        sa.UniqueConstraint("name", name=op.f("uq_make_name")),
    )
    op.create_table(
        "recording",
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("media_type", sa.Text(), nullable=False),
        sa.Column("bytes", sa.Integer(), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=True),
        sa.PrimaryKeyConstraint("digest", name=op.f("pk_recording")),
    )
    op.create_table(
        "box",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("make_id", sa.Integer(), nullable=False),
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("bought", sa.Text(), nullable=False),
        sa.Column("bought_where", sa.Text(), nullable=False),
        sa.Column("price", sa.Text(), nullable=False),
        sa.Column("given_by", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["make_id"], ["make.id"], name=op.f("fk_box_make_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_box")),
    )
    op.create_index(op.f("ix_box_make_id"), "box", ["make_id"], unique=False)
    op.create_table(
        "instrument",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("test_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("quantity", sa.Text(), nullable=False),
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("resolution", sa.Double(), nullable=False),
        sa.Column("sd", sa.Double(), nullable=True),
        sa.Column("dof", sa.Double(), nullable=True),
        sa.Column("offset", sa.Double(), nullable=False),
        sa.Column("offset_sd", sa.Double(), nullable=True),
        sa.Column("scale_sd", sa.Double(), nullable=False),
        sa.Column("zeroed", sa.Text(), nullable=False),
        sa.Column("display", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["test_id"], ["ball_test.id"], name=op.f("fk_instrument_test_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_instrument")),
        sa.UniqueConstraint("test_id", "name", "quantity", name=op.f("uq_instrument_test_id_name_quantity")),
    )
    op.create_table(
        "sitting",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("test_id", sa.Integer(), nullable=False),
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("begun_by", sa.Text(), nullable=False),
        sa.Column("begun", sa.Text(), nullable=False),
        sa.Column("ended", sa.Text(), nullable=True),
        sa.CheckConstraint("kind IN ('bench', 'paper')", name=op.f("ck_sitting_kind")),
        sa.ForeignKeyConstraint(["test_id"], ["ball_test.id"], name=op.f("fk_sitting_test_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sitting")),
        sa.UniqueConstraint("test_id", "label", name=op.f("uq_sitting_test_id_label")),
    )
    op.create_table(
        "submission",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("test_id", sa.Integer(), nullable=True),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("client", sa.Text(), nullable=False),
        sa.Column("received", sa.Text(), nullable=False),
        sa.Column("reply", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["test_id"], ["ball_test.id"], name=op.f("fk_submission_test_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_submission")),
        sa.UniqueConstraint("key", name=op.f("uq_submission_key")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_submission_test_id_id"), "submission", ["test_id", "id"], unique=False)
    op.create_table(
        "ball",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("box_id", sa.Integer(), nullable=False),
        sa.Column("label", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["box_id"], ["box.id"], name=op.f("fk_ball_box_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_ball")),
        sa.UniqueConstraint("box_id", "label", name=op.f("uq_ball_box_id_label")),
    )
    op.create_table(
        "planned_quantity",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("test_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("axes", sa.Text(), nullable=False),
        sa.Column("repeats", sa.Integer(), nullable=False),
        sa.Column("instrument_id", sa.Integer(), nullable=True),
        sa.Column("yes_no", sa.Boolean(), nullable=False),
        sa.Column("signed", sa.Boolean(), nullable=False),
        sa.Column("rank", sa.Integer(), nullable=False),
        sa.Column("decimals", sa.Integer(), nullable=False),
        sa.Column("lower", sa.Double(), nullable=True),
        sa.Column("upper", sa.Double(), nullable=True),
        sa.Column("caution", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["instrument_id"], ["instrument.id"], name=op.f("fk_planned_quantity_instrument_id")),
        sa.ForeignKeyConstraint(["test_id"], ["ball_test.id"], name=op.f("fk_planned_quantity_test_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_planned_quantity")),
        sa.UniqueConstraint("test_id", "name", name=op.f("uq_planned_quantity_test_id_name")),
    )
    op.create_table(
        "reference_piece",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("test_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("quantity", sa.Text(), nullable=False),
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("value", sa.Double(), nullable=False),
        sa.Column("u", sa.Double(), nullable=False),
        sa.Column("instrument_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["instrument_id"], ["instrument.id"], name=op.f("fk_reference_piece_instrument_id")),
        sa.ForeignKeyConstraint(["test_id"], ["ball_test.id"], name=op.f("fk_reference_piece_test_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reference_piece")),
    )
    op.create_table(
        "test_box",
        sa.Column("test_id", sa.Integer(), nullable=False),
        sa.Column("box_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["box_id"], ["box.id"], name=op.f("fk_test_box_box_id")),
        sa.ForeignKeyConstraint(["test_id"], ["ball_test.id"], name=op.f("fk_test_box_test_id")),
        sa.PrimaryKeyConstraint("test_id", "box_id", name=op.f("pk_test_box")),
    )
    op.create_table(
        "mark",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("test_id", sa.Integer(), nullable=False),
        sa.Column("sitting_id", sa.Integer(), nullable=True),
        sa.Column("ball_id", sa.Integer(), nullable=True),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("value", sa.Double(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["ball_id"], ["ball.id"], name=op.f("fk_mark_ball_id")),
        sa.ForeignKeyConstraint(
            ["key"], ["submission.key"], name=op.f("fk_mark_key"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["sitting_id"], ["sitting.id"], name=op.f("fk_mark_sitting_id")),
        sa.ForeignKeyConstraint(["test_id"], ["ball_test.id"], name=op.f("fk_mark_test_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_mark")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_mark_ball_id_id"), "mark", ["ball_id", "id"], unique=False)
    op.create_index(op.f("ix_mark_key"), "mark", ["key"], unique=False)
    op.create_index(op.f("ix_mark_test_id_id"), "mark", ["test_id", "id"], unique=False)
    op.create_table(
        "place",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("test_id", sa.Integer(), nullable=False),
        sa.Column("ball_id", sa.Integer(), nullable=True),
        sa.Column("reference_id", sa.Integer(), nullable=True),
        sa.Column("quantity", sa.Text(), nullable=False),
        sa.Column("axis", sa.Text(), nullable=False),
        sa.Column("repeat", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("sheet_position", sa.Integer(), nullable=False),
        sa.Column("put_off", sa.Integer(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.CheckConstraint("(ball_id IS NULL) <> (reference_id IS NULL)", name=op.f("ck_place_whose")),
        sa.ForeignKeyConstraint(["ball_id"], ["ball.id"], name=op.f("fk_place_ball_id")),
        sa.ForeignKeyConstraint(["reference_id"], ["reference_piece.id"], name=op.f("fk_place_reference_id")),
        sa.ForeignKeyConstraint(["test_id"], ["ball_test.id"], name=op.f("fk_place_test_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_place")),
    )
    op.create_index(op.f("ix_place_test_id_position"), "place", ["test_id", "position"], unique=False)
    op.create_table(
        "test_ball",
        sa.Column("test_id", sa.Integer(), nullable=False),
        sa.Column("ball_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["ball_id"], ["ball.id"], name=op.f("fk_test_ball_ball_id")),
        sa.ForeignKeyConstraint(["test_id"], ["ball_test.id"], name=op.f("fk_test_ball_test_id")),
        sa.PrimaryKeyConstraint("test_id", "ball_id", name=op.f("pk_test_ball")),
        sa.UniqueConstraint("test_id", "number", name=op.f("uq_test_ball_test_id_number")),
    )
    op.create_table(
        "attempt",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("test_id", sa.Integer(), nullable=False),
        sa.Column("sitting_id", sa.Integer(), nullable=False),
        sa.Column("place_id", sa.Integer(), nullable=True),
        sa.Column("make", sa.Text(), nullable=False),
        sa.Column("box", sa.Text(), nullable=False),
        sa.Column("ball", sa.Text(), nullable=False),
        sa.Column("quantity", sa.Text(), nullable=False),
        sa.Column("axis", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("gross", sa.Boolean(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.CheckConstraint("kind IN ('asked', 'spoiled')", name=op.f("ck_attempt_kind")),
        sa.ForeignKeyConstraint(
            ["key"], ["submission.key"], name=op.f("fk_attempt_key"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["place_id"], ["place.id"], name=op.f("fk_attempt_place_id")),
        sa.ForeignKeyConstraint(["sitting_id"], ["sitting.id"], name=op.f("fk_attempt_sitting_id")),
        sa.ForeignKeyConstraint(["test_id"], ["ball_test.id"], name=op.f("fk_attempt_test_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_attempt")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_attempt_key"), "attempt", ["key"], unique=False)
    op.create_index(op.f("ix_attempt_test_id_id"), "attempt", ["test_id", "id"], unique=False)
    op.create_table(
        "reading",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("test_id", sa.Integer(), nullable=False),
        sa.Column("sitting_id", sa.Integer(), nullable=False),
        sa.Column("place_id", sa.Integer(), nullable=False),
        sa.Column("ball_id", sa.Integer(), nullable=True),
        sa.Column("reference_id", sa.Integer(), nullable=True),
        sa.Column("quantity", sa.Text(), nullable=False),
        sa.Column("axis", sa.Text(), nullable=False),
        sa.Column("repeat", sa.Integer(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("value", sa.Double(), nullable=True),
        sa.Column("answer", sa.Boolean(), nullable=True),
        sa.Column("decimals", sa.Integer(), nullable=False),
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("instrument_id", sa.Integer(), nullable=True),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("client", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("confirmed", sa.Boolean(), nullable=False),
        sa.CheckConstraint("(ball_id IS NULL) <> (reference_id IS NULL)", name=op.f("ck_reading_whose")),
        sa.CheckConstraint("(value IS NULL) <> (answer IS NULL)", name=op.f("ck_reading_number_or_answer")),
        sa.ForeignKeyConstraint(["ball_id"], ["ball.id"], name=op.f("fk_reading_ball_id")),
        sa.ForeignKeyConstraint(["instrument_id"], ["instrument.id"], name=op.f("fk_reading_instrument_id")),
        sa.ForeignKeyConstraint(
            ["key"], ["submission.key"], name=op.f("fk_reading_key"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["place_id"], ["place.id"], name=op.f("fk_reading_place_id")),
        sa.ForeignKeyConstraint(["reference_id"], ["reference_piece.id"], name=op.f("fk_reading_reference_id")),
        sa.ForeignKeyConstraint(["sitting_id"], ["sitting.id"], name=op.f("fk_reading_sitting_id")),
        sa.ForeignKeyConstraint(["test_id"], ["ball_test.id"], name=op.f("fk_reading_test_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reading")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_reading_ball_id"), "reading", ["ball_id"], unique=False)
    op.create_index(op.f("ix_reading_key"), "reading", ["key"], unique=False)
    op.create_index(op.f("ix_reading_place_id"), "reading", ["place_id"], unique=False)
    op.create_index(
        op.f("ix_reading_test_id_ball_id_quantity_axis_repeat"),
        "reading",
        ["test_id", "ball_id", "quantity", "axis", "repeat"],
        unique=False,
    )
    op.create_index(op.f("ix_reading_test_id_id"), "reading", ["test_id", "id"], unique=False)
    op.create_index(op.f("ix_reading_test_id_quantity_id"), "reading", ["test_id", "quantity", "id"], unique=False)
    op.create_index(
        op.f("ix_reading_test_id_reference_id_repeat"), "reading", ["test_id", "reference_id", "repeat"], unique=False
    )
    op.create_table(
        "amendment",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("test_id", sa.Integer(), nullable=False),
        sa.Column("reading_id", sa.Integer(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("value", sa.Double(), nullable=True),
        sa.Column("answer", sa.Boolean(), nullable=True),
        sa.Column("decimals", sa.Integer(), nullable=True),
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.CheckConstraint("action IN ('take back', 'exclude', 'correct', 'keep')", name=op.f("ck_amendment_action")),
        sa.CheckConstraint("reason <> ''", name=op.f("ck_amendment_reason")),
        sa.ForeignKeyConstraint(
            ["key"], ["submission.key"], name=op.f("fk_amendment_key"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["reading_id"], ["reading.id"], name=op.f("fk_amendment_reading_id")),
        sa.ForeignKeyConstraint(["test_id"], ["ball_test.id"], name=op.f("fk_amendment_test_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_amendment")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_amendment_reading_id_id"), "amendment", ["reading_id", "id"], unique=False)
    op.create_index(op.f("ix_amendment_key"), "amendment", ["key"], unique=False)
    op.create_index(op.f("ix_amendment_test_id_id"), "amendment", ["test_id", "id"], unique=False)
    op.create_table(
        "instrument_check",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("test_id", sa.Integer(), nullable=False),
        sa.Column("sitting_id", sa.Integer(), nullable=False),
        sa.Column("reading_id", sa.Integer(), nullable=False),
        sa.Column("reference_id", sa.Integer(), nullable=False),
        sa.Column("instrument_id", sa.Integer(), nullable=False),
        sa.Column("value", sa.Double(), nullable=False),
        sa.Column("known", sa.Double(), nullable=False),
        sa.Column("allowed", sa.Double(), nullable=False),
        sa.Column("passed", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(["instrument_id"], ["instrument.id"], name=op.f("fk_instrument_check_instrument_id")),
        sa.ForeignKeyConstraint(["reading_id"], ["reading.id"], name=op.f("fk_instrument_check_reading_id")),
        sa.ForeignKeyConstraint(
            ["reference_id"], ["reference_piece.id"], name=op.f("fk_instrument_check_reference_id")
        ),
        sa.ForeignKeyConstraint(["sitting_id"], ["sitting.id"], name=op.f("fk_instrument_check_sitting_id")),
        sa.ForeignKeyConstraint(["test_id"], ["ball_test.id"], name=op.f("fk_instrument_check_test_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_instrument_check")),
        sa.UniqueConstraint("reading_id", name=op.f("uq_instrument_check_reading_id")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_instrument_check_test_id_id"), "instrument_check", ["test_id", "id"], unique=False)
    op.create_index(
        op.f("ix_instrument_check_test_id_instrument_id_reading_id"),
        "instrument_check",
        ["test_id", "instrument_id", "reading_id"],
        unique=False,
    )
    op.create_table(
        "test_recording",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("test_id", sa.Integer(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("reading_id", sa.Integer(), nullable=True),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["digest"], ["recording.digest"], name=op.f("fk_test_recording_digest")),
        sa.ForeignKeyConstraint(
            ["key"], ["submission.key"], name=op.f("fk_test_recording_key"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["reading_id"], ["reading.id"], name=op.f("fk_test_recording_reading_id")),
        sa.ForeignKeyConstraint(["test_id"], ["ball_test.id"], name=op.f("fk_test_recording_test_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_test_recording")),
    )
    op.create_index(op.f("ix_test_recording_key"), "test_recording", ["key"], unique=False)
    op.create_index(op.f("ix_test_recording_test_id_id"), "test_recording", ["test_id", "id"], unique=False)
    name = sa.table("identity", sa.column("notebook", sa.Text()))
    op.bulk_insert(name, [{"notebook": str(uuid.uuid4())}])
    _keep_as_recorded(op.get_bind().dialect.name)


def _keep_as_recorded(dialect: str) -> None:
    """Refuse UPDATE and DELETE, and TRUNCATE or INSERT OR REPLACE where there is such a thing."""
    if dialect == "postgresql":
        op.execute(
            "CREATE FUNCTION ballbench_keeps() RETURNS trigger LANGUAGE plpgsql AS "
            f"$$ BEGIN RAISE EXCEPTION '{_SAYS}'; END $$"
        )
    for table in APPEND_ONLY:
        for act in ("UPDATE", "DELETE"):
            name = f"{table}_refuses_{act.lower()}"
            if dialect == "postgresql":
                op.execute(
                    f"CREATE TRIGGER {name} BEFORE {act} ON {table} FOR EACH ROW EXECUTE FUNCTION ballbench_keeps()"
                )
            else:
                op.execute(f"CREATE TRIGGER {name} BEFORE {act} ON {table} BEGIN SELECT RAISE(ABORT, '{_SAYS}'); END")
        if dialect == "postgresql":
            op.execute(
                f"CREATE TRIGGER {table}_refuses_truncate BEFORE TRUNCATE ON {table} "
                "FOR EACH STATEMENT EXECUTE FUNCTION ballbench_keeps()"
            )
        else:
            known = f"SELECT 1 FROM {table} WHERE {_KNOWN_BY.get(table, 'id = NEW.id')}"  # noqa: S608 - names of this file
            op.execute(
                f"CREATE TRIGGER {table}_refuses_replace BEFORE INSERT ON {table} WHEN EXISTS ({known}) "
                f"BEGIN SELECT RAISE(ABORT, '{_SAYS}'); END"
            )
