"""Facts of single balls: how long conditioned, when opened, how often hit; what a clause's conditions may need."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from ballbench.errors import BadBalls, Fault
from ballbench.records.fault_list import FaultList, quoted
from ballbench.records.importers.named_table import NamedTable, read_named_table
from ballbench.records.importers.number_columns import NumberColumns, cell_place

__all__ = ["BallFact", "BallFacts", "read_balls"]

_NUMBERS = ("conditioned_h", "pressure_kpa", "impacts", "temperature_c")
_DATES = ("opened", "bought")
_COLUMNS = ("product", "ball", "box", *_NUMBERS, *_DATES, "price")
_NEVER_NEGATIVE = ("conditioned_h", "impacts")


@dataclass(frozen=True, slots=True)
class BallFact:
    """What is known of one ball; None: not known.

    Parameters
    ----------
    product, box, ball : str
        Which ball.
    conditioned_h : float or None
        Hours that it lay in the test climate.
    opened, bought : str or None
        When its can was opened and when it was bought, ISO 8601.
    pressure_kpa : float or None
        Inner pressure above that of the air, kPa.
    impacts : int or None
        How many impacts it has had.
    temperature_c : float or None
        Its temperature, degC.
    price : str or None
        As written, with its currency.
    """

    product: str
    box: str
    ball: str
    conditioned_h: float | None = None
    opened: str | None = None
    pressure_kpa: float | None = None
    impacts: int | None = None
    temperature_c: float | None = None
    bought: str | None = None
    price: str | None = None


@dataclass(frozen=True, slots=True)
class BallFacts:
    """A file of ball facts.

    Parameters
    ----------
    balls : mapping of (str, str, str) to BallFact
        By product, box and ball.
    notes : tuple of str
        How the file was read.
    digest : str
        ``"sha256:..."`` of the file's bytes.
    """

    balls: Mapping[tuple[str, str, str], BallFact] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    digest: str = ""

    def facts_of(self, product: str, box: str, ball: str) -> BallFact:
        """Give what is known of one ball.

        Parameters
        ----------
        product, box, ball : str
            As in the readings; a line without a box holds for that ball of any box that has no line of its own.

        Returns
        -------
        BallFact
            With None throughout where the file says nothing of the ball.
        """
        return self.balls.get((product, box, ball)) or self.balls.get(
            (product, "", ball), BallFact(product=product, box=box, ball=ball)
        )


def read_balls(path: Path) -> BallFacts:
    """Read a file of ball facts.

    Parameters
    ----------
    path : Path
        Columns product and ball, and any of box, conditioned_h, opened, pressure_kpa, impacts, temperature_c, bought,
        price.

    Returns
    -------
    BallFacts
        By product, box and ball.

    Raises
    ------
    BadBalls
        All faults at once.
    """
    table, faults = read_named_table(path, _COLUMNS, ("product", "ball"), BadBalls)
    numbers = NumberColumns(table, _NUMBERS, faults)
    balls: dict[tuple[str, str, str], BallFact] = {}
    for index, row in enumerate(table.cells.iter_rows(named=True)):
        texts = {name: str(row[name]) for name in _COLUMNS}
        line = int(row["at line"])
        for name in ("product", "ball"):
            if not texts[name]:
                fault = Fault(
                    cell_place(table, line, name), "an empty cell", f"the {name} in every line", f"write the {name}"
                )
                faults.add(fault, 0, line)
        key = (texts["product"], texts["box"], texts["ball"])
        if key in balls:
            found = f"a second line for ball {quoted(key[2])} of {quoted(key[0])}, box {quoted(key[1])}"
            faults.add(Fault(cell_place(table, line), found, "one line a ball", "keep the one that holds"), 0, line)
        read = {
            name: numbers.value(name, index, least=0.0 if name in _NEVER_NEGATIVE else None, whole=name == "impacts")
            for name in _NUMBERS
        }
        dates = {name: _date(table, line, name, texts[name], faults) for name in _DATES}
        impacts = read["impacts"]
        balls[key] = BallFact(
            *key,
            conditioned_h=read["conditioned_h"],
            opened=dates["opened"],
            pressure_kpa=read["pressure_kpa"],
            impacts=None if impacts is None else round(impacts),
            temperature_c=read["temperature_c"],
            bought=dates["bought"],
            price=texts["price"] or None,
        )
    faults.raise_if_any(BadBalls)
    return BallFacts(balls, table.notes, table.digest)


def _date(table: NamedTable, line: int, name: str, text: str, faults: FaultList) -> str | None:
    """Give one date as written, or note that it is none."""
    if not text:
        return None
    try:
        datetime.fromisoformat(text)
    except ValueError:
        allowed = "a date such as 2026-11-25, or 2026-11-25 14:30"
        faults.add(
            Fault(cell_place(table, line, name), quoted(text), allowed, "write year, month and day in this order"),
            0,
            line,
        )
        return None
    return text
