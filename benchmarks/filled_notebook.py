"""Notebooks of any size, invented: tests of a few thousand readings, each reading sent on its own at the bench."""

from __future__ import annotations

import json
import uuid
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np
from sqlalchemy import insert

from ballbench.records.bench_state import KeptReading, Place
from ballbench.store import Notebook, Reply, Tx, open_notebook
from ballbench.store.ball_tests import quantities_of
from ballbench.store.bench import begin_sitting as write_sitting
from ballbench.store.bench import finish_test, open_sitting, places_of
from ballbench.store.tables import reading, submission
from ballbench.store.taking_in import instrument_numbers, write_many
from ballbench.workflows.requirement_text import requirement_of
from ballbench.workflows.set_up import BoxPlan, InstrumentPlan, MakePlan, QuantityPlan, SetUp, write_set_up

__all__ = ["AT", "LARGE", "USUAL", "Filled", "Shape", "fill", "typed"]

AT = "2026-11-21T10:00:00+01:00"
_BOXES_EACH = 2
_MAKES = ("Curlew", "Dunlin", "Plover")


@dataclass(frozen=True, slots=True)
class Shape:
    """How large a test is: balls of a box, readings of each of three places on a ball."""

    balls: int
    repeats: int

    @property
    def places(self) -> int:
        """Diameters along three axes, and one mass, of every ball."""
        return len(_MAKES) * _BOXES_EACH * self.balls * (3 * self.repeats + 1)


USUAL = Shape(balls=48, repeats=4)
"""3,744 places: three makes of two boxes of 48."""
LARGE = Shape(balls=160, repeats=16)
"""47,040 places, near the most that a set-up takes, all read in one sitting."""


@dataclass(frozen=True, slots=True)
class Filled:
    """A notebook that was filled.

    Parameters
    ----------
    readings : int
        In all of it.
    tests : tuple of (int, int)
        Tests that are still measured, each with how many of its places are read.
    """

    readings: int
    tests: tuple[tuple[int, int], ...]


def typed(place: int, turn: int) -> str:
    """Give what the invented caliper or scale shows at a place, never the same twice running."""
    return f"{42.70 + 0.01 * ((7 * place + 3 * turn) % 23):.2f}"


def fill(folder: Path, finished: int, going_on: tuple[tuple[Shape, int], ...]) -> Filled:
    """Fill a new notebook.

    Tests and places are written as a set-up writes them; readings by the store's own many-row writing, a test a
    transaction, and beside each reading the submission that a bench would have sent for it, with its key and reply.

    Parameters
    ----------
    folder : Path
        Of the notebook.
    finished : int
        How many whole tests of the usual shape, all read.
    going_on : tuple of (Shape, int)
        Tests that are measured, and how many of their places are read.
    """
    notebook, rng = open_notebook(folder), np.random.default_rng(1)
    try:
        for number in range(finished):
            _filled_test(notebook, USUAL, USUAL.places, number, rng, over=True)
        tests = [
            (_filled_test(notebook, shape, count, finished + number, rng, over=False), count)
            for number, (shape, count) in enumerate(going_on)
        ]
    finally:
        notebook.close()
    return Filled(finished * USUAL.places + sum(count for _, count in tests), tuple(tests))


def _filled_test(
    notebook: Notebook, shape: Shape, count: int, number: int, rng: np.random.Generator, *, over: bool
) -> int:
    def work(tx: Tx) -> Reply:
        requirement, text = requirement_of("golf")
        test = write_set_up(tx, _set_up(shape, number), requirement, text, number)
        sitting = write_sitting(tx, test, "bench", "", "E", AT)
        _readings(tx, test, sitting, count, rng)
        if over:
            finish_test(tx, test, AT)
        else:
            assert open_sitting(tx, test) is not None, "what is measured goes on in the sitting that was filled"
        return {"id": test}

    return int(notebook.submit(f"filled {number}", None, "set up", "filling", work)["id"])


def _set_up(shape: Shape, number: int) -> SetUp:
    makes = tuple(
        MakePlan(make, tuple(BoxPlan(f"{make[0]}-{number}-{box}", shape.balls) for box in range(1, _BOXES_EACH + 1)))
        for make in _MAKES
    )
    quantities = (
        QuantityPlan("diameter", ("seam", "across", "free"), shape.repeats, "caliper"),
        QuantityPlan("mass", (), 1, "scale"),
    )
    tools = (InstrumentPlan("caliper", "diameter", "mm", 0.01), InstrumentPlan("scale", "mass", "g", 0.01))
    key = f"filled {number}"
    return SetUp(key, "filling", "E", AT, "golf", makes, quantities, tools, title=f"Test {number}", invented=True)


def _readings(tx: Tx, test: int, sitting: int, count: int, rng: np.random.Generator) -> None:
    """Write the first so many readings of a test, and the submissions that brought them."""
    places = places_of(tx, test)[:count]
    assert len(places) == count
    tools, units = instrument_numbers(tx, test), {one.name: one.unit for one in quantities_of(tx, test)}
    names = {"diameter": "caliper", "mass": "scale"}
    keys = [str(uuid.UUID(bytes=rng.bytes(16), version=4)) for _ in places]
    rows: list[dict[str, Any]] = []
    for place, key in zip(places, keys, strict=True):
        text = typed(place.order, 0)
        rows.append({
            "key": key, "test_id": test, "sitting_id": sitting, "place_id": place.id, "ball_id": place.ball,
            "reference_id": None, "quantity": place.quantity, "axis": place.axis, "repeat": place.repeat,
            "text": text, "value": float(text), "answer": None, "decimals": 2, "unit": units[place.quantity],
            "instrument_id": tools[names[place.quantity], place.quantity], "by": "E", "at": AT, "client": "filling",
            "note": "", "confirmed": False,
        })  # fmt: skip
    numbers = write_many(tx, "reading", rows)
    sent = [
        {"key": row["key"], "test_id": test, "kind": "entry", "client": "filling", "received": AT,
         "reply": json.dumps(_reply(row, number, place, names[place.quantity]))}
        for row, number, place in zip(rows, numbers, places, strict=True)
    ]  # fmt: skip
    tx.execute(insert(submission), sent)
    assert {column.name for column in reading.columns} - {"id"} == set(rows[0])


def _reply(row: dict[str, Any], number: int, place: Place, instrument: str) -> Reply:
    """Give what the bench would have answered."""
    kept = KeptReading(
        number, place.id, place.ball, None, place.quantity, place.axis, place.repeat, row["text"], row["value"], None,
        row["unit"], row["sitting_id"], row["by"], row["at"], instrument=instrument,
    )  # fmt: skip
    return {"status": "kept", "reading": asdict(kept), "question": None, "check": None, "also": []}
