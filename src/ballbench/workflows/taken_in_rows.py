"""The rows of a test that is taken in: every reading a place, in the order of its file."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import polars as pl

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
from ballbench.store.setting_up import NewBall, NewTest, write_balls, write_box, write_test
from ballbench.store.taking_in import instrument_numbers, write_many, write_past_sitting
from ballbench.workflows.sending import moment
from ballbench.workflows.what_to_read import limits_of_a_ball

if TYPE_CHECKING:
    from ballbench.workflows.take_in_test import TakeIn

__all__ = ["TakenFiles", "write_taken_in"]

BallKey = tuple[str, str, str]


@dataclass(frozen=True, slots=True)
class TakenFiles:
    """Files as they were read; `bench_text` is the bench file's own text, empty where there is none."""

    readings: Readings
    amended: Amended
    corrections: Corrections | None
    balls: BallFacts
    bench: Bench
    bench_text: str


def write_taken_in(tx: Tx, request: TakeIn, requirement: Requirement, text: str, files: TakenFiles) -> int:
    """Write all rows and give the test's number."""
    test, _ = write_test(tx, _new_test(request, requirement, text, files))
    table = files.readings.table.sort("line")
    balls = _balls(tx, test, table, files)
    sittings = _sittings(tx, test, table, files, request)
    _readings(tx, test, table, files, request, balls, sittings)
    _spoiled(tx, test, files, request, sittings)
    _facts(tx, test, files, request, balls)
    return test


def _new_test(request: TakeIn, requirement: Requirement, text: str, files: TakenFiles) -> NewTest:
    at = request.at or moment()
    return NewTest(
        test={
            "kind": "taken in", "title": request.title.strip() or requirement.title, "requirement": requirement.id,
            "requirement_title": requirement.title, "requirement_digest": requirement.digest,
            "requirement_text": text, "set_up": at, "set_up_by": request.by.strip(), "blind": False,
            "rule": request.rule, "risk": request.risk, "seed": request.seed, "invented": files.readings.invented,
            "finished": at, "bench_text": files.bench_text, "taken_from": files.readings.digest,
        },
        instruments=list(_instruments(files)),
        quantities=_quantities(requirement, files),
        references=[],
    )  # fmt: skip


def _instruments(files: TakenFiles) -> Iterator[dict[str, Any]]:
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


def _quantities(requirement: Requirement, files: TakenFiles) -> list[dict[str, Any]]:
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


def _balls(tx: Tx, test: int, table: pl.DataFrame, files: TakenFiles) -> dict[BallKey, int]:
    """Write makes, boxes and balls in the order of the file; give the balls' numbers by product, box and ball."""
    keys = list(dict.fromkeys(table.select("product", "box", "ball").iter_rows()))
    numbers = dict(zip(keys, numbers_for([unguarded(ball) for _, _, ball in keys], None, blind=False), strict=True))
    boxes: dict[tuple[str, str], list[BallKey]] = {}
    for key in keys:
        boxes.setdefault(key[:2], []).append(key)
    ids: dict[BallKey, int] = {}
    for position, ((product, label), own) in enumerate(boxes.items(), 1):
        known = [files.balls.facts_of(*key) for key in own]
        facts = {
            "label": unguarded(label), "bought": unguarded(next((one.bought for one in known if one.bought), "")),
            "price": unguarded(next((one.price for one in known if one.price), "")),
        }  # fmt: skip
        box = write_box(tx, test, unguarded(product), position, facts)
        written = write_balls(tx, test, [NewBall(box, unguarded(key[2]), numbers[key]) for key in own])
        ids |= dict(zip(own, written, strict=True))
    return ids


def _sittings(tx: Tx, test: int, table: pl.DataFrame, files: TakenFiles, request: TakeIn) -> dict[str, int]:
    """Write the sittings that the file names, and give their numbers; one without a name where it names none."""
    labels = [*table["sitting"].to_list(), *(one.sitting for one in files.readings.spoiled)]
    at = request.at or moment()
    return {
        label: write_past_sitting(tx, test, unguarded(label), request.by.strip(), at) for label in dict.fromkeys(labels)
    }


def _readings(
    tx: Tx,
    test: int,
    table: pl.DataFrame,
    files: TakenFiles,
    request: TakeIn,
    balls: dict[BallKey, int],
    sittings: dict[str, int],
) -> None:
    """Write a place and a reading for every row, and what the corrections say of them."""
    rows = list(table.iter_rows(named=True))
    own = [balls[row["product"], row["box"], row["ball"]] for row in rows]
    places = write_many(tx, "place", [
        {"test_id": test, "ball_id": ball, "reference_id": None, "quantity": row["quantity"],
         "axis": unguarded(row["axis"]), "repeat": row["repeat"], "position": at,
         "sheet_position": at, "put_off": 0, "why": ""}
        for at, (row, ball) in enumerate(zip(rows, own, strict=True), 1)
    ])  # fmt: skip
    tools = instrument_numbers(tx, test)
    numbers = write_many(tx, "reading", [
        {"key": request.key, "test_id": test, "sitting_id": sittings[row["sitting"]], "place_id": place,
         "ball_id": ball, "reference_id": None, "quantity": row["quantity"], "axis": unguarded(row["axis"]),
         "repeat": row["repeat"], **_value(row, files), "client": request.client, "confirmed": False,
         "instrument_id": tools.get((unguarded(row["instrument"]), row["quantity"])),
         "by": unguarded(row["operator"]), "at": unguarded(row["time"]), "note": unguarded(row["note"])}
        for row, ball, place in zip(rows, own, places, strict=True)
    ])  # fmt: skip
    by_line = {row["line"]: number for row, number in zip(rows, numbers, strict=True)}
    write_many(tx, "amendment", list(_amendments(test, files, request, by_line)))


def _value(row: dict[str, Any], files: TakenFiles) -> dict[str, Any]:
    """Give a result as columns, its text as it was written."""
    if row["value"] is None:
        text = "yes" if row["answer"] else "no"
        return {"text": text, "value": None, "answer": row["answer"], "decimals": 0, "unit": ""}
    text = _text(row["value"], row["decimals"], row["unit"], base_unit(files.readings, row["quantity"]))
    return {"text": text, "value": row["value"], "answer": None, "decimals": row["decimals"], "unit": row["unit"]}


def _text(value: float, decimals: int, unit: str, base: str) -> str:
    """Write a value in the unit and with the decimals that it had."""
    return f"{value / exact_factor(unit or base, base):.{decimals}f}"


def _amendments(test: int, files: TakenFiles, request: TakeIn, by_line: dict[int, int]) -> Iterator[dict[str, Any]]:
    """Give what the corrections say, each as columns."""
    lines = files.corrections.lines if files.corrections is not None else ()
    done = {"correct": files.amended.corrected, "exclude": files.amended.excluded, "keep": files.amended.kept}
    for action, amended in done.items():
        said = [line for line in lines if line.action == action]
        for line, one in zip(said, amended, strict=True):
            yield {
                "key": request.key, "test_id": test, "reading_id": by_line[one.line], "action": action,
                **_right(line, one), "reason": unguarded(line.reason), "by": unguarded(line.by),
                "at": unguarded(line.time),
            }  # fmt: skip


def _right(line: Correction, one: Amendment) -> dict[str, Any]:
    """Give the right value of a correction as columns."""
    if line.value is not None:
        return {"text": f"{line.value:.{line.decimals}f}", "value": one.after, "answer": None,
                "decimals": line.decimals, "unit": line.unit}  # fmt: skip
    text = "" if line.answer is None else "yes" if line.answer else "no"
    return {"text": text, "value": None, "answer": line.answer, "decimals": None, "unit": ""}


def _spoiled(tx: Tx, test: int, files: TakenFiles, request: TakeIn, sittings: dict[str, int]) -> None:
    """Write spoiled attempts; they name no place of the bench."""
    write_many(tx, "attempt", [
        {"key": request.key, "test_id": test, "sitting_id": sittings[one.sitting], "place_id": None,
         "make": unguarded(one.product), "box": unguarded(one.box), "ball": unguarded(one.ball),
         "quantity": one.quantity, "axis": unguarded(one.axis), "kind": "spoiled", "text": "", "unit": "",
         "why": one.reason, "gross": False, "by": unguarded(one.operator), "at": unguarded(one.time)}
        for one in files.readings.spoiled for _ in range(one.count)
    ])  # fmt: skip


def _facts(
    tx: Tx,
    test: int,
    files: TakenFiles,
    request: TakeIn,
    balls: dict[BallKey, int],
) -> None:
    """Write what is known of single balls."""
    rows = []
    for key, ball in balls.items():
        known = files.balls.facts_of(*key)
        told = (
            ("conditioned", known.conditioned_h, ""), ("impact", known.impacts, ""),
            ("pressure", known.pressure_kpa, ""), ("ball temperature", known.temperature_c, ""),
            ("opened", None, known.opened or ""),
        )  # fmt: skip
        rows += [
            {"key": request.key, "test_id": test, "sitting_id": None, "ball_id": ball, "kind": kind, "value": value,
             "note": "", "by": request.by.strip(), "at": at or request.at or moment()}
            for kind, value, at in told if value is not None or at
        ]  # fmt: skip
    write_many(tx, "mark", rows)
