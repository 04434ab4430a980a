from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import polars as pl
import pytest

_CHILD = """
import json, sys
from pathlib import Path
from ballbench.records import read_readings
def peak():
    lines = Path("/proc/self/status").read_text().splitlines() if Path("/proc/self/status").exists() else []
    return sum(int(line.split()[1]) for line in lines if line.startswith("VmHWM"))
before = peak()
readings = read_readings(Path(sys.argv[1]))
extra = (peak() - before) / 1024
print(json.dumps([extra, readings.table.height, readings.table["value"].sum()]))
"""


@pytest.mark.parametrize("comma", [False, True])
def test_a_million_readings_are_imported_in_a_gibibyte(tmp_path: Path, *, comma: bool) -> None:
    """10,000 products x 25 balls x 4 axes are read in 1 GiB beyond the start, none lost."""
    count = 1_000_000
    row = np.arange(count)
    hundredths = np.random.default_rng(6).integers(3980, 4030, count)
    value = pl.Series(hundredths // 100).cast(pl.String) + ("," if comma else ".")
    value += pl.Series(hundredths % 100).cast(pl.String).str.zfill(2)
    axes = pl.Series(["seam", "across", "free", "pole"])
    path = tmp_path / "big.csv"
    pl.DataFrame(
        {
            "product": "make " + pl.Series(row // 100).cast(pl.String),
            "box": "1",
            "ball": pl.Series(row // 4 % 25).cast(pl.String).str.zfill(2),
            "quantity": "diameter",
            "axis": axes.gather(row % 4),
            "value": value,
            "unit": "mm",
            "instrument": "caliper",
            "sitting": "1",
        }
    ).write_csv(path, separator=";" if comma else ",")
    # A process of its own, for the peak is that of a whole process; where the system does not tell it, it counts as 0.
    run = subprocess.run([sys.executable, "-c", _CHILD, str(path)], check=True, capture_output=True, text=True)
    extra, height, total = json.loads(run.stdout)
    assert height == count
    assert total == pytest.approx(hundredths.sum() / 100, rel=1e-12)
    assert extra < 1024.0
