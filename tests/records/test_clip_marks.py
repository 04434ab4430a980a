from __future__ import annotations

import math
from pathlib import Path

import pytest

from ballbench.errors import BadRecording
from ballbench.records.clip_marks import USUAL_MARK_U, marks_csv, read_marks

HEAD = "file,time_s,what,x,y,u,by,time\n"


def written(folder: Path, text: str) -> Path:
    path = folder / "marks.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_marks_are_read_and_written_back(tmp_path: Path) -> None:
    """Two places and a picture to leave out, by file name and by digest; written and read again they are the same."""
    text = HEAD + "a.mp4,0.4,ball,101.5,230.25,2,Ann,10:00\na.mp4,0.2,leave out,,,,,\nsha256:ab,0.1,,5,6,,,\n"
    marks = read_marks(written(tmp_path, text))
    first, second = marks.of("a.mp4", "sha256:zz")
    assert (first.seconds, second.seconds) == (0.2, 0.4)
    assert math.isnan(first.x)
    assert (second.x, second.y, second.u, second.by) == (101.5, 230.25, 2.0, "Ann")
    (other,) = marks.of("b.mp4", "sha256:ab")
    assert (other.x, other.u) == (5.0, USUAL_MARK_U)
    assert marks.files() == ("a.mp4", "sha256:ab")
    again = read_marks(written(tmp_path, marks_csv(marks.rows)))
    assert [(m.file, m.seconds, m.u) for m in again.rows] == [(m.file, m.seconds, m.u) for m in marks.rows]


def test_all_faults_are_told_at_once(tmp_path: Path) -> None:
    """No file, no number, a ball without a place, an unknown word, no uncertainty of 0, one picture twice."""
    rows = [
        ",0.1,ball,1,2,,,", "a.mp4,soon,ball,1,2,,,", "a.mp4,0.2,ball,,2,,,", "a.mp4,0.3,hand,1,2,,,",
        "a.mp4,0.4,ball,1,2,0,,", "a.mp4,0.5,ball,1,2,,,", "a.mp4,0.5,ball,1,3,,,", "a.mp4,-1,ball,1,2,,,",
    ]  # fmt: skip
    with pytest.raises(BadRecording) as caught:
        read_marks(written(tmp_path, HEAD + "\n".join(rows) + "\n"))
    told = str(caught.value)
    for line in (2, 3, 4, 5, 6, 8, 9):
        assert f"line {line}" in told
    assert "ball or leave out" in told
    assert "again, as in line 7" in told


def test_a_file_without_rows_is_refused(tmp_path: Path) -> None:
    """A header alone."""
    with pytest.raises(BadRecording, match="no row below the header"):
        read_marks(written(tmp_path, HEAD))
