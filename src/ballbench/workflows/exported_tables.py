"""A test as the files of the contract: readings, corrections, ball facts, instrument checks, bench."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from ballbench.records.ball_test import BallTest
from ballbench.records.bench_state import KeptReading
from ballbench.records.bench_text import WrittenInstrument, instruments_toml, sittings_toml
from ballbench.records.cells import guarded
from ballbench.records.reading_key import CORRECTION_COLUMNS
from ballbench.records.written_units import exact_factor
from ballbench.store import Tx
from ballbench.store.ball_tests import BallRow, balls_of, instruments_of, references_of, written_of
from ballbench.store.bench import checks_of, places_of, sittings_of
from ballbench.store.readings import amendments_of, attempts_of, readings_of
from ballbench.workflows.ball_facts import NotedFacts, facts_of

__all__ = ["BALL_COLUMNS", "CHECK_COLUMNS", "READING_COLUMNS", "Tables", "bench_text", "tables_of"]

READING_COLUMNS = (
    "product", "box", "ball", "quantity", "axis", "repeat", "value", "unit", "instrument", "operator", "sitting",
    "time", "note",
)  # fmt: skip
BALL_COLUMNS = (
    "product", "ball", "box", "conditioned_h", "opened", "pressure_kpa", "impacts", "temperature_c", "bought", "price",
)  # fmt: skip
CHECK_COLUMNS = (
    "piece", "instrument", "value", "known", "u", "allowed", "unit", "passed", "readings touched", "time",
)  # fmt: skip

_TOUCHED = "an instrument check failed beside it"


@dataclass(frozen=True, slots=True)
class Tables:
    """Rows of the files, cells as they are written, in the order of the columns above."""

    readings: tuple[tuple[str, ...], ...]
    corrections: tuple[tuple[str, ...], ...]
    balls: tuple[tuple[str, ...], ...]
    checks: tuple[tuple[str, ...], ...]


def tables_of(tx: Tx, test: BallTest) -> Tables:
    """Give a test as rows; readings of reference pieces stand among the checks only."""
    balls = {row.id: row for row in balls_of(tx, test.id)}
    readings = [one for one in readings_of(tx, test.id) if one.ball is not None]
    sittings = {one.id: one.label for one in sittings_of(tx, test.id)}
    places = {place.id: place for place in places_of(tx, test.id)}
    spoiled = [row for row in attempts_of(tx, test.id) if row.kind == "spoiled"]
    facts = facts_of(tx, test, readings)
    timed = test.kind != "quick"  # there, all have the time of the check, and alike ones would look entered twice
    read = [_reading(one, balls[one.ball or 0], sittings[one.sitting], timed=timed) for one in readings]
    tried = [_spoiled(row, places, balls, sittings) for row in spoiled if _of_ball(row, places)]
    return Tables(
        readings=tuple(read + tried),
        corrections=tuple(_corrections(tx, test, zip(readings, _lines(read, first_line(test)), strict=True), balls)),
        balls=tuple(_facts(test, balls[number], own) for number, own in facts.items()),
        checks=tuple(_checks(tx, test.id)),
    )


def _of_ball(row: Any, places: dict[int, Any]) -> bool:
    return row.place_id is None or places[row.place_id].ball is not None


def _reading(one: KeptReading, ball: BallRow, sitting: str, *, timed: bool) -> tuple[str, ...]:
    note = "; ".join(part for part in (one.note, _TOUCHED if one.touched else "") if part)
    unit = "" if one.value is None or one.unit == "1" else one.unit  # a lone 1 looks like a stray digit
    named = (ball.make, ball.box, ball.label, one.quantity, one.axis)
    rest = (one.instrument, one.by, sitting, one.at if timed else "", note)
    return (*map(guarded, named), str(one.repeat), one.text, unit, *map(guarded, rest))


def _spoiled(row: Any, places: dict[int, Any], balls: dict[int, BallRow], sittings: dict[int, str]) -> tuple[str, ...]:
    if row.place_id is None:
        named = (row.make, row.box, row.ball, row.quantity, row.axis)
    else:
        place = places[row.place_id]
        ball = balls[place.ball]
        named = (ball.make, ball.box, ball.label, place.quantity, place.axis)
    rest = ("", row.by, sittings[row.sitting_id], row.at, f"spoiled: {row.why}")
    return (*map(guarded, named), "", "", "", *map(guarded, rest))


def _lines(rows: Iterable[Sequence[str]], first: int) -> Iterator[int]:
    """Give the line of the file on which each row begins; a note that was taken in may run over several."""
    line = first
    for row in rows:
        yield line
        line += 1 + sum(cell.count("\n") for cell in row)


def _corrections(
    tx: Tx, test: BallTest, readings: Iterable[tuple[KeptReading, int]], balls: dict[int, BallRow]
) -> Iterator[tuple[str, ...]]:
    """Give the last line that was said of each reading, it is the one that holds; a line without a box fits any box."""
    last = {row.reading_id: row for row in amendments_of(tx, test.id)}
    placed = [(one, line, balls[one.ball or 0]) for one, line in readings]
    keys = [(ball.make, ball.label, one.quantity, one.axis, one.repeat) for one, _, ball in placed]
    in_box = Counter((key, ball.box) for key, (_, _, ball) in zip(keys, placed, strict=True))
    in_all = Counter(keys)
    for key, (one, line, ball) in zip(keys, placed, strict=True):
        row = last.get(one.id)
        if row is None:
            continue
        alike = in_box[key, ball.box] if ball.box else in_all[key]
        cells = {
            "product": ball.make, "ball": ball.label, "quantity": one.quantity, "axis": one.axis,
            "repeat": str(one.repeat), "action": "correct" if row.action == "correct" else
            "keep" if row.action == "keep" else "exclude",
            "value": row.text, "reason": row.reason, "by": row.by, "time": row.at, "box": ball.box,
            "line": str(line) if alike > 1 else "",
            "unit": row.unit if row.value is not None and row.unit != "1" else "",
        }  # fmt: skip
        yield tuple(cells[name] if name == "value" else guarded(cells[name]) for name in CORRECTION_COLUMNS)


def first_line(test: BallTest) -> int:
    """Give the line of the first reading in the readings file: below the header, and what stands above that."""
    return 3 if test.invented else 2


def _facts(test: BallTest, ball: BallRow, own: NotedFacts) -> tuple[str, ...]:
    box = next(one for one in test.boxes if one.id == ball.box_id)
    numbers = (own.conditioned_h, own.opened, own.pressure_kpa, own.impacts, own.temperature_c)
    cells = [_cell(value) for value in numbers]
    return (*map(guarded, (ball.make, ball.label, ball.box)), *cells, guarded(box.bought), guarded(box.price))


def _cell(value: float | str | None) -> str:
    return "" if value is None else value if isinstance(value, str) else f"{value:.6g}"


def _checks(tx: Tx, test_id: int) -> Iterator[tuple[str, ...]]:
    known_to = {(one.name, one.instrument): (one.u, one.unit) for one in references_of(tx, test_id)}
    for one in checks_of(tx, test_id):
        u, unit = known_to[one.reference, one.instrument]
        yield (
            guarded(one.reference), guarded(one.instrument), f"{one.value:.10g}", f"{one.known:.10g}",
            f"{u * exact_factor(unit, one.unit):.10g}", f"{one.allowed:.10g}", one.unit,
            "yes" if one.passed else "no", str(one.touched), one.at,
        )  # fmt: skip


def bench_text(tx: Tx, test: BallTest, reference_c: float | None) -> str:
    """Write the bench file of a test; empty where nothing is known.

    A bench file that was taken in stands as it was. Otherwise: the instruments of the set-up, conditions and material,
    and the balls' temperature of each sitting where the requirement's own temperature is known. Names are guarded as
    in the readings file, so that each is found under the name that it has there.
    """
    written = str(written_of(tx, test.id).bench_text)
    if test.kind == "taken in":
        return written
    tools = [
        WrittenInstrument(
            guarded(row.name), row.quantity, row.unit, row.resolution, row.sd, row.dof, row.offset, row.offset_sd,
            row.scale_sd, row.zeroed, row.display,
        )
        for row in instruments_of(tx, test.id)
    ]  # fmt: skip
    parts = [instruments_toml(tools), written]
    if reference_c is not None:
        felt = {guarded(one.label): one.ball_c for one in sittings_of(tx, test.id) if one.ball_c is not None}
        parts.append(sittings_toml(felt, reference_c))
    return "\n".join(part for part in parts if part)
