"""The notebook's tables.

Numbers of rows are never used again (`sqlite_autoincrement`). Times are text, ISO 8601 with a zone, as the bench
wrote them; values are float64 in the base unit of their quantity. Rows of `APPEND_ONLY` are written once: triggers,
made by the first migration, refuse to change or delete them.
"""

from __future__ import annotations

from sqlalchemy import (
    Boolean,
    CheckConstraint,
    Column,
    Double,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
)

__all__ = [
    "APPEND_ONLY",
    "METADATA",
    "amendment",
    "attempt",
    "ball",
    "ball_test",
    "box",
    "followed_plan",
    "identity",
    "instrument",
    "instrument_check",
    "make",
    "mark",
    "place",
    "plan",
    "planned_quantity",
    "qualification",
    "reading",
    "recording",
    "recording_picks",
    "reference_piece",
    "sitting",
    "submission",
    "test_ball",
    "test_box",
    "test_recording",
]

METADATA = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)


def _id() -> Column[int]:
    return Column("id", Integer, primary_key=True)


def _to(name: str, target: str, *, needed: bool = True) -> Column[int]:
    return Column(name, Integer, ForeignKey(f"{target}.id"), nullable=not needed)


def _text(name: str) -> Column[str]:
    return Column(name, Text, nullable=False, default="")


def _later(name: str) -> Column[str]:
    """Give a column that a later migration added: rows of before have it empty."""
    return Column(name, Text, nullable=False, server_default="")


def _of_submission() -> Column[str]:
    """Give the key of the submission that wrote the row; that row is written last, so the bond is checked at commit.

    A table with such a key has an index on it: SQLite looks there for rows that waited when the submission comes
    (SQLite documentation, "SQLite Foreign Key Support", section 4.2), and would read the whole table instead.
    """
    target = ForeignKey("submission.key", deferrable=True, initially="DEFERRED")
    return Column("key", Text, target, nullable=False)


def _who_and_when() -> tuple[Column[str], Column[str]]:
    return _text("by"), _text("at")


identity = Table("identity", METADATA, _id(), _text("notebook"))
"""One row: the notebook's own random name, by which readings that wait elsewhere know where they belong."""

make = Table("make", METADATA, _id(), Column("name", Text, nullable=False, unique=True))

box = Table(
    "box", METADATA, _id(), _to("make_id", "make"), _text("label"), _text("bought"), _text("bought_where"),
    _text("price"), _text("given_by"),
    Index(None, "make_id"),
)  # fmt: skip

ball = Table("ball", METADATA, _id(), _to("box_id", "box"), _text("label"), UniqueConstraint("box_id", "label"))

ball_test = Table(
    "ball_test", METADATA, _id(), _text("kind"), _text("title"), _text("requirement"), _text("requirement_title"),
    _text("requirement_digest"), _text("requirement_text"), _text("set_up"), _text("set_up_by"),
    Column("blind", Boolean(create_constraint=False), nullable=False), _text("rule"),
    Column("risk", Double, nullable=False), Column("seed", Integer, nullable=False),
    Column("invented", Boolean(create_constraint=False), nullable=False), Column("finished", Text),
    _text("bench_text"), _text("taken_from"), _later("purpose"),
    CheckConstraint("kind IN ('whole', 'quick', 'taken in')", name="kind"),
    sqlite_autoincrement=True,
)  # fmt: skip
"""`bench_text`: a bench file that was taken in, as it was, or conditions and material as TOML where instruments stand
apart. `taken_from`: digest of the readings file that was taken in. `purpose`: ``repeat study``, or empty where balls
are judged."""

test_box = Table(
    "test_box", METADATA,
    Column("test_id", Integer, ForeignKey("ball_test.id"), primary_key=True),
    Column("box_id", Integer, ForeignKey("box.id"), primary_key=True),
    Column("position", Integer, nullable=False),
)  # fmt: skip

test_ball = Table(
    "test_ball", METADATA,
    Column("test_id", Integer, ForeignKey("ball_test.id"), primary_key=True),
    Column("ball_id", Integer, ForeignKey("ball.id"), primary_key=True),
    _text("number"),
    UniqueConstraint("test_id", "number"),
)  # fmt: skip

instrument = Table(
    "instrument", METADATA, _id(), _to("test_id", "ball_test"), _text("name"), _text("quantity"), _text("unit"),
    Column("resolution", Double, nullable=False), Column("sd", Double), Column("dof", Double),
    Column("offset", Double, nullable=False), Column("offset_sd", Double), Column("scale_sd", Double, nullable=False),
    _text("zeroed"), _text("display"),
    UniqueConstraint("test_id", "name", "quantity"),
)  # fmt: skip
"""As it was when the test was set up, numbers in `unit`; `sd` null: usual values are assumed, and said."""

planned_quantity = Table(
    "planned_quantity", METADATA, _id(), _to("test_id", "ball_test"), _text("name"), _text("words"), _text("unit"),
    _text("axes"), Column("repeats", Integer, nullable=False), _to("instrument_id", "instrument", needed=False),
    Column("yes_no", Boolean(create_constraint=False), nullable=False),
    Column("signed", Boolean(create_constraint=False), nullable=False),
    Column("rank", Integer, nullable=False), Column("decimals", Integer, nullable=False),
    Column("lower", Double), Column("upper", Double), _text("caution"),
    UniqueConstraint("test_id", "name"),
)  # fmt: skip
"""`axes` is a JSON list."""

reference_piece = Table(
    "reference_piece", METADATA, _id(), _to("test_id", "ball_test"), _text("name"), _text("quantity"), _text("unit"),
    Column("value", Double, nullable=False), Column("u", Double, nullable=False), _to("instrument_id", "instrument"),
)  # fmt: skip

place = Table(
    "place", METADATA, _id(), _to("test_id", "ball_test"), _to("ball_id", "ball", needed=False),
    _to("reference_id", "reference_piece", needed=False), _text("quantity"), _text("axis"),
    Column("repeat", Integer, nullable=False), Column("position", Integer, nullable=False),
    Column("sheet_position", Integer, nullable=False), Column("put_off", Integer, nullable=False, default=0),
    _text("why"), _later("person"),
    CheckConstraint("(ball_id IS NULL) <> (reference_id IS NULL)", name="whose"),
    Index(None, "test_id", "position"),
)  # fmt: skip
"""`person`: who is to read it, in a repeat study; empty: anybody."""

submission = Table(
    "submission", METADATA, _id(), Column("key", Text, nullable=False, unique=True),
    _to("test_id", "ball_test", needed=False), _text("kind"), _text("client"), _text("received"), _text("reply"),
    _later("digest"),
    Index(None, "test_id", "id"),
    sqlite_autoincrement=True,
)  # fmt: skip
"""Everything that was ever sent to the notebook, with the reply it got: the same key again gets the same reply.
`digest`: SHA-256 of what was asked for, by which another request under the same key is told; empty: not known."""

sitting = Table(
    "sitting", METADATA, _id(), _to("test_id", "ball_test"), _text("label"), _text("kind"), _text("begun_by"),
    _text("begun"), Column("ended", Text),
    CheckConstraint("kind IN ('bench', 'paper')", name="kind"),
    UniqueConstraint("test_id", "label"),
)  # fmt: skip

reading = Table(
    "reading", METADATA, _id(), _of_submission(), _to("test_id", "ball_test"),
    _to("sitting_id", "sitting"), _to("place_id", "place"), _to("ball_id", "ball", needed=False),
    _to("reference_id", "reference_piece", needed=False), _text("quantity"), _text("axis"),
    Column("repeat", Integer, nullable=False), _text("text"), Column("value", Double),
    Column("answer", Boolean(create_constraint=False)), Column("decimals", Integer, nullable=False), _text("unit"),
    _to("instrument_id", "instrument", needed=False), *_who_and_when(), _text("client"), _text("note"),
    Column("confirmed", Boolean(create_constraint=False), nullable=False),
    CheckConstraint("(value IS NULL) <> (answer IS NULL)", name="number_or_answer"),
    CheckConstraint("(ball_id IS NULL) <> (reference_id IS NULL)", name="whose"),
    Index(None, "test_id", "ball_id", "quantity", "axis", "repeat"),
    Index(None, "test_id", "reference_id", "repeat"),
    Index(None, "test_id", "quantity", "id"), Index(None, "test_id", "id"), Index(None, "place_id"),
    Index(None, "ball_id"), Index(None, "key"),
    sqlite_autoincrement=True,
)  # fmt: skip

attempt = Table(
    "attempt", METADATA, _id(), _of_submission(), _to("test_id", "ball_test"),
    _to("sitting_id", "sitting"), _to("place_id", "place", needed=False),
    _text("make"), _text("box"), _text("ball"), _text("quantity"), _text("axis"), _text("kind"),
    _text("text"), _text("unit"), _text("why"),
    Column("gross", Boolean(create_constraint=False), nullable=False), *_who_and_when(),
    CheckConstraint("kind IN ('asked', 'spoiled')", name="kind"),
    Index(None, "test_id", "id"), Index(None, "key"),
    sqlite_autoincrement=True,
)  # fmt: skip
"""What was tried and is no reading: entries that the gate asked about, and spoiled attempts. Without a place: a file
that was taken in names the make only."""

amendment = Table(
    "amendment", METADATA, _id(), _of_submission(), _to("test_id", "ball_test"),
    _to("reading_id", "reading"), _text("action"), _text("text"), Column("value", Double),
    Column("answer", Boolean(create_constraint=False)), Column("decimals", Integer), _text("unit"), _text("reason"),
    *_who_and_when(),
    CheckConstraint("action IN ('take back', 'exclude', 'correct', 'keep')", name="action"),
    CheckConstraint("reason <> ''", name="reason"),
    Index(None, "reading_id", "id"), Index(None, "test_id", "id"), Index(None, "key"),
    sqlite_autoincrement=True,
)  # fmt: skip
"""What was said of a reading later; the last line holds."""

mark = Table(
    "mark", METADATA, _id(), _of_submission(), _to("test_id", "ball_test"),
    _to("sitting_id", "sitting", needed=False), _to("ball_id", "ball", needed=False), _text("kind"),
    Column("value", Double), _text("note"), *_who_and_when(),
    Index(None, "test_id", "id"), Index(None, "ball_id", "id"), Index(None, "key"),
    sqlite_autoincrement=True,
)  # fmt: skip
"""What else happened: temperatures, zeroed instruments, impacts, conditioning. Without a ball: all, or the bench."""

instrument_check = Table(
    "instrument_check", METADATA, _id(), _to("test_id", "ball_test"), _to("sitting_id", "sitting"),
    _to("reading_id", "reading"), _to("reference_id", "reference_piece"), _to("instrument_id", "instrument"),
    Column("value", Double, nullable=False), Column("known", Double, nullable=False),
    Column("allowed", Double, nullable=False), Column("passed", Boolean(create_constraint=False), nullable=False),
    UniqueConstraint("reading_id"), Index(None, "test_id", "id"), Index(None, "test_id", "instrument_id", "reading_id"),
    sqlite_autoincrement=True,
)  # fmt: skip

recording = Table(
    "recording", METADATA, Column("digest", Text, primary_key=True), _text("media_type"),
    Column("bytes", Integer, nullable=False), Column("content", LargeBinary),
)  # fmt: skip
"""A file named by the SHA-256 of its bytes: in the notebook's folder, or, on a server, in `content`."""

test_recording = Table(
    "test_recording", METADATA, _id(), _of_submission(), _to("test_id", "ball_test"),
    Column("digest", Text, ForeignKey("recording.digest"), nullable=False),
    _to("reading_id", "reading", needed=False), _text("name"), *_who_and_when(),
    Index(None, "test_id", "id"), Index(None, "key"),
)  # fmt: skip

recording_picks = Table(
    "recording_picks", METADATA, _id(), _of_submission(), _to("test_id", "ball_test"),
    Column("digest", Text, ForeignKey("recording.digest"), nullable=False),
    _to("reading_id", "reading"), _text("method"), _text("asked"), _text("picks"), _text("told"), *_who_and_when(),
    CheckConstraint("method IN ('listen', 'trace', 'watch')", name="method"),
    Index(None, "test_id", "id"), Index(None, "key"), Index(None, "reading_id"),
    sqlite_autoincrement=True,
)  # fmt: skip
"""How a reading came out of a recording: by which method, with what stated (`asked`), from which picks, and what came
out (`told`), the three as JSON. Picks of a sound are moments, drop by drop; of a film a list a picture that a person
marked; of a photograph there are none."""

plan = Table(
    "plan", METADATA, _id(), _of_submission(), _text("title"), _text("requirement"), _text("requirement_digest"),
    _text("quantity"), _text("asked"), _text("result"), *_who_and_when(),
    Index(None, "key"),
    sqlite_autoincrement=True,
)  # fmt: skip
"""A plan as it was made: what was asked, and what came out, both as JSON."""

followed_plan = Table(
    "followed_plan", METADATA,
    Column("test_id", Integer, ForeignKey("ball_test.id"), primary_key=True), _to("plan_id", "plan"),
)  # fmt: skip
"""Which plan a test follows, as it was set up: later changes show against it."""

qualification = Table(
    "qualification", METADATA, _id(), _of_submission(), _to("test_id", "ball_test", needed=False), _text("name"),
    _text("quantity"), _text("entry"), _text("sentence"), *_who_and_when(),
    Index(None, "key"), Index(None, "quantity", "id"),
    sqlite_autoincrement=True,
)  # fmt: skip
"""An instrument as it was qualified: its entry as a bench file, and what it tells apart in one sentence."""

APPEND_ONLY = (
    "identity", "reading", "attempt", "amendment", "mark", "instrument_check", "submission", "recording",
    "test_recording", "plan", "followed_plan", "qualification", "recording_picks",
)  # fmt: skip
"""Tables whose rows are written once."""
