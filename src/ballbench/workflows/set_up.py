"""Set up a test from a requirement: its balls, its instruments, what is read of each, and in which order."""

from __future__ import annotations

import secrets
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, fields, is_dataclass, replace
from datetime import UTC, datetime
from types import MappingProxyType
from typing import Any

import numpy as np

from ballbench.records.ball_test import BallTest, PlannedQuantity
from ballbench.records.bench_text import WrittenInstrument, surroundings_toml
from ballbench.records.control_ball import CONTROL, ControlBall
from ballbench.records.reading_order import numbers_for, reading_order, sheet_key
from ballbench.specs import Requirement
from ballbench.store import Notebook, Reply, Tx
from ballbench.store.ball_tests import ball_test_of, balls_of
from ballbench.store.plans import follow_plan, has_plan
from ballbench.store.setting_up import (
    NewBall,
    NewPlace,
    NewTest,
    take_box,
    write_balls,
    write_box,
    write_places,
    write_test,
)
from ballbench.workflows.boxes_again import BoxAgain, KnownBox, known_boxes
from ballbench.workflows.repeat_study import Purpose, person_of, with_rounds
from ballbench.workflows.requirement_text import requirement_of
from ballbench.workflows.sending import digest_of
from ballbench.workflows.set_up_check import check_set_up
from ballbench.workflows.what_to_read import planned_quantities

__all__ = [
    "SEEDS",
    "BoxAgain",
    "BoxPlan",
    "InstrumentPlan",
    "MakePlan",
    "QuantityPlan",
    "ReferencePlan",
    "SetUp",
    "set_up_test",
    "with_bare_names",
    "write_set_up",
]

SEEDS = 2**31
"""Seeds are below this."""


@dataclass(frozen=True, slots=True)
class BoxPlan:
    """A box: its name and how many balls, or their names; when and where it was bought, or who gave it."""

    label: str
    balls: int
    labels: tuple[str, ...] = ()
    bought: str = ""
    where: str = ""
    price: str = ""
    given_by: str = ""

    @property
    def names(self) -> tuple[str, ...]:
        """The balls' names: as given, or 01, 02 and so on."""
        width = max(2, len(str(self.balls)))
        return self.labels or tuple(f"{number:0{width}d}" for number in range(1, self.balls + 1))


@dataclass(frozen=True, slots=True)
class MakePlan:
    """A make and its boxes."""

    make: str
    boxes: tuple[BoxPlan, ...]


InstrumentPlan = WrittenInstrument
"""An instrument as a set-up names it: as in a bench file."""


@dataclass(frozen=True, slots=True)
class QuantityPlan:
    """What is read of every ball: axes (empty: none), readings an axis, with which instrument."""

    name: str
    axes: tuple[str, ...] = ()
    repeats: int = 1
    instrument: str = ""


@dataclass(frozen=True, slots=True)
class ReferencePlan:
    """A piece of known size or mass with its standard uncertainty, in `unit`, and the instrument that it checks."""

    name: str
    quantity: str
    value: float
    u: float
    unit: str
    instrument: str


@dataclass(frozen=True, slots=True)
class SetUp:
    """What a person asks for when setting up a test.

    Parameters
    ----------
    key, client, by, at : str
        Of the submission: its own key, the sender, the person, and the sender's time (ISO 8601 with zone).
    title : str
        The person's name for the test; empty: that of the requirement.
    requirement : str
        An id of the catalogue, or the text of a requirement file (TOML).
    makes, instruments, quantities, references : tuple
        What is tested, with what.
    conditions : dict of str to str
        What holds at the bench, such as ``{"drop_height": "305 mm"}``.
    reference_c, expansion, expansion_relative_sd : float or None
        Temperature at which the requirement holds, degC, and the balls' linear expansion, 1/K, with its relative
        standard uncertainty; all or none.
    blind, invented : bool
        Makes, limits and earlier values are hidden; the data are invented.
    rule, risk : str, float
        Decision rule stated beforehand.
    seed : int or None
        Of the order; None: one is drawn.
    kind : {"whole", "quick"}
        A quick check is a test of one ball.
    control_every : int
        One ball of the test, drawn, is read again after every so many; 0: none is.
    boxes : tuple of BoxAgain
        Boxes that the notebook knows; `makes` are those that are new.
    purpose : {"", "repeat study"}
        A repeat study qualifies an instrument: one quantity, read again and again; empty: balls are judged.
    people : tuple of str
        Who reads in a repeat study, each of them as often as its `quantities` say.
    plan : int or None
        Of the notebook, which the test follows.
    """

    key: str
    client: str
    by: str
    at: str
    requirement: str
    makes: tuple[MakePlan, ...]
    quantities: tuple[QuantityPlan, ...]
    instruments: tuple[InstrumentPlan, ...] = ()
    references: tuple[ReferencePlan, ...] = ()
    title: str = ""
    conditions: dict[str, str] | None = None
    reference_c: float | None = None
    expansion: float | None = None
    expansion_relative_sd: float | None = None
    blind: bool = False
    invented: bool = False
    rule: str = "guarded"
    risk: float = 0.05
    seed: int | None = None
    kind: str = "whole"
    control_every: int = 0
    boxes: tuple[BoxAgain, ...] = ()
    purpose: Purpose = ""
    people: tuple[str, ...] = ()
    plan: int | None = None


def set_up_test(notebook: Notebook, request: SetUp) -> BallTest:
    """Set up a test; nothing is read yet.

    Raises
    ------
    BadInput
        All that is wrong with the request at once; the notebook is as it was.
    """
    request = with_rounds(with_bare_names(request))
    requirement, text = requirement_of(request.requirement)
    seed = secrets.randbelow(SEEDS) if request.seed is None else request.seed

    def work(tx: Tx) -> Reply:
        known = known_boxes(tx, request.boxes)
        check_set_up(request, requirement, known, planned=request.plan is None or has_plan(tx, request.plan))
        return {"id": write_set_up(tx, request, requirement, text, seed, known)}

    reply = notebook.submit(request.key, None, "set up", request.client, work, digest_of(request))
    with notebook.read() as connection:
        return ball_test_of(connection, int(reply["id"]))


def with_bare_names(request: SetUp) -> SetUp:
    """Take the blanks off both ends of every name, as whoever reads the test's files does."""
    named = ("makes", "quantities", "instruments", "references", "conditions", "people")
    return replace(request, **{name: _bare(getattr(request, name)) for name in named})


def _bare(value: Any) -> Any:
    if isinstance(value, str):
        return value.strip()
    if isinstance(value, tuple):
        return tuple(_bare(part) for part in value)
    if isinstance(value, dict):
        return {_bare(name): _bare(text) for name, text in value.items()}
    if is_dataclass(value) and not isinstance(value, type):
        return replace(value, **{field.name: _bare(getattr(value, field.name)) for field in fields(value)})
    return value


def write_set_up(
    tx: Tx,
    request: SetUp,
    requirement: Requirement,
    text: str,
    seed: int,
    known: Mapping[int, KnownBox] = MappingProxyType({}),
) -> int:
    """Write a test with its balls and places, and give its number; `known` has the boxes that it takes again."""
    quantities = planned_quantities(request.quantities, request.instruments, requirement)
    rng = np.random.default_rng(seed)
    test, references = write_test(tx, _new_test(request, requirement, text, quantities, seed))
    balls = write_balls(tx, test, _balls(tx, test, request, known, rng))
    boxes = {row.id: (row.make, row.box) for row in balls_of(tx, test)}
    write_places(tx, test, _places(request, quantities, balls, [boxes[ball] for ball in balls], references, rng))
    if request.plan is not None:
        follow_plan(tx, test, request.plan)
    return test


def _balls(tx: Tx, test: int, request: SetUp, known: Mapping[int, KnownBox], rng: np.random.Generator) -> list[NewBall]:
    """Write the boxes and give their balls: box by box, or, blind, by number, so that no order tells a box."""
    again = [known[one.box] for one in request.boxes]
    boxes = [(make.make, one) for make in request.makes for one in make.boxes]
    labels = [label for lot in again for label in lot.labels] + [name for _, one in boxes for name in one.names]
    numbers = iter(numbers_for(labels, rng, blind=request.blind))
    balls: list[NewBall] = []
    for position, lot in enumerate(again, 1):
        take_box(tx, test, lot.box.id, position)
        balls += [NewBall(lot.box.id, one.label, next(numbers), one.id) for one in lot.balls]
    for position, (make, one) in enumerate(boxes, len(again) + 1):
        facts = {"label": one.label, "bought": one.bought, "bought_where": one.where, "price": one.price,
                 "given_by": one.given_by}  # fmt: skip
        box = write_box(tx, test, make, position, facts)
        balls += [NewBall(box, name, next(numbers)) for name in one.names]
    return sorted(balls, key=lambda ball: ball.number) if request.blind else balls


def _new_test(
    request: SetUp, requirement: Requirement, text: str, quantities: tuple[PlannedQuantity, ...], seed: int
) -> NewTest:
    return NewTest(
        test={
            "kind": request.kind, "title": request.title.strip() or requirement.title, "requirement": requirement.id,
            "requirement_title": requirement.title, "requirement_digest": requirement.digest,
            "requirement_text": text, "set_up": request.at or datetime.now(UTC).isoformat(),
            "set_up_by": request.by.strip(), "blind": request.blind, "rule": request.rule, "risk": request.risk,
            "seed": seed, "invented": request.invented, "finished": None, "bench_text": _surroundings(request),
            "purpose": request.purpose,
        },
        instruments=[asdict(one) for one in request.instruments],
        quantities=[_columns(one) for one in quantities],
        references=[asdict(one) for one in request.references],
    )  # fmt: skip


def _columns(quantity: PlannedQuantity) -> dict[str, object]:
    columns = asdict(quantity)
    del columns["believable"]
    columns["lower"], columns["upper"] = columns.pop("limits")
    return columns


def _surroundings(request: SetUp) -> str:
    """Write what holds at the bench; the balls' own temperature is noted in each sitting."""
    known = request.reference_c is not None and request.expansion is not None
    return surroundings_toml(
        request.conditions or {},
        reference=request.reference_c if known else None,
        expansion=(request.expansion or 0.0, request.expansion_relative_sd or 0.0) if known else None,
    )


def _places(
    request: SetUp,
    quantities: Sequence[PlannedQuantity],
    balls: Sequence[int],
    boxes: Sequence[tuple[str, str]],
    references: Sequence[int],
    rng: np.random.Generator,
) -> list[NewPlace]:
    """Give every place to read with its position at the bench and on a paper sheet.

    Both are the shuffled order; a quick check is read ball by ball on paper.
    """
    pieces: dict[str, list[int]] = {}
    for index, piece in enumerate(request.references):
        pieces.setdefault(piece.quantity, []).append(index)
    whole, every = request.kind == "whole", request.control_every
    control = ControlBall(int(rng.integers(len(balls))), every) if whole and every else None
    turns = reading_order(quantities, len(balls), pieces, rng, shuffled=whole, boxes=boxes, control=control)
    on_paper = turns if whole else sorted(turns, key=lambda turn: sheet_key(turn, quantities))
    sheet = {turn: position for position, turn in enumerate(on_paper, 1)}
    planned = {one.name: one.repeats for one in quantities}
    return [
        NewPlace(
            None if turn.ball is None else balls[turn.ball],
            None if turn.reference is None else references[turn.reference],
            turn.quantity, turn.axis, turn.repeat, position, sheet[turn],
            CONTROL if turn.ball is not None and turn.repeat > planned[turn.quantity] else "",
            "" if turn.ball is None else person_of(request.people, turn.repeat),
        )
        for position, turn in enumerate(turns, 1)
    ]  # fmt: skip
