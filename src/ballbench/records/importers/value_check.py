"""Values of a draft's rows: numbers, yes/no answers, spoiled attempts, and what is none of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

import numpy as np
import numpy.typing as npt
import polars as pl

from ballbench.errors import Fault
from ballbench.quantities.kinds import KINDS
from ballbench.quantities.units import UnitError
from ballbench.records.fault_list import FaultList, quoted
from ballbench.records.importers.draft import Draft
from ballbench.records.importers.row_faults import Row, add_row_faults, where_of
from ballbench.records.readings import Spoiled
from ballbench.records.written_numbers import Numbers, read_numbers, what_is_wrong
from ballbench.records.written_units import exact_factor

__all__ = ["ANSWERS", "Valued", "split_spoiled", "valued"]

ANSWERS = {"yes": True, "passed": True, "no": False, "failed": False}
"""What a yes/no result may say, in any capitals."""

_TOLD = ("box", "ball", "axis", "operator", "sitting", "time")
_ALLOWED = "a number such as 40.12, or yes, no, passed, failed"


@dataclass(frozen=True, slots=True)
class Valued:
    """Rows with their values told.

    Parameters
    ----------
    rows : polars.DataFrame
        The draft's rows that hold a value, with ``number`` (float64, null for an answer), ``answer`` (boolean, null
        for a number) and ``decimals``.
    notes : tuple of str
        How numbers were read.
    """

    rows: pl.DataFrame
    notes: tuple[str, ...]


def split_spoiled(draft: Draft, rows: pl.DataFrame, faults: FaultList) -> tuple[pl.DataFrame, tuple[Spoiled, ...]]:
    """Take spoiled attempts out of the rows and count them.

    Parameters
    ----------
    draft : Draft
        Where the rows come from.
    rows : polars.DataFrame
        Rows to look at.
    faults : FaultList
        Takes in blank values without a reason, and values beside a note that calls them spoiled.

    Returns
    -------
    polars.DataFrame, tuple of Spoiled
        Rows with a value; attempts counted by all that is told of them, in order of first appearance.
    """
    blank = pl.col("value") == ""
    noted = pl.col("note").str.to_lowercase().str.starts_with("spoiled")
    reason = pl.col("note").str.extract(r"^(?i)spoiled\s*:\s*(.*\S)", 1)
    odd = rows.filter(blank | noted)
    if odd.is_empty():
        return rows, ()
    add_row_faults(faults, odd.filter(blank & (~noted | reason.is_null())), lambda row: _blank(draft, row))
    add_row_faults(faults, odd.filter(~blank & noted), lambda row: _both(draft, row))
    attempts = odd.filter(blank & reason.is_not_null()).with_columns(reason.alias("reason"))
    counted = attempts.group_by("product", "quantity", "reason", *_TOLD, maintain_order=True).len()
    spoiled = tuple(
        Spoiled(product, quantity, why, count, *told) for product, quantity, why, *told, count in counted.iter_rows()
    )
    return rows.filter(~blank & ~noted), spoiled


def _blank(draft: Draft, row: Row) -> Fault:
    todo = 'write the reading, or the note "spoiled: reason" if the attempt gave none'
    return Fault(where_of(draft, row, "value"), "an empty cell", _ALLOWED, todo)


def _both(draft: Draft, row: Row) -> Fault:
    found = f'the value {row["value"]} beside the note "{row["note"]}"'
    todo = "take the value out, or the note; a reading is excluded in the corrections file"
    return Fault(where_of(draft, row, "value"), found, "a spoiled attempt without a value", todo)


def valued(draft: Draft, rows: pl.DataFrame, quantities: Mapping[str, str], faults: FaultList) -> Valued:
    """Read every value as a number or an answer.

    Parameters
    ----------
    draft : Draft
        Where the rows come from.
    rows : polars.DataFrame
        Rows with a value that is not blank.
    quantities : mapping of str to str
        Base unit by canonical name.
    faults : FaultList
        Takes in what is neither, a decimal mark that cannot be told, and answers among numbers.

    Returns
    -------
    Valued
        Rows that can go on.
    """
    texts = rows.get_column("value")
    answers = _answers(texts)
    is_answer = answers >= 0
    if is_answer.any():
        numeric = pl.when(pl.Series(~is_answer)).then(pl.col("value")).otherwise(pl.lit("0"))
        texts = texts.to_frame().select(numeric.alias("value")).to_series()
    numbers = read_numbers(texts, lambda: _limits(rows, quantities))
    if numbers.doubt is not None:
        _add_doubt(draft, rows, numbers, faults)
    rows, wrong = _with_cell_units(draft, rows, numbers, quantities, faults)
    numbers.values[wrong] = np.nan
    bad = ~np.isfinite(numbers.values) & ~is_answer
    bad[wrong] = False
    if numbers.doubt is not None:
        bad &= ~texts.str.contains(r"^[+-]?\d+,\d+$").to_numpy()
    if bad.any():
        add_row_faults(faults, rows.filter(pl.Series(bad)), lambda row: _no_number(draft, row))
    decided = rows.with_columns(
        pl.Series("number", numbers.values, nan_to_null=True),
        pl.Series("answer", answers == 1),
        pl.Series("decimals", numbers.decimals, dtype=pl.Int64),
        pl.Series("is answer", is_answer),
    )
    decided = decided.filter(pl.col("number").is_not_null())
    if is_answer.any():
        decided = decided.with_columns(
            pl.when(~pl.col("is answer")).then(pl.col("number")).alias("number"),
            pl.when(pl.col("is answer")).then(pl.col("answer")).alias("answer"),
        )
        _mixed(draft, decided, faults)
    else:
        decided = decided.with_columns(pl.lit(None, dtype=pl.Boolean).alias("answer"))
    return Valued(decided.drop("is answer"), _mark_notes(numbers))


def _answers(texts: pl.Series) -> npt.NDArray[np.int8]:
    """Give 1 for yes or passed, 0 for no or failed, -1 for anything else."""
    answers = np.full(texts.len(), -1, dtype=np.int8)
    letters = texts.str.contains(r"^[A-Za-z]+$").to_numpy()
    if letters.any():
        lower = texts.filter(pl.Series(letters)).str.to_lowercase()
        answers[letters] = [int(ANSWERS[word]) if word in ANSWERS else -1 for word in lower]
    return answers


def _limits(
    rows: pl.DataFrame, quantities: Mapping[str, str]
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Give each row's believable range in the unit that it is written in; NaN where none is known."""
    nan = float("nan")
    limits: dict[tuple[str, str], tuple[float, float]] = {}
    for quantity, unit in rows.select("quantity", "unit").unique().iter_rows():
        kind = KINDS.get(quantity)
        try:
            scale = exact_factor(unit or quantities[quantity], quantities[quantity])
        except UnitError:
            scale = nan
        limits[quantity, unit] = (kind.lowest / scale, kind.highest / scale) if kind else (nan, nan)
    pairs = [limits[pair] for pair in rows.select("quantity", "unit").iter_rows()]
    both = np.asarray(pairs, dtype=np.float64).reshape(-1, 2)
    return both[:, 0], both[:, 1]


def _with_cell_units(
    draft: Draft, rows: pl.DataFrame, numbers: Numbers, quantities: Mapping[str, str], faults: FaultList
) -> tuple[pl.DataFrame, list[int]]:
    """Move units that stand in the value's cell to the column unit; give the rows whose cell unit cannot be used."""
    if not numbers.units:
        return rows, []
    units, names = rows.get_column("unit").to_list(), rows.get_column("quantity").to_list()
    pairs = {(names[row], unit) for row, unit in numbers.units.items()}
    fits = {pair: _converts(pair[1], quantities[pair[0]]) for pair in pairs}
    wrong = []
    for row, unit in numbers.units.items():
        if (units[row] and units[row] != unit) or not fits[names[row], unit]:
            wrong.append(row)
        units[row] = unit
    if wrong:
        add_row_faults(faults, rows[wrong], partial(_wrong_cell_unit, draft, quantities))
    return rows.with_columns(pl.Series("unit", units, dtype=pl.String)), wrong


def _converts(unit: str, base: str) -> bool:
    """Say whether a unit can be turned into the base unit."""
    try:
        exact_factor(unit, base)
    except UnitError:
        return False
    return True


def _wrong_cell_unit(draft: Draft, quantities: Mapping[str, str], row: Row) -> Fault:
    """Say that the text behind a number is no unit for it."""
    beside = f" beside the unit {quoted(row['unit'])}" if row["unit"] else ""
    allowed = f"a number in {quantities[str(row['quantity'])]}"
    return Fault(where_of(draft, row, "value"), f"{quoted(row['value'])}{beside}", allowed, "write the number alone")


def _no_number(draft: Draft, row: Row) -> Fault:
    found, todo = what_is_wrong(str(row["value"]))
    return Fault(where_of(draft, row, "value"), found, _ALLOWED, todo)


def _add_doubt(draft: Draft, rows: pl.DataFrame, numbers: Numbers, faults: FaultList) -> None:
    """Say that the decimal mark cannot be told."""
    doubt = numbers.doubt
    if doubt is None:
        return
    row = rows.row(doubt.row, named=True)
    allowed = "one decimal mark in the whole file, and no mark between thousands"
    todo = "write decimal points throughout"
    faults.add(Fault(where_of(draft, row, "value"), doubt.found, allowed, todo), row["sheet"], row["line"])


def _mixed(draft: Draft, rows: pl.DataFrame, faults: FaultList) -> None:
    """Find answers among a quantity's numbers, or numbers among its answers: the rarer of the two is the mistake."""
    counts = rows.group_by("quantity").agg(
        pl.col("answer").is_not_null().sum().alias("answers"), pl.col("number").is_not_null().sum().alias("numbers")
    )
    for quantity, answers, numbers in counts.filter((pl.col("answers") > 0) & (pl.col("numbers") > 0)).iter_rows():
        column, allowed = ("answer", "a number") if answers <= numbers else ("number", "yes, no, passed or failed")
        odd = rows.filter((pl.col("quantity") == quantity) & pl.col(column).is_not_null())
        add_row_faults(faults, odd, partial(_odd_one, draft, allowed))


def _odd_one(draft: Draft, allowed: str, row: Row) -> Fault:
    """Say that a value is an answer among numbers, or a number among answers."""
    among = f"{allowed}, as in the other rows of {row['quantity']}"
    todo = "correct the value, or give it a quantity of its own"
    return Fault(where_of(draft, row, "value"), f'"{row["value"]}"', among, todo)


def _mark_notes(numbers: Numbers) -> tuple[str, ...]:
    """Say which decimal mark was found."""
    if numbers.mark == ".":
        return ("decimal point",)
    if numbers.by_range:
        return ("decimal comma: read as a mark between thousands, no value would be believable",)
    return ("decimal comma",)
