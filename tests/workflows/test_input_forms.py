"""The same readings as CSV in the long form, in the wide form, with decimal commas, and as a workbook."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import xlsxwriter

CLAUSES = """[[clause]]
id = "largest"
text = "No ball measures more than 40.60 mm."
quantity = "diameter"
ball = "max"
sample = "each"
upper = "40.60 mm"
[[clause]]
id = "mass"
text = "A ball weighs 2.6 to 2.8 g."
quantity = "mass"
ball = "mean"
sample = "each"
lower = "2.6 g"
upper = "2.8 g"
"""
FORM_OF_THE_FILE = ("readings_digest", "notes")


@pytest.fixture
def rows(diameters: Callable[..., Any]) -> list[tuple[Any, ...]]:
    """Ball by ball: three diameters and a mass, of two makes."""
    out: list[tuple[Any, ...]] = []
    for seed, product in enumerate(("Curlew", "Dunlin"), start=1):
        read = diameters(product, balls=6, seed=seed)
        for ball in range(6):
            out += read[3 * ball : 3 * ball + 3]
            out.append((product, f"{ball + 1:02d}", "mass", "", 1, f"{2.70 + 0.01 * ((ball * seed) % 4):.2f}"))
    return out


def wide(rows: list[tuple[Any, ...]], separator: str = ",", mark: str = ".") -> str:
    """One row a ball."""
    balls: dict[tuple[str, str], list[str]] = {}
    for product, ball, _, _, _, value in rows:
        balls.setdefault((product, ball), []).append(str(value).replace(".", mark))
    lines = [["product", "ball", "diameter seam", "diameter across", "diameter free", "mass"]]
    lines += [[*key, *values] for key, values in balls.items()]
    return "\n".join(separator.join(line) for line in lines) + "\n"


def workbook(path: Path, rows: list[tuple[Any, ...]], columns: tuple[str, ...]) -> Path:
    """The long form as a workbook whose values are numbers shown with two decimals."""
    book = xlsxwriter.Workbook(str(path))
    sheet = book.add_worksheet("Readings")
    shown = book.add_format({"num_format": "0.00"})
    sheet.write_row(0, 0, columns)
    for at, row in enumerate(rows, start=1):
        for column, cell in enumerate(row[:-1]):
            sheet.write(at, column, cell)
        sheet.write_number(at, len(row) - 1, float(row[-1]), shown)
    book.close()
    return path


@pytest.fixture
def expected(bench: Any, rows: list[tuple[Any, ...]]) -> dict[str, Any]:
    """Findings from the long form as CSV."""
    return content(bench.judge(bench.readings(rows), bench.spec(CLAUSES)))


def content(findings: dict[str, Any]) -> dict[str, Any]:
    """Findings without what the file's form changes: its digest and the notes on how it was read."""
    assert findings["readings_digest"].startswith("sha256:")
    return {key: value for key, value in findings.items() if key not in FORM_OF_THE_FILE}


def test_the_wide_form_gives_the_same_findings(
    bench: Any, rows: list[tuple[Any, ...]], expected: dict[str, Any]
) -> None:
    """One row a ball gives the numbers of one row a reading, with a note of how the columns were read."""
    found = bench.judge(bench.file("wide.csv", wide(rows)), bench.spec(CLAUSES))
    assert content(found) == expected
    assert any("wide form" in note for note in found["notes"])


def test_decimal_commas_give_the_same_findings(
    bench: Any, rows: list[tuple[Any, ...]], expected: dict[str, Any]
) -> None:
    """Semicolons and decimal commas, with a byte order mark and text above the header, change nothing."""
    text = "\ufeffAn evening at the hall\n\n" + wide(rows, ";", ",")
    found = bench.judge(bench.file("commas.csv", text), bench.spec(CLAUSES))
    assert content(found) == expected


def test_a_workbook_gives_the_same_findings(bench: Any, rows: list[tuple[Any, ...]], expected: dict[str, Any]) -> None:
    """The long form as XLSX gives the findings of the CSV."""
    columns = ("product", "ball", "quantity", "axis", "repeat", "value")
    found = bench.judge(workbook(bench.folder / "box.xlsx", rows, columns), bench.spec(CLAUSES))
    assert content(found) == expected


def test_rows_in_another_order_give_the_same_findings(
    bench: Any, rows: list[tuple[Any, ...]], expected: dict[str, Any]
) -> None:
    """Masses first and then diameters, ball by ball as before: the same findings."""
    found = bench.judge(bench.readings(sorted(rows, key=lambda row: row[2], reverse=True)), bench.spec(CLAUSES))
    assert content(found) == expected


def test_centimetres_give_the_same_findings(bench: Any, rows: list[tuple[Any, ...]], expected: dict[str, Any]) -> None:
    """The same diameters written in centimetres agree to nine digits, decisions and all."""
    columns = ("product", "ball", "quantity", "axis", "repeat", "value", "unit")
    changed = [(*row[:5], f"{float(row[5]) / 10:.3f}", "cm") if row[2] == "diameter" else (*row, "g") for row in rows]
    found = content(bench.judge(bench.readings(changed, columns), bench.spec(CLAUSES)))
    for mine, other in zip(found["products"], expected["products"], strict=True):
        for a, b in zip(mine["clauses"], other["clauses"], strict=True):
            assert a["decision"] == b["decision"]
            assert a["as_read"]["value"] == pytest.approx(b["as_read"]["value"], rel=1e-9)
            assert a["truth"] == pytest.approx(b["truth"], rel=1e-6)
