from __future__ import annotations

import csv
import io
import math
import zipfile
from pathlib import Path
from typing import Any

import pytest
from made_tests import new_test, sent
from recorded_values import marked, sound

from ballbench.errors import BadInput, NotFound
from ballbench.records.clip_marks import USUAL_MARK_U, marks_csv, read_marks
from ballbench.store import Notebook
from ballbench.workflows.exchange import export_file
from ballbench.workflows.recorded.marks import as_written, clip_marks, mark_faults
from ballbench.workflows.recorded.pages import recordings_page
from ballbench.workflows.take_in_test import TakeInWhole, take_in_whole


def test_marks_go_through_a_file_and_come_back_as_they_were_kept(tmp_path: Path) -> None:
    """In the order of time, to a microsecond and a hundredth of a pixel; a usual uncertainty where none was sent."""
    picks = ((0.5333333333, 81.4142, 210.2718, 0.4), (0.1,), (0.2000004, 80.005, 3.0))
    assert as_written(picks) == ((0.1,), (0.2, round(80.005, 2), 3.0), (0.533333, 81.41, 210.27, 0.4))
    file = tmp_path / "marks.csv"
    file.write_text(marks_csv(clip_marks("sha256:ab", picks, "E", "2026-11-28")), encoding="utf-8", newline="")
    rows = read_marks(file).rows
    assert [mark.seconds for mark in rows] == [0.1, 0.2, 0.533333]
    assert math.isnan(rows[0].x)
    assert [(mark.x, mark.y, mark.u) for mark in rows[1:]] == [
        (round(80.005, 2), 3.0, USUAL_MARK_U), (81.41, 210.27, 0.4),
    ]  # fmt: skip
    assert {(mark.file, mark.by, mark.time) for mark in rows} == {("sha256:ab", "E", "2026-11-28")}


@pytest.mark.parametrize("picks", [((0.1,), (0.2, 4.0, 5.0)), ((0.0, -3.0, 5.0, 1.5),)])
def test_marks_that_can_be_followed_have_no_fault(picks: Any) -> None:
    """A picture left out, one with a place, also one outside of the picture."""
    assert list(mark_faults(picks)) == []


@pytest.mark.parametrize("picks", [((0.1, 2.0),), ((math.nan,),), ((0.1,), (0.1000002,)), ((0.1, math.inf, 1.0),)])
def test_marks_that_cannot_be_followed_are_named(picks: Any) -> None:
    """Half a place, no number, two marks of one picture as a file has its time."""
    (fault,) = mark_faults(picks)
    assert fault.where == "picks"


def test_marks_leave_with_the_test_as_watch_reads_them(notebook: Notebook, tmp_path: Path) -> None:
    """Of each film as it was kept last, named by its bytes; what was kept before stays in recordings.csv."""
    test = new_test(notebook).id
    first, second = (sound(notebook, test, content, name) for content, name in ((b"a", "a.mp4"), (b"b", "b.mp4")))
    marked(notebook, test, first, ((0.1,),))
    marked(notebook, test, first, ((0.2,), (0.3, 80.0, 90.0)))
    marked(notebook, test, second, ((0.4, 1.0, 2.0, 0.25),))
    (tmp_path / "marks.csv").write_bytes(export_file(notebook, test, "marks.csv"))
    read = read_marks(tmp_path / "marks.csv")
    assert [mark.seconds for mark in read.of("", f"sha256:{first}")] == [0.2, 0.3]
    assert [(mark.seconds, mark.u) for mark in read.of("", f"sha256:{second}")] == [(0.4, 0.25)]
    assert {mark.by for mark in read.rows} == {"E"}
    with pytest.raises(NotFound):
        export_file(notebook, test, "picks.csv")
    kept = [one.picks for one in recordings_page(notebook, test).recordings]
    assert set(kept) == {'{"watch": [[0.2], [0.3, 80.0, 90.0]]}', '{"watch": [[0.4, 1.0, 2.0, 0.25]]}'}
    marked(notebook, test, first, ())
    marked(notebook, test, second, ())
    assert {one.picks for one in recordings_page(notebook, test).recordings} == {""}
    with pytest.raises(NotFound):
        export_file(notebook, test, "marks.csv")


def a_marked_archive(notebook: Notebook) -> bytes:
    """A test with a reading out of a marked film, as it leaves the notebook."""
    test = new_test(notebook).id
    marked(notebook, test, sound(notebook, test, b"a film", "drop.mp4"), ((0.2,), (0.3, 80.0, 90.0)))
    return export_file(notebook, test, "everything.zip")


def test_marks_go_round_with_the_test(notebook: Notebook, tmp_path: Path) -> None:
    """everything.zip taken in again gives the same marks.csv."""
    (tmp_path / "archive").write_bytes(a_marked_archive(notebook))
    again = take_in_whole(notebook, TakeInWhole(**sent(archive=tmp_path / "archive"))).id
    with zipfile.ZipFile(tmp_path / "archive") as archive:
        assert export_file(notebook, again, "marks.csv") == archive.read("marks.csv")
        assert export_file(notebook, again, "recordings.csv") == archive.read("recordings.csv")


@pytest.mark.parametrize("picks", ["[[0.2, 1]]", "[[0.2], [0.2]]", "[[-1]]"])
def test_marks_of_an_archive_that_nobody_could_follow_are_refused(
    notebook: Notebook, tmp_path: Path, picks: str
) -> None:
    """The line and column of recordings.csv; nothing is taken in."""
    with zipfile.ZipFile(io.BytesIO(a_marked_archive(notebook))) as archive:
        files = {name: archive.read(name) for name in archive.namelist() if name != "SHA256SUMS"}
    rows = list(csv.DictReader(io.StringIO(files["recordings.csv"].decode())))
    number = next(i for i, row in enumerate(rows) if row["method"])
    rows[number]["picks"] = picks
    out = io.StringIO()
    writer = csv.DictWriter(out, list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    with zipfile.ZipFile(tmp_path / "archive", "w") as archive:
        for name, content in {**files, "recordings.csv": out.getvalue().encode()}.items():
            archive.writestr(name, content)
    with pytest.raises(BadInput) as caught:
        take_in_whole(notebook, TakeInWhole(**sent(archive=tmp_path / "archive")))
    assert caught.value.faults[0].where == f"recordings.csv, line {number + 2}, column picks"
