"""The ramp of a roll log: written once, it holds for the lines below until something of it is written anew."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ballbench.errors import Fault
from ballbench.quantities.units import UnitError
from ballbench.records.fault_list import FaultList, quoted
from ballbench.records.importers.named_table import NamedTable
from ballbench.records.importers.number_columns import NumberColumns, cell_place
from ballbench.records.written_steps import written_steps
from ballbench.records.written_units import exact_factor

__all__ = ["ANGLE_U", "SET_UP", "RampAsItStood", "StandingRamp"]

SET_UP = ("sitting", "slope", "run_out", "angle", "angle_u", "rise", "ball_diameter", "length_unit")
"""Columns that an empty cell takes from the line above."""
ANGLE_U = 0.5
"""Standard uncertainty of an angle that came without one, degrees (own choice)."""
_WRITTEN = ("slope", "run_out", "angle", "angle_u", "rise", "ball_diameter")
_MOST_U = 0.01
"""A length is known to one unit of its last decimal, a hundredth at worst: "1 m" is no whole metre (own choice)."""
_ANGLES = (0.2, 45.0)
_DIAMETERS = (5.0, 500.0)
_SLOPES = (50.0, 50_000.0)
"""Degrees, mm, mm: what lies beyond is a slip (own choice)."""


@dataclass(frozen=True, slots=True)
class StandingRamp:
    """A ramp as it stood while balls were rolled; lengths in mm, angles in degrees.

    Parameters
    ----------
    sitting : str
        Whatever was moved between two sittings, its lean may have changed; may be empty.
    slope, slope_u : float
        Length along the slope from the start, and its standard uncertainty: one unit of the last decimal,
        1 % at most.
    run_out, run_out_u : float
        On the flat after it; 0 and 0 where the read line is on the slope.
    angle, angle_u : float
        Of the slope. From the rise over the slope where that was written.
    diameter, diameter_u : float
        Of the ball.
    angle_said : bool
        Whether the angle's uncertainty was stated, or follows from rise and slope.
    """

    sitting: str
    slope: float
    slope_u: float
    run_out: float
    run_out_u: float
    angle: float
    angle_u: float
    diameter: float
    diameter_u: float
    angle_said: bool


class RampAsItStood:
    """The set-up columns of a table, filled down.

    Parameters
    ----------
    table : NamedTable
        The cells.
    numbers : NumberColumns
        With the number columns of the set-up.
    faults : FaultList
        Where faults are noted, each at the line where it was written.
    """

    def __init__(self, table: NamedTable, numbers: NumberColumns, faults: FaultList) -> None:
        self.table, self.numbers, self.faults = table, numbers, faults
        self.held: dict[str, tuple[float, float]] = {}
        self.steps = {name: written_steps(table, (name,)) for name in _WRITTEN}
        self.sitting, self.scale = "", 1.0
        self.standing: StandingRamp | None = None
        self.asked = False

    def at(self, index: int, cells: dict[str, object]) -> StandingRamp | None:
        """Give the ramp of one row; None where it is missing or wrong, which is then noted.

        Parameters
        ----------
        index : int
            The row, from 0; rows are asked for in order.
        cells : dict of str to object
            Its cells.
        """
        written = [name for name in SET_UP if str(cells[name])]
        if not written and self.asked:
            return self.standing
        line, before = int(str(cells["at line"])), self.faults.total
        self.asked = True
        if str(cells["length_unit"]):
            self._take_unit(str(cells["length_unit"]), line)
        self.sitting = str(cells["sitting"]) or self.sitting
        for name in _WRITTEN:
            if str(cells[name]):
                self._take(name, index)
        if str(cells["angle"]) and str(cells["rise"]):
            self._fault("rise", line, "a rise beside an angle", "one of the two", "take one of them out")
        elif str(cells["rise"]):
            self.held.pop("angle", None)
            self.held.pop("angle_u", None)
        elif str(cells["angle"]):
            self.held.pop("rise", None)
            if not str(cells["angle_u"]):
                self.held.pop("angle_u", None)
        self._need(line)
        self.standing = self._stand(line) if self.faults.total == before else None
        return self.standing

    def _fault(self, name: str, line: int, found: str, allowed: str, todo: str) -> None:
        self.faults.add(Fault(cell_place(self.table, line, name), found, allowed, todo), 0, line)

    def _take_unit(self, unit: str, line: int) -> None:
        try:
            self.scale = exact_factor(unit, "mm")
        except UnitError:
            self._fault("length_unit", line, quoted(unit), "a unit that can be turned into mm", "correct the unit")

    def _take(self, name: str, index: int) -> None:
        """Hold a number with one unit of its last decimal as its uncertainty, a hundredth at most, lengths in mm."""
        value = self.numbers.value(name, index, least=0.0) if name == "run_out" else self.numbers.value(
            name, index, above=0.0
        )  # fmt: skip
        if value is None:
            self.held[name] = (math.nan, math.nan)  # written, and already noted as wrong
            return
        scale = 1.0 if name.startswith("angle") else self.scale
        self.held[name] = (value * scale, min(self.steps[name][index], _MOST_U * value) * scale)

    def _need(self, line: int) -> None:
        """Note what is missing, once for the line that should have it."""
        for name, what in (("slope", "the length of the slope"), ("ball_diameter", "the diameter of the ball")):
            if name not in self.held:
                self._fault(name, line, "no value here or above", what, f"write {what} in the first line")
        if "angle" not in self.held and "rise" not in self.held:
            todo = "write the angle in degrees, or the rise over the slope"
            self._fault("angle", line, "no value here or above", "the angle of the slope, or its rise", todo)

    def _stand(self, line: int) -> StandingRamp | None:
        before = self.faults.total
        slope, slope_u = self.held["slope"]
        run_out, run_out_u = self.held.get("run_out", (0.0, 0.0))
        diameter, diameter_u = self.held["ball_diameter"]
        self._within("slope", line, slope, _SLOPES, "mm")
        self._within("ball_diameter", line, diameter, _DIAMETERS, "mm")
        if run_out > _SLOPES[1]:
            self._fault("run_out", line, f"{run_out:g} mm", f"0 to {_SLOPES[1]:g} mm", "look at number and unit")
        said = "angle_u" in self.held or "rise" in self.held
        if "rise" in self.held:
            rise, rise_u = self.held["rise"]
            if rise >= slope:
                found = f"a rise of {rise:g} mm over a slope of {slope:g} mm"
                self._fault("rise", line, found, "a rise below the slope", "measure both again")
                return None
            angle = math.degrees(math.asin(rise / slope))
            angle_u = math.degrees(math.hypot(rise_u, rise / slope * slope_u) / math.sqrt(slope**2 - rise**2))
            self._within("rise", line, angle, _ANGLES, "degrees")
        else:
            angle = self.held["angle"][0]
            angle_u = self.held["angle_u"][0] if said else ANGLE_U
            self._within("angle", line, angle, _ANGLES, "degrees")
        if self.faults.total > before:
            return None
        u = run_out_u if run_out else 0.0
        return StandingRamp(
            self.sitting, slope, slope_u, run_out, u, angle, angle_u, diameter, diameter_u, said,
        )  # fmt: skip

    def _within(self, name: str, line: int, value: float, span: tuple[float, float], unit: str) -> None:
        if math.isfinite(value) and not span[0] <= value <= span[1]:
            rule = f"{span[0]:g} to {span[1]:g} {unit}"
            self._fault(name, line, f"{value:.4g} {unit}", rule, "look at number and unit")
