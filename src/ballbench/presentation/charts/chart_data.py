"""What a picture shows, as plain data: values across, rows down; or decision marks in a grid.

Nothing here knows a pixel or a colour. Every picture carries how many balls stand behind it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ballbench.findings.results import Decision
from ballbench.presentation.charts.axis_data import Tick, ValueAxis
from ballbench.presentation.charts.bounce_data import DropsChart, SpeedChart
from ballbench.presentation.charts.drop_data import FilmChart
from ballbench.presentation.charts.outline_data import EdgeChart, OutlineChart
from ballbench.presentation.charts.plan_data import EndingChart, GridChart, TrayChart
from ballbench.presentation.charts.qualify_data import CalibrationChart, CheckChart, RulerChart
from ballbench.presentation.charts.roll_data import RollChart
from ballbench.presentation.charts.vee_data import VeeChart

__all__ = [
    "Bar",
    "BudgetChart",
    "BudgetPart",
    "BudgetRow",
    "Chart",
    "LimitLine",
    "MarkChart",
    "MarkRow",
    "Raw",
    "Row",
    "RowChart",
    "Tick",
    "ValueAxis",
]


@dataclass(frozen=True, slots=True)
class LimitLine:
    """A limit, and what is printed at it."""

    value: float
    text: str


@dataclass(frozen=True, slots=True)
class Bar:
    """An interval with its ball: 95 % of the draws, and their median.

    Parameters
    ----------
    low, median, high : float
        In the axis's unit.
    text : str
        The numbers, written beside it.
    kind : str
        ``truth``: solid, with a filled ball; ``whole ball``: outlined, without.
    """

    low: float
    median: float
    high: float
    text: str
    kind: Literal["truth", "whole ball"] = "truth"


@dataclass(frozen=True, slots=True)
class Raw:
    """A raw value: a small hollow ball, with its text."""

    value: float
    text: str


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a picture.

    Parameters
    ----------
    label : str
        What it is: a product, a pair, a ball's number.
    note : str
        A word at the right: ``told apart``, a count, a printed value.
    bars : tuple of Bar
        From the top down.
    raw : Raw or None
        The raw value below them.
    specks : tuple of float
        Single balls, each a small dot.
    group : str
        Heading over this and the following rows of the same group, such as a box.
    stressed : bool
        The row that the eye should find: a ball in doubt.
    """

    label: str
    note: str = ""
    bars: tuple[Bar, ...] = ()
    raw: Raw | None = None
    specks: tuple[float, ...] = ()
    group: str = ""
    stressed: bool = False


@dataclass(frozen=True, slots=True)
class RowChart:
    """Values across, rows down.

    Parameters
    ----------
    shape : str
        ``strip``: one row on a band; ``balls``: a row a ball on a common band; ``products``: rows with a heading.
    axis : ValueAxis
        The values across.
    rows : tuple of Row
        From the top down.
    n_text : str
        How many balls stand behind the picture, ``"n = 24 balls"``.
    lower, upper : LimitLine or None
        Limits; what lies between is the band. With one limit the band is open on the other side.
    reference : LimitLine or None
        A line to compare with that limits nothing, such as no difference.
    remark : str
        A line under the picture: how the limits were seen.
    """

    shape: Literal["strip", "balls", "products"]
    axis: ValueAxis
    rows: tuple[Row, ...]
    n_text: str
    lower: LimitLine | None = None
    upper: LimitLine | None = None
    reference: LimitLine | None = None
    remark: str = ""


@dataclass(frozen=True, slots=True)
class MarkRow:
    """One product's marks: its decision in words, and a mark a clause."""

    label: str
    word: str
    marks: tuple[Decision, ...]


@dataclass(frozen=True, slots=True)
class MarkChart:
    """Decision marks in a grid: a row a product, a column a clause.

    Parameters
    ----------
    columns : tuple of str
        Short heads, such as ``"1"``.
    rows : tuple of MarkRow
        From the top down.
    n_text : str
        How many balls stand behind it.
    """

    columns: tuple[str, ...]
    rows: tuple[MarkRow, ...]
    n_text: str


@dataclass(frozen=True, slots=True)
class BudgetPart:
    """What one error brings to a result.

    Parameters
    ----------
    words : str
        Its name.
    text, share_text : str
        Its size, and its share of the variance, as printed.
    size : float
        In the unit of the result; squares of sizes add up.
    sort : str
        Whose it is: the instrument's, the conditions', the readings', the places', the balls'.
    cancels : bool
        It would have this size, but is the same for both products.
    """

    words: str
    text: str
    share_text: str
    size: float
    sort: Literal["instrument", "conditions", "readings", "places", "balls"]
    cancels: bool = False


@dataclass(frozen=True, slots=True)
class BudgetRow:
    """One result: its name, its expanded uncertainty as printed, and its parts from the core outwards."""

    label: str
    note: str
    parts: tuple[BudgetPart, ...]


@dataclass(frozen=True, slots=True)
class BudgetChart:
    """What the uncertainty of some results is made of: a ball a result, a skin a part.

    Parameters
    ----------
    rows : tuple of BudgetRow
        From the top down, on one scale.
    n_text : str
        How many balls stand behind it.
    """

    rows: tuple[BudgetRow, ...]
    n_text: str


Chart = (
    RowChart
    | MarkChart
    | BudgetChart
    | RulerChart
    | CheckChart
    | CalibrationChart
    | TrayChart
    | EndingChart
    | GridChart
    | VeeChart
    | OutlineChart
    | EdgeChart
    | DropsChart
    | SpeedChart
    | FilmChart
    | RollChart
)
"""Whatever can be laid out and drawn."""
