"""An instrument check: a reference piece was read, and is held against what it is known to be."""

from __future__ import annotations

import math
from typing import Any

from ballbench.records import default_instrument
from ballbench.records.bench_state import CheckResult
from ballbench.records.default_instruments import ASSUMED_DOF
from ballbench.records.entry import Typed
from ballbench.records.reference_check import check_reading
from ballbench.records.written_units import exact_factor
from ballbench.store import Tx
from ballbench.store.ball_tests import piece_of
from ballbench.store.bench import checks_of, write_check

__all__ = ["check_piece"]


def check_piece(tx: Tx, place: Any, reading: int, unit: str, typed: Typed, tool: Any, sitting: int) -> CheckResult:
    """Hold a reading of a reference piece against what the piece is, and keep what came of it.

    What the instrument's own offset is not known to (its calibration, or usual values) counts with the piece's
    uncertainty: a check is to find a change, not what was said to be unknown. A failed check throws doubt on all
    that the instrument read from its last check that passed to its next one.
    """
    piece = piece_of(tx, place.reference_id)
    of_piece, of_tool = exact_factor(piece.unit, unit), exact_factor(tool.unit, unit)
    known, step = piece.value * of_piece, tool.resolution * of_tool
    usual = default_instrument(place.quantity, unit, step)
    sd, dof = (usual.sd, usual.dof) if tool.sd is None else (tool.sd * of_tool, tool.dof or ASSUMED_DOF)
    value = (typed.value or 0.0) - tool.offset * of_tool
    offset_sd = usual.offset_sd if tool.offset_sd is None else tool.offset_sd * of_tool
    u = math.hypot(piece.u * of_piece, offset_sd)
    allowed, passed = check_reading(value, known, u, step, sd, dof)
    row = {
        "test_id": place.test_id, "sitting_id": sitting, "reading_id": reading, "reference_id": piece.id,
        "instrument_id": tool.id, "value": value, "known": known, "allowed": allowed, "passed": passed,
    }  # fmt: skip
    number = write_check(tx, row)
    return next(one for one in checks_of(tx, place.test_id) if one.id == number)
