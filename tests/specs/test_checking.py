from __future__ import annotations

from pathlib import Path

import pytest

from ballbench.errors import BadRequest, BadRequirement
from ballbench.specs.checking import check_requirement_files
from ballbench.specs.model import Requirement

FILE = """
id = "own"
sport = "any"
title = "Own"
edition = "1"
source = { seen = "own" }
[[clause]]
id = "mass"
text = "2.7 g"
quantity = "mass"
ball = "mean"
sample = "each"
nominal = "2.7 g"
"""


def test_a_folder_gives_every_file_what_became_of_it(tmp_path: Path) -> None:
    """A sound file, a broken one and a second with the same id: each is told, sorted by name."""
    (tmp_path / "b.toml").write_text(FILE)
    (tmp_path / "a.toml").write_text("id = ")
    (tmp_path / "c.toml").write_text(FILE)
    (tmp_path / "notes.txt").write_text("no requirement")
    (name_a, bad, none), (name_b, good, remarks), (name_c, _, _) = check_requirement_files(tmp_path)
    assert (name_a, name_b, name_c) == ("a.toml", "b.toml", "c.toml")
    assert isinstance(bad, BadRequirement)
    assert none == ()
    assert isinstance(good, Requirement)
    assert [remark.what for remark in remarks] == [
        'the id "own" is also that of c.toml',
        "2.7 g is a nominal value without a tolerance and gives no decision",
    ]


def test_one_file_is_checked_by_itself(tmp_path: Path) -> None:
    """A file's name need not end in .toml, and its remarks are those of the lint."""
    path = tmp_path / "mine"
    path.write_text(FILE)
    ((name, _, remarks),) = check_requirement_files(path)
    assert name == "mine"
    assert [remark.clause for remark in remarks] == ["mass"]


@pytest.mark.parametrize("name", ["missing.toml", "."])
def test_nothing_to_check_is_said(name: str, tmp_path: Path) -> None:
    """A missing path and a folder without requirement files are bad requests."""
    with pytest.raises(BadRequest, match=r"allowed: a requirement file or a folder of them"):
        check_requirement_files(tmp_path / name)
