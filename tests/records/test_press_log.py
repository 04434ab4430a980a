"""The log of a press: what is read, and in which units it comes out."""

from __future__ import annotations

from pathlib import Path

import pytest

from ballbench.errors import BadReadings
from ballbench.physics.deformation import press_readings
from ballbench.records.press_log import read_press_log
from ballbench.records.written_forces import newtons

HEAD = "product,ball,orientation,direction,load,preload,seconds,deformation"


def _file(folder: Path, text: str) -> Path:
    path = folder / "press.csv"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("unit", "factor"), [("N", 1.0), ("kg", 9.80665), ("kgf", 9.80665), ("lbf", 4.4482216152605), ("kN", 1000.0)]
)
def test_forces_become_newtons(unit: str, factor: float) -> None:
    """Standard gravity 9.80665 m/s2 and the pound 0.45359237 kg, both exact by definition (from memory)."""
    assert newtons(unit) == pytest.approx(factor, rel=1e-13)


def test_rows_are_what_the_mathematics_takes(tmp_path: Path) -> None:
    """A row in kilograms and inches passes the checks of `press_readings` as newtons and millimetres."""
    text = f"{HEAD},load_unit,unit,quantity,u\nA,1,seam,Forward,8.165,1.588,5,0.24,kg,in,Hardness,0.01\n"
    log, faults = read_press_log(_file(tmp_path, text))
    assert faults.total == 0
    (reading,) = press_readings([row.fields for row in log.rows])
    assert (reading.load_n, reading.preload_n, reading.deformation_mm) == pytest.approx(
        (80.0713, 15.573, 6.096), rel=1e-5
    )
    assert (reading.direction, reading.repeat, log.rows[0].quantity) == ("forward", 1, "hardness")
    assert (log.rows[0].u, log.rows[0].step) == pytest.approx((0.254, 0.254))
    assert any("weight of that mass" in note for note in log.notes)


def test_cells_that_cannot_be_read_are_faults(tmp_path: Path) -> None:
    """Empty names, a word, a quantity and units that are none: each at its line and column, all gathered."""
    text = f"{HEAD},load_unit,unit,quantity\n,,,,x,1,5,6,mm,N,bounce\n"
    _, faults = read_press_log(_file(tmp_path, text))
    columns = {fault.where.rpartition(" ")[2] for _, fault in faults.found}
    assert columns == {"product", "ball", "orientation", "direction", "load", "load_unit", "unit", "quantity"}


def test_a_header_alone_is_no_log(tmp_path: Path) -> None:
    """Nothing read is said, with what to do."""
    with pytest.raises(BadReadings, match="no row below the header"):
        read_press_log(_file(tmp_path, HEAD + "\n"))
