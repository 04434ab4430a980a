"""The plausibility gate over a whole file: it asks about readings that look mistyped, and alters none.

Every test runs over all readings at once; only the few rows that are asked about become objects.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl

from ballbench.quantities.kinds import KINDS
from ballbench.records.display import base_unit
from ballbench.records.fellows import TIGHT_SHARE, Fellows, far_limit, fellows_of
from ballbench.records.reading_key import KEY, ambiguous_rows, correction_line
from ballbench.records.readings import Query, Readings
from ballbench.records.written_units import exact_factor

__all__ = ["plausibility_queries"]

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Rows = npt.NDArray[np.int64]

_POINT_SHIFTS = (1, 2, 3, -1, -2, -3)
_POINT_NEAR = 0.15  # a shifted value this near its product's median is one of them (own choice)
_SLIP_NEAR = 0.06  # and a converted one, nearer because 25.4 and 28.35 lie 11 % apart (own choice)
_FEWEST_TIGHT = 3
_WITH_FELLOWS = 3.0  # robust SDs within which a value lies with its fellows (own choice)
_SLIPS = {"mm": (25.4, "inches for millimetres"), "g": (28.349523125, "ounces for grams")}
"""Exact definitions: 1 in = 25.4 mm; 1 oz = 0.45359237 kg / 16."""

_PLACE = [*KEY, "box", "sitting", "operator", "instrument"]


@dataclass(slots=True)
class _Asked:
    """Why each row is asked about: an empty text where it is not; and the value that would put it right."""

    why: npt.NDArray[np.object_]
    gross: Flags
    right: Floats
    shift: Rows

    def ask(self, rows: Rows, why: str, *, gross: bool) -> Rows:
        """Ask about rows that are not asked about yet, and give those."""
        new: Rows = rows[self.why[rows] == ""]
        self.why[new] = why
        self.gross[new] = gross
        return new


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
    far = np.abs(value - fellows.centre) > far_limit(fellows.count) * fellows.spread
    asked = _Asked(
        np.full(value.size, "", dtype=object),
        np.zeros(value.size, dtype=np.bool_),
        np.full(value.size, np.nan),
        np.zeros(value.size, dtype=np.int64),
    )
    tight = (fellows.tight >= TIGHT_SHARE) & (fellows.count >= _FEWEST_TIGHT) & (fellows.median != 0.0)
    off = np.abs(value - fellows.median) > 0.5 * np.abs(fellows.median)
    _lost_points(value, fellows, tight & off, asked)
    slips = np.flatnonzero(tight & off & (asked.why == ""))
    _unit_slips(value, _bases(readings, numbers, slips), fellows, slips, asked)
    written = _written(readings, numbers, np.flatnonzero(far))
    _swapped_digits(value, written, fellows, np.flatnonzero(far), asked)
    _outside_belief(numbers, value, asked)
    asked.ask(np.flatnonzero(far), "far from the other readings of its box", gross=False)
    rows = np.flatnonzero(asked.why != "")
    return _answers(readings, numbers, rows, asked)


def _lost_points(value: Floats, fellows: Fellows, candidates: Flags, asked: _Asked) -> None:
    """Ask where the value is a power of ten off its product's median."""
    rows = np.flatnonzero(candidates)
    for power in _POINT_SHIFTS:
        shifted = value[rows] * 10.0**-power
        fits = np.abs(shifted - fellows.median[rows]) <= _POINT_NEAR * np.abs(fellows.median[rows])
        times = f"{10 ** abs(power)} times" if power > 0 else f"1/{10 ** abs(power)} of"
        new = asked.ask(rows[fits], f"{times} its fellows' size: a lost decimal point or a wrong unit", gross=True)
        asked.right[new] = value[new] * 10.0**-power
        asked.shift[new] = power


def _unit_slips(value: Floats, base: npt.NDArray[np.object_], fellows: Fellows, rows: Rows, asked: _Asked) -> None:
    """Ask where the value fits its fellows once converted from, or into, the other common unit."""
    for unit, (scale, words) in _SLIPS.items():
        for times in (scale, 1.0 / scale):
            converted = value[rows] * times
            near = np.abs(converted - fellows.median[rows]) <= _SLIP_NEAR * np.abs(fellows.median[rows])
            new = asked.ask(rows[near & (base == unit)], f"{scale:.4g} times off its fellows: {words}?", gross=True)
            asked.right[new] = value[new] * times


def _bases(readings: Readings, numbers: pl.DataFrame, rows: Rows) -> npt.NDArray[np.object_]:
    """Give the base unit of each row's quantity."""
    quantities = numbers.get_column("quantity").gather(rows)
    bases = {name: base_unit(readings, name) for name in quantities.unique()}
    return np.asarray([bases[name] for name in quantities], dtype=object)


@dataclass(frozen=True, slots=True)
class _Written:
    """Values as whole numbers of a last decimal place, the size of that place, and whether the decimals are usual."""

    counts: Floats
    last: Floats
    as_usual: Flags


def _written(readings: Readings, numbers: pl.DataFrame, rows: Rows) -> _Written:
    """Take values apart into digits: at the quantity's usual decimals, or at the row's own where it has more."""
    some = numbers.select("quantity", "unit", "decimals", "value")[rows]
    usual = dict(numbers.group_by("quantity").agg(pl.col("decimals").median()).iter_rows())
    own = some.get_column("decimals").to_numpy()
    common = np.asarray([round(usual[name]) for name in some.get_column("quantity")], dtype=np.int64)
    last = _factors(readings, some) * 10.0 ** -np.maximum(own, common)
    return _Written(np.rint(some.get_column("value").to_numpy() / last), last, own == common)


def _factors(readings: Readings, some: pl.DataFrame) -> Floats:
    """Give the factor from each row's written unit to its base unit."""
    pairs = some.select("quantity", "unit").unique()
    known = {
        (quantity, unit): exact_factor(unit or base_unit(readings, quantity), base_unit(readings, quantity))
        for quantity, unit in pairs.iter_rows()
    }
    return np.asarray([known[pair] for pair in some.select("quantity", "unit").iter_rows()], dtype=np.float64)


def _swapped_digits(value: Floats, written: _Written, fellows: Fellows, rows: Rows, asked: _Asked) -> None:
    """Ask where two adjacent digits, swapped, would put the value among its fellows."""
    counts, last = written.counts, written.last
    small = np.abs(counts) < 1e12  # beyond, digits are no longer exact
    best, miss = np.full(rows.size, np.nan), np.full(rows.size, np.inf)
    digits = np.where(small, np.abs(counts), 0.0).astype(np.int64)
    for position in range(12):
        low, high = digits // 10**position % 10, digits // 10 ** (position + 1) % 10
        swapped = digits + (low - high) * (10 ** (position + 1) - 10**position)
        candidate = np.sign(value[rows]) * swapped * last
        distance = np.abs(candidate - fellows.centre[rows]) / fellows.spread[rows]
        better = (swapped != digits) & (distance < miss)
        best[better], miss[better] = candidate[better], distance[better]
    fits = miss <= _WITH_FELLOWS
    shifted_miss = np.abs(asked.right[rows] - fellows.centre[rows]) / fellows.spread[rows]
    nearer = (shifted_miss > _WITH_FELLOWS) | (written.as_usual & (miss < shifted_miss))
    better_than_shift = fits & (asked.shift[rows] != 0) & nearer
    new = np.flatnonzero(fits & (asked.why[rows] == "") | better_than_shift)
    asked.why[rows[new]] = "far from the other readings of its box, and among them with two digits swapped"
    asked.right[rows[new]] = best[new]
    asked.shift[rows[new]] = 0


def _outside_belief(numbers: pl.DataFrame, value: Floats, asked: _Asked) -> None:
    """Ask where no ball of any sport has such a value."""
    quantity = numbers.get_column("quantity")
    for name in quantity.unique():
        kind = KINDS.get(name)
        if kind is None:
            continue
        outside = (quantity == name).to_numpy() & ((value < kind.lowest) | (value > kind.highest))
        why = f"outside what a ball's {kind.words} can be, {kind.lowest:g} to {kind.highest:g} {kind.unit}"
        asked.ask(np.flatnonzero(outside), why.removesuffix(" 1"), gross=True)


def _answers(readings: Readings, numbers: pl.DataFrame, rows: Rows, asked: _Asked) -> list[tuple[int, _Why]]:
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
