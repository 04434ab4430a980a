"""What was heard as a readings file that `judge` and `compare` take, and as a bench file that says how sure it is."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from ballbench.findings.bouncing.results import BounceDrop, BounceFindings, BounceRecording
from ballbench.quantities.rounding import format_value
from ballbench.records.bench_text import WrittenInstrument, instruments_toml, surroundings_toml
from ballbench.records.picks import Pick, picks_csv
from ballbench.workflows.readings_written import Row, Turns, readings_text

__all__ = ["bounce_bench", "bounce_picks", "bounce_readings"]

_REBOUND, _RESTITUTION = "sound of drops, rebound", "sound of drops, restitution"
_FINE = {"rebound": 3, "bounce_restitution": 5}


def bounce_readings(found: BounceFindings, *, fine: bool = False) -> str:
    """Write what was heard as the text of a readings file.

    Parameters
    ----------
    found : BounceFindings
        As found.
    fine : bool
        Write all figures, to be judged with the bench file of `bounce_bench`. Else each value is rounded to the power
        of ten that is nearest to its standard uncertainty, so that what is taken for granted without a bench file, an
        error of about one display step, is about right.

    Returns
    -------
    str
        CSV, two rows a drop where the drop height is known: the rebound from it, mm, and the restitution at the first
        impact. Each names the recording and its digest. A drop that was left out is a spoiled attempt.
    """
    rows: list[Row] = []
    turns = Turns()
    for recording in found.recordings:
        for drop in recording.drops:
            rows += _rows(recording, drop, turns.next(recording.product, recording.ball), fine=fine)
    return readings_text(rows, invented=found.footing.invented)


def _rows(recording: BounceRecording, drop: BounceDrop, repeat: int, *, fine: bool) -> Iterator[Row]:
    note = f"drop {drop.number} of {recording.file}, {recording.digest}"
    if recording.by_hand:
        note += ", impacts picked by hand"
    if not drop.counted or drop.rebound is None or not drop.bounces:
        why = drop.notes[-1] if drop.notes else "the drop height is not known"
        yield (
            recording.product, recording.ball, "rebound", "", "mm", str(repeat), _REBOUND,
            f"spoiled: {why}; {note}",
        )  # fmt: skip
        return
    for quantity, unit, instrument, one in (
        ("rebound", "mm", _REBOUND, drop.rebound),
        ("bounce_restitution", "1", _RESTITUTION, drop.bounces[0].restitution),
    ):
        decimals = _FINE[quantity] if fine else max(-round(math.log10(one.u)), 0)
        value = format_value(one.value, decimals)
        yield (recording.product, recording.ball, quantity, value, unit, str(repeat), instrument, note)


def bounce_picks(found: BounceFindings) -> str:
    """Write every impact as the text of a file of picks, to be mended and given back with ``--picks``."""
    rows = (
        Pick(0, recording.file, drop.number, number, impact.time)
        for recording in found.recordings
        for drop in recording.drops
        for number, impact in enumerate(drop.impacts, 1)
    )
    return picks_csv(tuple(rows))


def bounce_bench(found: BounceFindings, surface: str = "") -> str:
    """Write the bench file that goes with the readings.

    Parameters
    ----------
    found : BounceFindings
        As found, with a drop height.
    surface : str
        What the balls fell on; empty: not said.

    Returns
    -------
    str
        TOML: what drops of one ball differ by, pooled over the balls (the errors of single times where no ball was
        dropped twice), the error that all drops share, and the conditions.
    """
    conditions = {}
    if found.settings.drop_height is not None:
        conditions["drop_height"] = f"{found.settings.drop_height.value:g} mm"
    if surface.strip():
        conditions["surface"] = surface.strip()
    tools = [one for one in (_tool(found, "rebound"), _tool(found, "bounce_restitution")) if one is not None]
    return instruments_toml(tools) + "\n" + surroundings_toml(conditions, None, None)


def _tool(found: BounceFindings, quantity: str) -> WrittenInstrument | None:
    rebound = quantity == "rebound"
    shared = [ball.rebound_shared if rebound else ball.first_shared for ball in found.balls]
    shared = [u for u in shared if math.isfinite(u)]
    if not shared:
        return None
    groups: dict[tuple[str, str], list[tuple[float, float]]] = {}
    for recording in found.recordings:
        for drop in recording.drops:
            if drop.counted and drop.rebound is not None and drop.bounces:
                one = drop.rebound if rebound else drop.bounces[0].restitution
                groups.setdefault((recording.product, recording.ball), []).append((one.value, one.u))
    error = max(shared)
    own = math.sqrt(max(float(np.mean([u**2 for drops in groups.values() for _, u in drops])) - error**2, 0.0))
    dof = sum(len(drops) - 1 for drops in groups.values())
    squares = sum(float(np.var([value for value, _ in drops]) * len(drops)) for drops in groups.values())
    step = 10.0 ** -_FINE[quantity]
    sd = max(math.sqrt(squares / dof) if dof else 0.0, own, step / 2.0)
    return WrittenInstrument(
        _REBOUND if rebound else _RESTITUTION, quantity, "mm" if rebound else "1", step, float(f"{sd:.4g}"),
        float(dof) if dof else None, 0.0, float(f"{error:.4g}"),
    )  # fmt: skip
