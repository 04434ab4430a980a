from __future__ import annotations

import subprocess
import sys
import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[1]


def contracts(folder: Path) -> subprocess.CompletedProcess[str]:
    """Run the import checker on the contracts of a folder's pyproject.toml."""
    return subprocess.run(
        [sys.executable, "-c", "import sys; from importlinter.cli import lint_imports_command as c; sys.exit(c())"],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
    )


def test_imports_point_down_only() -> None:
    """Every contract in pyproject.toml holds over the whole package (import-linter reads the import graph)."""
    done = contracts(ROOT)
    assert done.returncode == 0, done.stdout
    listed = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["importlinter"]["contracts"]
    assert f"{len(listed)} kept, 0 broken" in done.stdout


def test_the_checker_sees_an_import_that_points_up(tmp_path: Path) -> None:
    """The same kind of contract is broken by a package whose lower layer imports the upper one."""
    package = tmp_path / "house"
    package.mkdir()
    (package / "__init__.py").touch()
    (package / "upper.py").touch()
    (package / "lower.py").write_text("import house.upper\n")
    (tmp_path / "pyproject.toml").write_text(
        '[tool.importlinter]\nroot_package = "house"\n[[tool.importlinter.contracts]]\n'
        'name = "down"\ntype = "layers"\ncontainers = ["house"]\nlayers = ["upper", "lower"]\n'
    )
    done = contracts(tmp_path)
    assert done.returncode == 1
    assert "1 broken" in done.stdout
