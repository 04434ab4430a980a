from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from ballbench.specs import catalogue

Run = Callable[..., Any]

CATALOGUE = Path(catalogue.__file__).parent


def test_the_list_names_every_requirement(ballbench: Run) -> None:
    """`specs` lists the id of every file of the catalogue, once."""
    run = ballbench("specs")
    assert run.status == 0
    listed = [line.split()[0] for line in run.out.splitlines() if line.startswith("  ") and line[2] != " "]
    assert sorted(listed) == sorted(file.stem for file in CATALOGUE.glob("*.toml"))


def test_one_requirement_is_shown_whole(ballbench: Run) -> None:
    """`specs ID` shows every clause of its file, with its limit and how the number was seen."""
    run = ballbench("specs", "golf")
    assert run.status == 0
    text = (CATALOGUE / "golf.toml").read_text(encoding="utf-8")
    for line in text.splitlines():
        if line.startswith(("upper", "lower")):
            assert line.split('"')[1] in run.out
    assert run.out.count("source:") == text.count("[[clause]]")


def test_an_own_file_is_shown_by_path(ballbench: Run, files: Any) -> None:
    """`specs PATH` shows an own requirement, variants and conditions included."""
    run = ballbench("specs", str(files.spec))
    assert run.status == 0
    assert "A small rule (invented)" in run.out
    assert "or, read otherwise" in run.out
    assert "temperature 18 to 22 degC" in run.out


def test_an_unknown_id_suggests_near_ones(ballbench: Run) -> None:
    """`specs golff` is answered with golf."""
    run = ballbench("specs", "golff")
    assert (run.status, run.out) == (2, "")
    assert "golf" in run.err.replace("golff", "")


def test_the_catalogue_passes_its_own_check(ballbench: Run) -> None:
    """`specs --check` on the catalogue ends with status 0 and loads every file."""
    run = ballbench("specs", "--check", str(CATALOGUE))
    assert run.status == 0
    assert run.out.count(": loads") == len(list(CATALOGUE.glob("*.toml")))


def test_a_folder_with_one_bad_file_fails_the_check(ballbench: Run, files: Any) -> None:
    """One file that cannot be used makes the status 2, and the good one is still said to load."""
    rules = files.folder / "rules"
    rules.mkdir()
    (rules / "good.toml").write_text(files.spec.read_text(encoding="utf-8"))
    (rules / "bad.toml").write_text("id = 3\n")
    run = ballbench("specs", "--check", str(rules))
    assert run.status == 2
    assert "good.toml: loads" in run.out
    assert "bad.toml: cannot be used" in run.out


def test_limits_that_exclude_each_other_are_remarked(ballbench: Run, files: Any) -> None:
    """`specs --check` remarks on an empty range, an impossible count and a quantity nearly like a usual one."""
    text = files.spec.read_text(encoding="utf-8")
    text = text.replace('lower = "2.67 g"', 'lower = "2.97 g"').replace(
        'quantity = "diameter"', 'quantity = "diametr"', 1
    )
    text = text.replace(
        'count = { answer = "no" }', 'count = { answer = "no", at_least = 9, at_most = 3, out_of = 10 }'
    )
    files.spec.write_text(text)
    run = ballbench("specs", "--check", str(files.spec))
    assert run.status == 0
    for clause in ("mass", "largest", "crack"):
        assert f"- {clause}: " in run.out


def test_nothing_to_check_is_refused(ballbench: Run, tmp_path: Path) -> None:
    """A folder without requirement files, or a path that is not there, gives status 2."""
    for path in (tmp_path, tmp_path / "not-there"):
        run = ballbench("specs", "--check", str(path))
        assert (run.status, run.out) == (2, "")
        assert "What to do" in run.err
