"""The plausibility gate over a whole file: it asks about readings that look mistyped, and alters none.

Every test runs over all readings at once; only the few rows that are asked about become objects.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

import numpy as np
import numpy.typing as npt
import polars as pl

from ballbench.quantities.kinds import KINDS
from ballbench.records.display import base_unit
from ballbench.records.fellows import fellows_of
from ballbench.records.mistyping import Digits, Mistyped, ask_far, ask_mistyped, ask_outside_belief
from ballbench.records.reading_key import KEY, ambiguous_rows, correction_line
from ballbench.records.readings import Query, Readings
from ballbench.records.written_units import exact_factor

__all__ = ["plausibility_queries"]

Floats = npt.NDArray[np.float64]
Rows = npt.NDArray[np.int64]

_PLACE = [*KEY, "box", "sitting", "operator", "instrument"]


def plausibility_queries(readings: Readings) -> tuple[Query, ...]:
    """Ask about readings that look mistyped.

    Parameters
    ----------
    readings : Readings
        As imported; never altered.

    Returns
    -------
    tuple of Query
        In the order of the file, one a reading: a lost decimal point, inches for millimetres or ounces for grams, two
        digits swapped, outside the believable range, far from its box, entered twice. `Query.value` is NaN for a
        yes/no result.
    """
    table = readings.table.with_row_index("row")
    numbers = table.filter(pl.col("value").is_not_null())
    queries = _of_numbers(readings, numbers) if numbers.height else []
    queries += _duplicates(table, {row for row, _ in queries})
    if not queries:
        return ()
    asked = table[[row for row, _ in queries]]
    several = ambiguous_rows(readings.table, asked)
    made = [
        _query(row, why, key in several)
        for row, (_, why), key in zip(asked.iter_rows(named=True), queries, asked.select(KEY).iter_rows(), strict=True)
    ]
    return tuple(sorted(made, key=lambda query: query.line))


@dataclass(frozen=True, slots=True)
class _Why:
    """What is asked about a row, and the value or action that would answer it."""

    why: str
    gross: bool
    action: str
    value: str = ""


def _of_numbers(readings: Readings, numbers: pl.DataFrame) -> list[tuple[int, _Why]]:
    """Run every test on the numbers; give the row in the whole table and what is asked."""
    value = numbers.get_column("value").to_numpy()
    fellows = fellows_of(readings, numbers)
    asked = ask_mistyped(value, fellows, partial(_bases, readings, numbers), partial(_digits, readings, numbers))
    _outside_belief(numbers, value, asked)
    ask_far(value, fellows, asked)
    return _answers(readings, numbers, np.flatnonzero(asked.why != ""), asked)


def _bases(readings: Readings, numbers: pl.DataFrame, rows: Rows) -> npt.NDArray[np.object_]:
    """Give the base unit of each row's quantity."""
    quantities = numbers.get_column("quantity").gather(rows)
    bases = {name: base_unit(readings, name) for name in quantities.unique()}
    return np.asarray([bases[name] for name in quantities], dtype=object)


def _digits(readings: Readings, numbers: pl.DataFrame, rows: Rows) -> Digits:
    """Take values apart into digits: at the quantity's usual decimals, or at the row's own where it has more."""
    some = numbers.select("quantity", "unit", "decimals", "value")[rows]
    usual = dict(numbers.group_by("quantity").agg(pl.col("decimals").median()).iter_rows())
    own = some.get_column("decimals").to_numpy()
    common = np.asarray([round(usual[name]) for name in some.get_column("quantity")], dtype=np.int64)
    last = _factors(readings, some) * 10.0 ** -np.maximum(own, common)
    return Digits(np.rint(some.get_column("value").to_numpy() / last), last, own == common)


def _factors(readings: Readings, some: pl.DataFrame) -> Floats:
    """Give the factor from each row's written unit to its base unit."""
    pairs = some.select("quantity", "unit").unique()
    known = {
        (quantity, unit): exact_factor(unit or base_unit(readings, quantity), base_unit(readings, quantity))
        for quantity, unit in pairs.iter_rows()
    }
    return np.asarray([known[pair] for pair in some.select("quantity", "unit").iter_rows()], dtype=np.float64)


def _outside_belief(numbers: pl.DataFrame, value: Floats, asked: Mistyped) -> None:
    """Ask where no ball of any sport has such a value."""
    quantity = numbers.get_column("quantity")
    for name in quantity.unique():
        if name in KINDS:
            ask_outside_belief(value, np.flatnonzero((quantity == name).to_numpy()), KINDS[name], asked)


def _answers(readings: Readings, numbers: pl.DataFrame, rows: Rows, asked: Mistyped) -> list[tuple[int, _Why]]:
    """Write what would answer each query, in the unit that the reading was written in."""
    some = numbers[rows]
    scale = _factors(readings, some)
    usual = dict(
        numbers.group_by("quantity", "unit").agg(pl.col("decimals").max()).rows_by_key("quantity", named=False)
    )
    result = []
    for index, row in enumerate(some.select("row", "quantity", "decimals").iter_rows()):
        at = rows[index]
        right = asked.right[at] / scale[index]
        if not np.isfinite(right):
            result.append((row[0], _Why(asked.why[at], bool(asked.gross[at]), "keep")))
            continue
        most = max(most for _, most in usual[row[1]])
        text = f"{right:.{min(max(row[2] + int(asked.shift[at]), 0 if asked.shift[at] else most), 12)}f}"
        result.append((row[0], _Why(asked.why[at], bool(asked.gross[at]), "correct", _no_idle_zeros(text, most))))
    return result


def _no_idle_zeros(text: str, most: int) -> str:
    """Take zeros off the end that are finer than the quantity is usually written."""
    while "." in text and text[-1] in "0." and len(text.partition(".")[2]) > most:
        text = text[:-1]
    return text.rstrip(".")


def _duplicates(table: pl.DataFrame, known: set[int]) -> list[tuple[int, _Why]]:
    """Find readings that were entered twice: the same repeat again in one sitting, or the same second and value."""
    repeated = pl.struct(_PLACE).is_duplicated() & ~pl.struct(_PLACE).is_first_distinct()
    timed = table.filter(pl.col("time").str.contains(r"\d:\d\d:\d\d"))
    at_once = [*[name for name in _PLACE if name != "repeat"], "time", "value", "answer"]
    same_second = timed.filter(~pl.struct(at_once).is_first_distinct()).get_column("row").to_list()
    again = table.filter(repeated).get_column("row").to_list()
    whys = dict.fromkeys(same_second, "the same value at the same second for the same place: entered twice?")
    whys |= dict.fromkeys(again, "the same repeat of the same place twice in one sitting: entered twice?")
    return [(row, _Why(why, True, "exclude")) for row, why in whys.items() if row not in known]


def _query(row: dict[str, object], why: _Why, is_several: bool) -> Query:
    """Make the query of one row."""
    key = tuple(row[name] for name in KEY)
    single_out = (str(row["box"]), int(str(row["line"]))) if is_several else None
    value = row["value"]
    return Query(
        line=int(str(row["line"])),
        product=str(row["product"]),
        ball=str(row["ball"]),
        quantity=str(row["quantity"]),
        axis=str(row["axis"]),
        repeat=int(str(row["repeat"])),
        value=float(value) if isinstance(value, float) else float("nan"),
        why=why.why,
        gross=why.gross,
        suggestion=correction_line(key, why.action, why.value, single_out),
        box=str(row["box"]),
    )
