"""The rows of a test that is taken in: every reading a place, in the order of its file.

All rows are made before the notebook's door is opened, so that nobody at a bench waits for it; there they get their
numbers and are written.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import polars as pl

from ballbench.errors import BadReadings, Fault
from ballbench.quantities.kinds import KINDS
from ballbench.records import (
    Amended,
    Amendment,
    BallFacts,
    Bench,
    Correction,
    Corrections,
    Readings,
    base_unit,
    display_steps,
)
from ballbench.records.cells import unguarded
from ballbench.records.reading_order import numbers_for
from ballbench.records.test_order import caution_for, order_of
from ballbench.records.written_units import exact_factor
from ballbench.specs import Requirement
from ballbench.store import Tx
from ballbench.store.picks import write_picks
from ballbench.store.recordings import LaidDown, write_recording
from ballbench.store.setting_up import NewTest, write_box, write_test
from ballbench.store.taking_in import instrument_numbers, number_balls, write_many
from ballbench.workflows.sending import moment
from ballbench.workflows.stated_file import Stated
from ballbench.workflows.what_to_read import limits_of_a_ball

if TYPE_CHECKING:
    from ballbench.workflows.take_in_test import TakeIn

__all__ = ["MOST_ROWS", "BroughtIn", "TakenFiles", "TakenRows", "taken_rows", "write_taken_in"]

MOST_ROWS = 200_000
"""Rows of a readings file that one test takes in: four times what a set-up may ask for (own choice)."""

BallKey = tuple[str, str, str]
Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class BroughtIn:
    """A recording whose bytes are safe, and the reading that it belongs to.

    Parameters
    ----------
    laid : LaidDown
        The bytes.
    name, media_type, by, at : str
        As the notebook that it comes from has them.
    reading : tuple of str or None
        Product, box, ball, quantity, axis and repeat of its reading; None: it belongs to the test.
    worked : tuple of str or None
        Method, and as JSON what was stated, picked and told, where the reading came out of it.
    """

    laid: LaidDown
    name: str
    media_type: str
    by: str
    at: str
    reading: tuple[str, ...] | None
    worked: tuple[str, str, str, str] | None = None


@dataclass(frozen=True, slots=True)
class TakenFiles:
    """Files as they were read; `bench_text` is the bench file's own text, empty where there is none."""

    readings: Readings
    amended: Amended
    corrections: Corrections | None
    balls: BallFacts
    bench: Bench
    bench_text: str
    stated: Stated
    recordings: tuple[BroughtIn, ...] = ()


@dataclass(frozen=True, slots=True)
class TakenRows:
    """Rows of every table, without the numbers that only the notebook can give.

    Parameters
    ----------
    test : NewTest
        The test with its instruments and quantities.
    shared : mapping
        Columns that every act has: its key.
    boxes : tuple of (str, mapping, tuple of (str, str))
        Make, columns of the box, and name and number of each ball; balls are counted from 0 over all boxes.
    sittings : tuple of mapping
        Columns; other rows name a sitting by its label in ``sitting``.
    readings : tuple of mapping
        Columns, with the ball's place in `boxes` in ``ball`` and the instrument's name in ``tool``.
    amendments : tuple of mapping
        Columns, with the reading's place in `readings` in ``reading``.
    attempts, marks : tuple of mapping
        Columns; a mark may name its ``ball``.
    recordings : tuple of (BroughtIn, int or None)
        Recordings, each with the place of its reading in `readings`.
    """

    test: NewTest
    shared: Mapping[str, Any]
    boxes: tuple[tuple[str, Mapping[str, str], tuple[tuple[str, str], ...]], ...]
    sittings: tuple[Row, ...]
    readings: tuple[Row, ...]
    amendments: tuple[Row, ...]
    attempts: tuple[Row, ...]
    marks: tuple[Row, ...]
    recordings: tuple[tuple[BroughtIn, int | None], ...]


def taken_rows(request: TakeIn, requirement: Requirement, text: str, files: TakenFiles) -> TakenRows:
    """Make all rows.

    Raises
    ------
    BadReadings
        There are more than `MOST_ROWS`, or a recording belongs to a reading that is none of the file.
    """
    table = files.readings.table.sort("line")
    count = table.height + sum(one.count for one in files.readings.spoiled)
    if count > MOST_ROWS:
        todo = "split the file, by make or by box, and take each part in as a test of its own"
        raise BadReadings(Fault("readings", f"{count:,} rows", f"at most {MOST_ROWS:,} rows in one test", todo))
    keys = list(dict.fromkeys(table.select("product", "box", "ball").iter_rows()))
    order = {key: i for i, key in enumerate(key for _, own in _boxed(keys) for key in own)}
    rows = list(table.iter_rows(named=True))
    return TakenRows(
        test=_new_test(request, requirement, text, files),
        shared={"key": request.key},
        boxes=tuple(_box_rows(keys, files)),
        sittings=tuple(_sittings(table, files, request)),
        readings=tuple(_reading_rows(rows, order, files, request)),
        amendments=tuple(_amendments(files, {row["line"]: i for i, row in enumerate(rows)})),
        attempts=tuple(_spoiled(files)),
        marks=(*_facts(files, request, order), *_noted(files)),
        recordings=tuple(_recordings(rows, files)),
    )


def write_taken_in(tx: Tx, rows: TakenRows) -> int:
    """Write all rows and give the test's number."""
    test, _ = write_test(tx, rows.test)
    balls = _write_balls(tx, test, rows)
    own = {"test_id": test}
    numbers = write_many(tx, "sitting", rows.sittings, own)
    sittings = {row["label"]: number for row, number in zip(rows.sittings, numbers, strict=True)}
    places = write_many(tx, "place", [
        {"ball_id": balls[row["ball"]], "quantity": row["quantity"], "axis": row["axis"], "repeat": row["repeat"],
         "position": at, "sheet_position": at}
        for at, row in enumerate(rows.readings, 1)
    ], own | {"reference_id": None, "put_off": 0, "why": ""})  # fmt: skip
    tools, all_of = instrument_numbers(tx, test), {**own, **rows.shared}
    readings = write_many(tx, "reading", [
        {**_without(row, "ball", "sitting", "tool"), "ball_id": balls[row["ball"]], "place_id": place,
         "sitting_id": sittings[row["sitting"]], "instrument_id": tools.get((row["tool"], row["quantity"]))}
        for row, place in zip(rows.readings, places, strict=True)
    ], all_of | {"reference_id": None, "confirmed": False})  # fmt: skip
    write_many(tx, "amendment", [
        {**_without(row, "reading"), "reading_id": readings[row["reading"]]} for row in rows.amendments
    ], all_of)  # fmt: skip
    write_many(tx, "attempt", [
        {**_without(row, "sitting"), "sitting_id": sittings[row["sitting"]]} for row in rows.attempts
    ], all_of | {"place_id": None, "gross": False})  # fmt: skip
    write_many(tx, "mark", [
        {**_without(row, "ball", "sitting"), "ball_id": None if row["ball"] is None else balls[row["ball"]],
         "sitting_id": sittings.get(row["sitting"])}
        for row in rows.marks
    ], all_of)  # fmt: skip
    for one, reading in rows.recordings:
        of = {**all_of, "by": one.by, "at": one.at, "reading_id": None if reading is None else readings[reading]}
        write_recording(tx, one.laid, one.media_type, {**of, "name": one.name})
        if one.worked is not None and reading is not None:
            names = ("method", "asked", "picks", "told")
            write_picks(tx, {**of, "digest": one.laid.digest, **dict(zip(names, one.worked, strict=True))})
    return test


def _without(row: Row, *names: str) -> Row:
    return {name: value for name, value in row.items() if name not in names}


def _write_balls(tx: Tx, test: int, rows: TakenRows) -> list[int]:
    """Write makes, boxes and balls in their order, and give the balls' numbers."""
    new, numbers = [], []
    for position, (make, facts, balls) in enumerate(rows.boxes, 1):
        box = write_box(tx, test, make, position, facts)
        new += [{"box_id": box, "label": label} for label, _ in balls]
        numbers += [number for _, number in balls]
    ids = write_many(tx, "ball", new)
    number_balls(tx, test, dict(zip(ids, numbers, strict=True)))
    return list(ids)


def _new_test(request: TakeIn, requirement: Requirement, text: str, files: TakenFiles) -> NewTest:
    at, stated = request.at or moment(), files.stated
    return NewTest(
        test={
            "kind": "taken in", "title": request.title.strip() or stated.title or requirement.title,
            "requirement": requirement.id, "requirement_title": requirement.title,
            "requirement_digest": requirement.digest, "requirement_text": text, "set_up": stated.set_up or at,
            "set_up_by": stated.set_up_by or request.by.strip(), "blind": stated.blind,
            "purpose": stated.purpose,
            "rule": request.rule or stated.rule or "guarded",
            "risk": next(one for one in (request.risk, stated.risk, 0.05) if one is not None),
            "seed": next(one for one in (request.seed, stated.seed, 1) if one is not None),
            "invented": files.readings.invented, "finished": at, "bench_text": files.bench_text,
            "taken_from": files.readings.digest,
        },
        instruments=list(_instruments(files)),
        quantities=_quantities(requirement, files),
        references=[],
    )  # fmt: skip


def _instruments(files: TakenFiles) -> Iterator[Row]:
    """Give each instrument that the readings name: as the bench file has it, or by its display step."""
    steps = display_steps(files.readings)
    named = files.readings.table.filter(pl.col("instrument") != "").select("quantity", "instrument")
    for quantity, name in named.unique(maintain_order=True).iter_rows():
        step = steps.get((quantity, name), 1.0)  # for yes and no, which have no display
        known = files.bench.instruments.get(name)
        tool = known if known is not None and known.quantity == quantity else None
        of_bench = {} if tool is None or tool.assumed else {"sd": tool.sd, "dof": tool.dof}
        yield {
            "name": unguarded(name), "quantity": quantity, "unit": base_unit(files.readings, quantity),
            "resolution": step if tool is None else tool.resolution, **of_bench,
            "offset": 0.0 if tool is None else tool.offset, "offset_sd": None if tool is None else tool.offset_sd,
            "scale_sd": 0.0 if tool is None else tool.scale_sd,
            "zeroed": "each reading" if tool is None else tool.zeroed,
            "display": "rounds" if tool is None else tool.display,
        }  # fmt: skip


def _quantities(requirement: Requirement, files: TakenFiles) -> list[Row]:
    """Give what was read, as the file shows it, in the order in which a bench reads it."""
    table = files.readings.table
    rows = []
    for rank, name in enumerate(order_of(table["quantity"].unique(maintain_order=True).to_list()), 1):
        own = table.filter(pl.col("quantity") == name)
        kind, tools = KINDS.get(name), own.filter(pl.col("instrument") != "")["instrument"].mode().to_list()
        lower, upper = limits_of_a_ball(requirement, name)
        yes_no = own["value"].null_count() == own.height
        rows.append({
            "name": name, "words": kind.words if kind else name.replace("_", " "),
            "unit": base_unit(files.readings, name),
            "axes": [unguarded(axis) for axis in own["axis"].unique(maintain_order=True)],
            "repeats": max(own["repeat"].to_list(), default=1), "instrument": unguarded(min(tools, default="")),
            "yes_no": yes_no, "signed": kind is not None and kind.lowest < 0.0, "rank": rank,
            "decimals": 0 if yes_no else max(own["decimals"].to_list(), default=0), "lower": lower, "upper": upper,
            "caution": caution_for(name),
        })  # fmt: skip
    return rows


def _boxed(keys: Sequence[BallKey]) -> list[tuple[tuple[str, str], list[BallKey]]]:
    """Give the balls by box, both in the order of the file."""
    boxes: dict[tuple[str, str], list[BallKey]] = {}
    for key in keys:
        boxes.setdefault(key[:2], []).append(key)
    return list(boxes.items())


def _box_rows(
    keys: Sequence[BallKey], files: TakenFiles
) -> Iterator[tuple[str, Mapping[str, str], tuple[tuple[str, str], ...]]]:
    numbers = dict(zip(keys, numbers_for([unguarded(ball) for _, _, ball in keys], None, blind=False), strict=True))
    for (product, label), own in _boxed(keys):
        known = [files.balls.facts_of(*key) for key in own]
        facts = {
            "label": unguarded(label), "bought": unguarded(next((one.bought for one in known if one.bought), "")),
            "price": unguarded(next((one.price for one in known if one.price), "")),
        }  # fmt: skip
        yield unguarded(product), facts, tuple((unguarded(key[2]), numbers[key]) for key in own)


def _sittings(table: pl.DataFrame, files: TakenFiles, request: TakeIn) -> Iterator[Row]:
    """Give the sittings that are stated, then those that the readings name; one without a name where they name none."""
    at = request.at or moment()
    stated = {one.label: one for one in files.stated.sittings}
    for one in stated.values():
        yield {"label": one.label, "kind": one.kind, "begun_by": one.by or request.by.strip(), "begun": one.begun,
               "ended": one.ended or at}  # fmt: skip
    labels = [*table["sitting"].unique(maintain_order=True), *(one.sitting for one in files.readings.spoiled)]
    for label in dict.fromkeys(unguarded(label) for label in labels):
        if label not in stated:
            yield {"label": label, "kind": "bench", "begun_by": request.by.strip(), "begun": at, "ended": at}


def _reading_rows(
    rows: Sequence[Row], order: Mapping[BallKey, int], files: TakenFiles, request: TakeIn
) -> Iterator[Row]:
    """Give a reading for every row."""
    for row in rows:
        yield {
            "ball": order[row["product"], row["box"], row["ball"]], "sitting": unguarded(row["sitting"]),
            "tool": unguarded(row["instrument"]), "quantity": row["quantity"], "axis": unguarded(row["axis"]),
            "repeat": row["repeat"], **_value(row, files), "client": request.client,
            "by": unguarded(row["operator"]), "at": unguarded(row["time"]), "note": unguarded(row["note"]),
        }  # fmt: skip


def _value(row: Row, files: TakenFiles) -> Row:
    """Give a result as columns, its text as it was written."""
    if row["value"] is None:
        text = "yes" if row["answer"] else "no"
        return {"text": text, "value": None, "answer": row["answer"], "decimals": 0, "unit": ""}
    text = _text(row["value"], row["decimals"], row["unit"], base_unit(files.readings, row["quantity"]))
    return {"text": text, "value": row["value"], "answer": None, "decimals": row["decimals"], "unit": row["unit"]}


def _text(value: float, decimals: int, unit: str, base: str) -> str:
    """Write a value in the unit and with the decimals that it had."""
    return f"{value / exact_factor(unit or base, base):.{decimals}f}"


def _amendments(files: TakenFiles, by_line: Mapping[int, int]) -> Iterator[Row]:
    """Give what the corrections say, each as columns."""
    lines = files.corrections.lines if files.corrections is not None else ()
    done = {"correct": files.amended.corrected, "exclude": files.amended.excluded, "keep": files.amended.kept}
    for action, amended in done.items():
        said = [line for line in lines if line.action == action]
        for line, one in zip(said, amended, strict=True):
            yield {
                "reading": by_line[one.line], "action": action, **_right(line, one), "reason": unguarded(line.reason),
                "by": unguarded(line.by), "at": unguarded(line.time),
            }  # fmt: skip


def _right(line: Correction, one: Amendment) -> Row:
    """Give the right value of a correction as columns."""
    if line.value is not None:
        return {"text": f"{line.value:.{line.decimals}f}", "value": one.after, "answer": None,
                "decimals": line.decimals, "unit": line.unit}  # fmt: skip
    text = "" if line.answer is None else "yes" if line.answer else "no"
    return {"text": text, "value": None, "answer": line.answer, "decimals": None, "unit": ""}


def _spoiled(files: TakenFiles) -> Iterator[Row]:
    """Give spoiled attempts; they name no place of the bench."""
    for one in files.readings.spoiled:
        row = {
            "sitting": unguarded(one.sitting), "make": unguarded(one.product), "box": unguarded(one.box),
            "ball": unguarded(one.ball), "quantity": one.quantity, "axis": unguarded(one.axis), "kind": "spoiled",
            "text": "", "unit": "", "why": one.reason, "by": unguarded(one.operator), "at": unguarded(one.time),
        }  # fmt: skip
        yield from [row] * one.count


def _facts(files: TakenFiles, request: TakeIn, order: Mapping[BallKey, int]) -> Iterator[Row]:
    """Give what is known of single balls."""
    now = request.at or moment()
    for key, ball in order.items():
        known = files.balls.facts_of(*key)
        told = (
            ("conditioned", known.conditioned_h, ""), ("impact", known.impacts, ""),
            ("pressure", known.pressure_kpa, ""), ("ball temperature", known.temperature_c, ""),
            ("opened", None, known.opened or ""),
        )  # fmt: skip
        for kind, value, at in told:
            if value is not None or at:
                yield {"ball": ball, "sitting": None, "kind": kind, "value": value, "note": "",
                       "by": request.by.strip(), "at": at or now}  # fmt: skip


def _noted(files: TakenFiles) -> Iterator[Row]:
    """Give what was noted of the room."""
    for one in files.stated.notes:
        yield {"ball": None, "sitting": one.sitting, "kind": one.kind, "value": one.value, "note": one.note,
               "by": one.by, "at": one.at}  # fmt: skip


def _recordings(rows: Sequence[Row], files: TakenFiles) -> Iterator[tuple[BroughtIn, int | None]]:
    """Give recordings with the place of the reading that each belongs to."""
    if not files.recordings:
        return
    columns = ("product", "box", "ball", "quantity", "axis", "repeat")
    places: dict[tuple[str, ...], int] = {}
    for i, row in enumerate(rows):
        places.setdefault(tuple(unguarded(str(row[name])) for name in columns), i)
    for one in files.recordings:
        if one.reading is not None and one.reading not in places:
            found = f"a recording of {', '.join(part for part in one.reading if part)}"
            allowed = "recordings of readings that stand in the readings file"
            raise BadReadings(Fault("recordings.csv", found, allowed, "correct the line, or take it out"))
        yield one, None if one.reading is None else places[one.reading]
