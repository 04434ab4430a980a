from __future__ import annotations

from pathlib import Path

import pytest

from ballbench.errors import BadRecording
from ballbench.records.picks import Pick, picks_csv, read_picks

HEAD = "file,drop,impact,time_s,by,time\n"


def written(folder: Path, text: str) -> Path:
    path = folder / "picks.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_what_is_written_is_read_again(tmp_path: Path) -> None:
    """Picks of two drops, by name and by digest, come back to the microsecond."""
    rows = (
        Pick(2, "a.wav", 1, 1, 0.5123456, "AB", "2026-11-20 10:00"),
        Pick(3, "a.wav", 1, 2, 0.9),
        Pick(4, "sha256:ab", 1, 1, 3.25),
        Pick(5, "sha256:ab", 1, 2, 3.5),
    )
    read = read_picks(written(tmp_path, picks_csv(rows)))
    assert [(p.file, p.drop, p.impact, p.by) for p in read.rows] == [(p.file, p.drop, p.impact, p.by) for p in rows]
    assert [p.seconds for p in read.rows] == pytest.approx([p.seconds for p in rows], abs=5e-7)
    assert read.of("a.wav", "sha256:zz") == (pytest.approx((0.512346, 0.9)),)
    assert read.of("b.wav", "sha256:ab") == ((3.25, 3.5),)
    assert read.of("b.wav", "sha256:zz") == ()
    assert read.files() == ("a.wav", "sha256:ab")


def test_rows_may_stand_in_any_order(tmp_path: Path) -> None:
    """Impacts are put in the order of their numbers, drops in theirs; a decimal comma is read as one."""
    text = "file;drop;impact;time_s\na.wav;2;1;5,5\na.wav;1;2;0,9\na.wav;1;1;0,5\na.wav;2;2;6,0\n"
    assert read_picks(written(tmp_path, text)).of("a.wav", "") == ((0.5, 0.9), (5.5, 6.0))


@pytest.mark.parametrize(
    ("rows", "line", "words"),
    [
        (",1,1,0.5\n", 2, "an empty cell"),
        ("a.wav,0,1,0.5\n", 2, "'0'"),
        ("a.wav,1,1.5,0.5\n", 2, "a whole number"),
        ("a.wav,1,1,soon\n", 2, "soon"),
        ("a.wav,1,1,-0.5\n", 2, "0 or more"),
        ("a.wav,1,1,0.5\na.wav,1,1,0.9\n", 3, "each impact once"),
        ("a.wav,1,1,0.9\na.wav,1,2,0.5\n", 3, "later impacts at later times"),
    ],
)
def test_each_fault_says_where(tmp_path: Path, rows: str, line: int, words: str) -> None:
    """A wrong row is named by its line, with what is allowed."""
    with pytest.raises(BadRecording) as refused:
        read_picks(written(tmp_path, "file,drop,impact,time_s\n" + rows))
    (fault,) = refused.value.faults
    assert f"line {line}" in fault.where
    assert words.strip("'") in str(fault)


def test_all_faults_come_at_once(tmp_path: Path) -> None:
    """Three wrong rows are three faults."""
    with pytest.raises(BadRecording) as refused:
        read_picks(written(tmp_path, HEAD + "a,1,x,0.5,,\n,1,1,0.5,,\nb,1,1,,,\n"))
    assert len(refused.value.faults) == 3


@pytest.mark.parametrize("text", [HEAD, "file,drop\na,1\n", ""])
def test_a_file_without_picks_is_refused(tmp_path: Path, text: str) -> None:
    """No rows, no columns, nothing at all."""
    with pytest.raises(BadRecording):
        read_picks(written(tmp_path, text))
