"""Logs of floats and spins as files: what is read, and how a bad file is answered."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from ballbench.errors import BadReadings
from ballbench.records.spot_log import read_spot_log

HEAD = "product,ball,test,trial,spot,of,share,seconds,note"


def log(folder: Path, *rows: str) -> Path:
    path = folder / "spots.csv"
    path.write_text("\n".join([HEAD, *rows]) + "\n", encoding="utf-8")
    return path


def test_sectors_and_test_hold_for_the_lines_below(tmp_path: Path) -> None:
    """Six equal sectors are a sixth each; an own share goes before; a ball without rest has no share."""
    rows = read_spot_log(log(
        tmp_path, "A,1,,1,top,6,,4.5,", "A,1,,2,None,,,,", "A,2,spin,1,seam,,0.25,7,", "A,2,,2,seam,,0.25,,",
    )).rows  # fmt: skip
    assert [row.spot for row in rows] == ["top", "", "seam", "seam"]
    assert [row.test for row in rows] == ["float", "float", "spin", "spin"]
    assert [row.share for row in rows] == pytest.approx([1 / 6, math.nan, 0.25, 0.25], nan_ok=True)
    assert [row.of for row in rows] == [6, 6, 0, 0]
    assert (rows[0].seconds, math.isnan(rows[1].seconds)) == (4.5, True)


def test_spoiled_trials_are_counted_and_no_readings(tmp_path: Path) -> None:
    """A row without a spot whose note says so."""
    found = read_spot_log(log(tmp_path, "A,1,,1,top,6,,,", "A,1,,2,,,,,spoiled: touched the wall"))
    assert (len(found.rows), found.spoiled) == (1, (("A", "touched the wall"),))


@pytest.mark.parametrize(
    ("rows", "places"),
    [
        ((",,roll,0,,1,,-1,",), {"2 product", "2 ball", "2 test", "2 trial", "2 spot", "2 of", "2 seconds"}),
        (("A,1,,1,top,,,,",), {"2 of"}),
        (("A,1,,1,top,,1.5,,",), {"2 share"}),
        (("A,1,,1,top,,0.3,,", "A,1,,2,top,,0.4,,"), {"3 share"}),
        (("A,1,,1,a,2,,,", "A,1,,2,b,,,,", "A,1,,3,c,,,,"), {"4 of"}),
        (("A,1,,1,a,6,,,", "A,1,,1,b,,,,"), {"3 trial"}),
        (("A,1,,1,a,5000,,,",), {"2 of"}),
    ],
)
def test_every_fault_is_told_at_once(tmp_path: Path, rows: tuple[str, ...], places: set[str]) -> None:
    """Wrong cells, sectors that nobody stated, shares that differ or are more than a sphere, one trial twice."""
    with pytest.raises(BadReadings) as caught:
        read_spot_log(log(tmp_path, *rows))
    found = {fault.where.removeprefix("spots.csv, line ").replace(", column", "") for fault in caught.value.faults}
    assert found == places


def test_a_ball_has_no_more_trials_than_a_person_does(tmp_path: Path) -> None:
    """1,001 trials of one ball: one message; of two balls: none."""
    rows = [f"A,1,,,t,{6 if i == 0 else ''},,," for i in range(1001)]
    with pytest.raises(BadReadings, match="at most 1000 trials of a ball"):
        read_spot_log(log(tmp_path, *rows))
    assert len(read_spot_log(log(tmp_path, *rows[:-1], "A,2,,,t,,,,")).rows) == 1001


def test_a_header_alone_is_no_file(tmp_path: Path) -> None:
    """Nothing read is said, with what to do."""
    with pytest.raises(BadReadings, match="no trial below the header"):
        read_spot_log(log(tmp_path))
