from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

RECORDINGS = Path(__file__).parents[2] / "examples" / "winter-league" / "recordings"


def run(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", "from ballbench.cli.main import run; run()", "watch", *arguments]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=240, check=False)


def test_status_and_files_of_a_run(tmp_path: Path) -> None:
    """One clip read, one refused: 0, JSON alone on the screen, a readings file; none read, or a fault: 2."""
    for name in ("Curlew_07_film.mp4", "Dunlin_03_slow.mp4"):
        shutil.copy(RECORDINGS / name, tmp_path / name)
    both = run(
        tmp_path, "Curlew_07_film.mp4", "Dunlin_03_slow.mp4", "--ball", "40 mm, 2.7 g", "--json", "-", "--readings",
        "out.csv",
    )  # fmt: skip
    assert both.returncode == 0, both.stderr
    data = json.loads(both.stdout)
    assert data["clips"][0]["rebound"]["unit"] == "mm"
    assert "too slowly" in data["clips"][1]["refused"]
    says, header, *_ = (tmp_path / "out.csv").read_text(encoding="utf-8").splitlines()
    assert says == '"Invented data, for demonstration"'
    assert header.startswith("product,ball,quantity")
    none = run(tmp_path, "none.mp4", "--ball", "40 mm, 2.7 g")
    assert none.returncode == 2
    assert "no such file" in none.stdout
    over = run(tmp_path, "Curlew_07_film.mp4", "--ball", "40 mm, 2.7 g", "--json", "Curlew_07_film.mp4")
    assert over.returncode == 2
    assert "not one of the inputs" in over.stderr
    wrong = run(tmp_path, "Curlew_07_film.mp4", "--ball", "40 mm", "--ruler", "0.85")
    assert wrong.returncode == 2
    assert "Traceback" not in wrong.stderr
