from __future__ import annotations

import re
from pathlib import Path

import pytest

TESTS = Path(__file__).resolve().parents[1]


def missing(reference: Path, tests: Path) -> list[str]:
    """Say which data folders have no certificate, an empty one, or no test that names the folder in a string."""
    sources = [
        path.read_text(encoding="utf-8") for path in tests.rglob("test_*.py") if path.name != Path(__file__).name
    ]
    found = []
    for folder in sorted(path for path in reference.iterdir() if path.is_dir() and path.name != "__pycache__"):
        certificate = folder / "SOURCE.md"
        if not certificate.is_file() or not certificate.read_text(encoding="utf-8").strip():
            found.append(f"{folder.name}: no SOURCE.md that says where its numbers come from")
        named = re.compile(rf"[\"'/]{re.escape(folder.name)}[\"'/]")
        if not any(named.search(source) for source in sources):
            found.append(f"{folder.name}: no test reads it")
    return found


def test_every_folder_of_published_numbers_has_a_certificate_and_a_reader() -> None:
    """Each folder here says where its numbers come from, and a test uses them (rule of this project)."""
    assert missing(TESTS / "reference", TESTS) == []


@pytest.mark.parametrize(
    ("certificate", "test", "expected"),
    [
        ("origin", 'DATA / "lots"', []),
        ("origin", "lots of words", ["lots: no test reads it"]),
        (" \n", '"tests/reference/lots/a.csv"', ["lots: no SOURCE.md that says where its numbers come from"]),
        (
            None,
            "",
            ["lots: no SOURCE.md that says where its numbers come from", "lots: no test reads it"],
        ),
    ],
)
def test_the_check_itself_sees_what_is_missing(
    tmp_path: Path, certificate: str | None, test: str, expected: list[str]
) -> None:
    """A folder without certificate or reader is reported (planted faults)."""
    folder = tmp_path / "reference" / "lots"
    folder.mkdir(parents=True)
    if certificate is not None:
        (folder / "SOURCE.md").write_text(certificate, encoding="utf-8")
    (tmp_path / "test_lots.py").write_text(test, encoding="utf-8")
    assert missing(tmp_path / "reference", tmp_path) == expected
