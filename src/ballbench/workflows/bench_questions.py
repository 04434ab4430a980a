"""What an entry is held against, as the notebook has it at that moment."""

from __future__ import annotations

from typing import Any

from ballbench.quantities.kinds import KINDS
from ballbench.records.ball_test import PlannedQuantity
from ballbench.records.bench_gate import Asked, BenchFellows, Written, ask_about
from ballbench.records.entry import Typed
from ballbench.records.written_units import exact_factor
from ballbench.store import Tx
from ballbench.store.ball_tests import piece_of
from ballbench.store.readings import fellows_of, last_entry
from ballbench.workflows.ball_facts import read_moment
from ballbench.workflows.bench_requests import Entry

__all__ = ["FOR_ANOTHER", "question_about"]

FOR_ANOTHER = "this reading is for"
"""How the question begins that is asked where it is another person's turn; nothing of it tells a value."""

_MOST_FELLOWS = 400
"""The latest so many are enough to say where the others lie (own choice)."""

_NEAR_PIECE = 0.02
"""A reading further from a reference piece than this share of it is asked about (own choice)."""


def question_about(
    tx: Tx, place: Any, quantity: PlannedQuantity, typed: Typed, tool: Any, request: Entry, *, blind: bool
) -> Asked | None:
    """Ask about an entry that looks mistyped; None: nothing is odd about it, or it is yes or no."""
    if typed.value is None:
        return None
    fellows = fellows_of(tx, place, _MOST_FELLOWS)
    step = 10.0**-quantity.decimals if tool is None else tool.resolution * exact_factor(tool.unit, quantity.unit)
    of_balls = {one.ball for one in fellows} | {place.ball_id}
    held = BenchFellows(
        same_make=tuple(one.value for one in fellows),
        same_axis=tuple(one.value for one in fellows if one.axis == place.axis or place.ball_id is None),
        limits=quantity.limits if place.ball_id is not None else _around_piece(tx, place, quantity),
        kind=KINDS.get(quantity.name),
        step=step,
        last=_last(tx, place.test_id, request),
        balls=len(of_balls) if place.ball_id is not None else None,
        unit=quantity.unit,
    )
    written = Written(typed.decimals, exact_factor(typed.unit or quantity.unit, quantity.unit))
    asked = ask_about(typed.value, typed.text, written, held, blind=blind and place.ball_id is not None)
    return asked or _of_another(place, request)


def _of_another(place: Any, request: Entry) -> Asked | None:
    """Ask about a round of a repeat study that is read by another person than the one whose turn it is."""
    reader = request.by.strip()
    if not place.person or place.person.casefold() == reader.casefold():
        return None
    return Asked(f"{FOR_ANOTHER} {place.person}, and {reader} typed it", gross=False)


def _around_piece(tx: Tx, place: Any, quantity: PlannedQuantity) -> tuple[float | None, float | None]:
    piece = piece_of(tx, place.reference_id)
    known = piece.value * exact_factor(piece.unit, quantity.unit)
    return known * (1.0 - _NEAR_PIECE), known * (1.0 + _NEAR_PIECE)


def _last(tx: Tx, test_id: int, request: Entry) -> tuple[str, float] | None:
    """Give what the same sender entered last in this test, and how many seconds ago by its own clock."""
    last = last_entry(tx, test_id, request.client)
    now, then = read_moment(request.at), read_moment("" if last is None else last[1])
    return None if last is None or now is None or then is None else (last[0], abs((now - then).total_seconds()))
