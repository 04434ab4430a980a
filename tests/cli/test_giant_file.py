from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

resource = pytest.importorskip("resource", reason="memory can be limited on POSIX systems only")

GIANT = 1 << 30
ALLOWED = 2 << 30
"""Address space for the whole program, libraries included: room for the libraries, none for two copies of the file."""


@pytest.fixture(params=["zeros", "letters at the front"])
def giant(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Path]:
    """A file of 1 GiB in one line, sparse on the disk, removed afterwards."""
    path = tmp_path / "giant.csv"
    path.write_bytes(b"product,ball,quantity,value" * (40_000 if request.param != "zeros" else 0))
    os.truncate(path, GIANT)
    yield path
    path.unlink()


@pytest.mark.parametrize("option", ["readings", "--bench", "--corrections", "--balls", "--spec"])
def test_a_giant_line_is_refused_in_bounded_memory(giant: Path, option: str, league: Path) -> None:
    """A file of 1 GiB in one line, given for any file, is refused with status 2 within 2 GiB of address space."""
    words = ["judge", str(league / "readings.csv"), "--spec", str(league / "league-ball.toml")]
    if option == "readings":
        words[1] = str(giant)
    else:
        words += [option, str(giant)]
        if option != "--corrections":
            words += ["--corrections", str(league / "corrections.csv")]
    done = subprocess.run(
        [sys.executable, "-m", "ballbench.cli.main", *words],
        capture_output=True, text=True, check=False, env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_AS, (ALLOWED, ALLOWED)),
    )  # fmt: skip
    assert (done.returncode, done.stdout) == (2, ""), done.stderr
    assert "giant.csv" in done.stderr
    assert done.stderr.count("ballbench: ") == 1
    assert "Traceback" not in done.stderr
