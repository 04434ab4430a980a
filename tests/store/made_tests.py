"""Tests of invented balls, set up and read as a person at the bench would."""

from __future__ import annotations

import itertools
import uuid
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from ballbench.records.ball_test import BallTest
from ballbench.records.bench_state import Place
from ballbench.store import Notebook
from ballbench.workflows.bench import bench_state
from ballbench.workflows.bench_requests import Entry
from ballbench.workflows.measure import enter
from ballbench.workflows.set_up import (
    BoxPlan,
    InstrumentPlan,
    MakePlan,
    QuantityPlan,
    ReferencePlan,
    SetUp,
    set_up_test,
)

__all__ = ["LEAGUE", "RULE", "a_set_up", "entry", "fill", "key", "new_test", "places", "put", "read", "sent", "time_of"]

LEAGUE = Path(__file__).parents[2] / "examples" / "winter-league"
"""The folder of the invented winter league."""

RULE = (LEAGUE / "league-ball.toml").read_text(encoding="utf-8")
"""The requirement of the invented winter league: diameter, mass, rebound, and whether a ball has a crack."""

SPOKEN = {"diameter": "40.2", "mass": "2.7", "rebound": "25"}
"""How an ordinary reading of each quantity begins; a last digit follows."""

_BEGUN = datetime.fromisoformat("2026-11-21T10:00:00+01:00")
_moments = itertools.count()


def time_of(second: int) -> str:
    """Give a moment of the invented day."""
    return (_BEGUN + timedelta(seconds=second)).isoformat()


def key() -> str:
    """Make a new key."""
    return str(uuid.uuid4())


def sent(**more: Any) -> dict[str, Any]:
    """Give what every act carries, ten seconds after the last."""
    return {"key": key(), "client": "tab", "by": "E", "at": time_of(10 * next(_moments)), **more}


def a_set_up(**changes: Any) -> SetUp:
    """Ask for two makes of three balls each: diameter at two axes, mass, rebound twice, and cracks."""
    usual: dict[str, Any] = {
        "requirement": RULE,
        "makes": (MakePlan("Curlew", (BoxPlan("C-1", 3),)), MakePlan("Dunlin", (BoxPlan("D-1", 3),))),
        "quantities": (
            QuantityPlan("diameter", ("seam", "across"), 1, "caliper"), QuantityPlan("mass", (), 1, "scale"),
            QuantityPlan("rebound", (), 2, "phone"), QuantityPlan("crack"),
        ),
        "instruments": (
            InstrumentPlan("caliper", "diameter", "mm", 0.01, 0.008, 20.0, 0.0, 0.012),
            InstrumentPlan("scale", "mass", "g", 0.01), InstrumentPlan("phone", "rebound", "mm", 1.0, 2.5, 10.0),
        ),
        "references": (ReferencePlan("steel ball", "diameter", 40.00, 0.001, "mm", "caliper"),),
        "conditions": {"drop_height": "305 mm", "surface": "steel block"},
        "title": "Winter league (invented)", "invented": True, "seed": 1,
    }  # fmt: skip
    return SetUp(**{**sent(), **usual, **changes})


def new_test(notebook: Notebook, **changes: Any) -> BallTest:
    """Set such a test up."""
    return set_up_test(notebook, a_set_up(**changes))


def entry(place: int, text: str, **more: Any) -> Entry:
    """Make an entry of a text for a place."""
    return Entry(**sent(place=place, text=text, **more))


def put(notebook: Notebook, test: int, place: int, text: str, **more: Any) -> dict[str, Any]:
    """Enter a text, and once more where it is asked about, so that it is kept whatever it is."""
    reply = enter(notebook, test, entry(place, text, **more))
    if reply["status"] == "asked":
        reply = enter(notebook, test, entry(place, text, confirms=reply["question"]["key"], **more))
    assert reply["status"] == "kept"
    return reply


def read(place: Place, number: int) -> str:
    """Give an ordinary reading of a place; numbers that follow each other differ."""
    if place.reference is not None:
        return "40.00"
    return f"{SPOKEN[place.quantity]}{number % 7}" if place.quantity in SPOKEN else "no"


def places(notebook: Notebook, test: int, quantity: str) -> list[Place]:
    """Give the balls' places of a quantity in their order."""
    return [one for one in bench_state(notebook, test).places if one.quantity == quantity and one.ball is not None]


def fill(notebook: Notebook, test: int, texts: Sequence[str] | None = None) -> Iterator[dict[str, Any]]:
    """Read every place that is empty, in its order; give the replies."""
    empty = [place for place in bench_state(notebook, test).places if not place.filled]
    for number, place in enumerate(empty):
        yield put(notebook, test, place.id, read(place, number) if texts is None else texts[number])
