"""Numbers as people and spreadsheets write them; the decimal mark is told from a whole file, never from one cell."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt
import polars as pl

from ballbench.records.fault_list import quoted

__all__ = ["Doubt", "Numbers", "decimals_written", "read_numbers", "what_is_wrong"]

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

_PARTS = r"""^([+-]?[\d.,]*\d[\d.,]*(?:[eE][+-]?\d+)?)\s*([A-Za-zµμ°"%][^\d]*)?$"""
_GROUP = r"^[+-]?[1-9]\d{0,2},\d{3}$"
_MONTHS = "jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec|mrz|mai|okt|dez|janv|févr|avr|juin|juil|août|ene|abr|ago|dic"
_DATE = re.compile(
    rf"^\d{{4}}-\d{{1,2}}-\d{{1,2}}([ T].*)?$|^\d{{1,2}}([./-])\d{{1,2}}\2(\d{{2}}|\d{{4}})( .*)?$"
    rf"|^(\d{{1,4}}[-. /]*)?({_MONTHS})[a-zé]*[-. /]*(\d{{1,4}})?$|^\d{{1,2}}:\d{{2}}(:\d{{2}})?$",
    re.IGNORECASE,
)
_GROUPED = re.compile(r"^[+-]?\d{1,3}([.,' \u00a0\u202f]\d{3})+([.,]\d+)?$")
_NO_NUMBER = re.compile(r"^[+-]?(nan|inf|infinity|none|null|n/?a|#.*|-+)$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Doubt:
    """Why the decimal mark of a file cannot be told.

    Parameters
    ----------
    row : int
        First row that shows it.
    found : str
        What stands there.
    """

    row: int
    found: str


@dataclass(frozen=True, slots=True)
class Numbers:
    """Texts read as numbers.

    Parameters
    ----------
    values : (N,) float64
        NaN where the text is no number.
    decimals : (N,) int64
        Decimals as written; 0 where the text is no number.
    units : dict of int to str
        Units that stand in the cell behind the number, by row.
    mark : {".", ","}
        The file's decimal mark.
    doubt : Doubt or None
        Set when the mark cannot be told; texts with a comma are then NaN.
    by_range : bool
        True: only the believable range told that the comma is a decimal mark.
    """

    values: Floats
    decimals: npt.NDArray[np.int64]
    units: dict[int, str]
    mark: Literal[".", ","]
    doubt: Doubt | None = None
    by_range: bool = False


def read_numbers(texts: pl.Series, believable: Callable[[], tuple[Floats, Floats]] | None = None) -> Numbers:
    """Read a column of texts as numbers.

    Parameters
    ----------
    texts : polars.Series of String
        N cells without blanks around them and without null; what is no number may stand among them.
    believable : callable or None
        Gives (N,) lowest and (N,) highest believable values, NaN where unknown; asked only when every comma could
        stand before thousands.

    Returns
    -------
    Numbers
        Values, and how they were read.
    """
    values = texts.cast(pl.Float64, strict=False).fill_null(float("nan")).to_numpy().copy()
    plain = np.isfinite(values)
    values[~plain] = np.nan
    if plain.all():
        return Numbers(values, decimals_written(texts), {}, ".")
    odd = _odd_cells(texts, plain)
    mark, doubt, by_range = _mark(texts, plain, odd, believable)
    number = odd.number
    if mark == "," and doubt is None:
        number = number.str.replace(",", ".", literal=True)
    read = number.cast(pl.Float64, strict=False).fill_null(float("nan")).to_numpy().copy()
    read[~np.isfinite(read)] = np.nan
    values[odd.rows] = read
    decimals = np.zeros(values.size, dtype=np.int64)
    decimals[plain] = decimals_written(texts.filter(pl.Series(plain)))
    decimals[odd.rows] = np.where(np.isfinite(read), decimals_written(number), 0)
    return Numbers(values, decimals, _units(odd, read), mark, doubt, by_range)


@dataclass(frozen=True, slots=True)
class _OddCells:
    """Cells that are no plain number with a decimal point: their rows, number part, unit part and marks."""

    rows: npt.NDArray[np.int64]
    number: pl.Series
    unit: pl.Series
    lone_comma: Flags
    lone_point: Flags


def _odd_cells(texts: pl.Series, plain: Flags) -> _OddCells:
    """Take the cells apart that are not plain."""
    rows = np.flatnonzero(~plain)
    cells = texts.gather(rows).str.replace("\u2212", "-").alias("cell").to_frame()
    parts = cells.select(
        pl.col("cell").str.extract(_PARTS, 1).fill_null("").alias("number"),
        pl.col("cell").str.extract(_PARTS, 2).fill_null("").alias("unit"),
    )
    number = parts.get_column("number")
    commas, points = number.str.count_matches(",", literal=True), number.str.count_matches(".", literal=True)
    lone_comma = ((commas == 1) & (points == 0)).to_numpy()
    lone_point = ((points == 1) & (commas == 0)).to_numpy()
    return _OddCells(rows, number, parts.get_column("unit"), lone_comma, lone_point)


def _units(odd: _OddCells, read: Floats) -> dict[int, str]:
    """Give the units that stand behind numbers in their cells."""
    if not (odd.unit != "").any():
        return {}
    cells = zip(odd.rows.tolist(), odd.unit, np.isfinite(read).tolist(), strict=True)
    return {row: unit.strip() for row, unit, is_number in cells if unit and is_number}


def _mark(
    texts: pl.Series, plain: Flags, odd: _OddCells, believable: Callable[[], tuple[Floats, Floats]] | None
) -> tuple[Literal[".", ","], Doubt | None, bool]:
    """Decide on the decimal mark of all cells together."""
    if not odd.lone_comma.any():
        return ".", None, False
    comma_row = int(odd.rows[np.argmax(odd.lone_comma)])
    with_point = texts.str.contains(".", literal=True).to_numpy() & plain
    with_point[odd.rows[odd.lone_point]] = True
    if with_point.any():
        point_row = int(np.argmax(with_point))
        found = f"a decimal comma in {quoted(texts[comma_row])} and a decimal point in {quoted(texts[point_row])}"
        return ".", Doubt(max(comma_row, point_row), found), False
    in_groups = odd.number.str.contains(_GROUP).to_numpy()
    if not in_groups[odd.lone_comma].all():
        return ",", None, False
    if believable is not None and _only_as_decimals(odd, believable):
        return ",", None, True
    found = f"{quoted(texts[comma_row])}, which is read as {texts[comma_row].replace(',', '.')} or as a whole number"
    return ",", Doubt(comma_row, found), False


def _only_as_decimals(odd: _OddCells, believable: Callable[[], tuple[Floats, Floats]]) -> bool:
    """Say whether every comma number is believable with a decimal comma and none with a thousands comma."""
    lowest, highest = (limit[odd.rows[odd.lone_comma]] for limit in believable())
    commas = odd.number.filter(pl.Series(odd.lone_comma))
    fractions = commas.str.replace(",", ".", literal=True).cast(pl.Float64).to_numpy()
    wholes = fractions * 1000.0
    as_decimals = (fractions >= lowest) & (fractions <= highest)
    as_thousands = (wholes >= lowest) & (wholes <= highest)
    return bool(as_decimals.all() and not as_thousands.any())


def decimals_written(texts: pl.Series) -> npt.NDArray[np.int64]:
    """Count the decimals of numbers with a decimal point.

    Parameters
    ----------
    texts : polars.Series of String
        N numbers; an exponent shifts the count (``"4.01e1"`` has 1).

    Returns
    -------
    (N,) int64
        Never negative.
    """
    at = texts.str.find(".", literal=True)
    decimals = (texts.str.len_bytes().cast(pl.Int64) - at.cast(pl.Int64) - 1).fill_null(0).to_numpy().copy()
    with_exponent = texts.str.contains("[eE]").fill_null(value=False)
    if with_exponent.any():
        for row in np.flatnonzero(with_exponent.to_numpy()):
            digits, _, exponent = texts[int(row)].lower().partition("e")
            power = int(exponent) if exponent.lstrip("+-").isdigit() else 0
            decimals[row] = min(max(len(digits.partition(".")[2]) - power, 0), _MOST_DECIMALS)
    return np.asarray(np.minimum(decimals, _MOST_DECIMALS), dtype=np.int64)


_MOST_DECIMALS = 300  # a float64 has no decimals beyond


def what_is_wrong(text: str) -> tuple[str, str]:
    """Say what a cell that is no number holds, and what to do.

    Parameters
    ----------
    text : str
        The cell.

    Returns
    -------
    tuple of str
        What was found, and the next step.
    """
    if _DATE.match(text):
        found = f"{quoted(text)}: the spreadsheet has turned a number into a date"
        return found, "set the column to text, write the reading again, and save"
    if _NO_NUMBER.match(text):
        return (
            f"{quoted(text)}, which is no number",
            'write the reading, or leave it blank with the note "spoiled: reason"',
        )
    if _GROUPED.match(text):
        return f"{quoted(text)}, with a mark between thousands", "write the number without marks between thousands"
    try:
        number = float(text)
    except ValueError:
        return f"{quoted(text)}, which is no number", "write the number alone, such as 40.12"
    if number in {float("inf"), float("-inf")}:
        return f"{quoted(text)}, which is too large for any reading", "write the reading as it was shown"
    return quoted(text), "write it with the decimal mark of the other rows"
