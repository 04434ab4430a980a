from __future__ import annotations

import io
import math
from dataclasses import replace
from types import ModuleType

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.console import Console

from ballbench.findings.comparisons import Comparison
from ballbench.findings.results import BudgetFinding, Findings
from ballbench.presentation.budget_tables import budget_figure, budget_table, product_budget_fold
from ballbench.presentation.budget_wording import check_sentence, dof_text, dominance_line, two_figures
from ballbench.presentation.charts.budget_picture import budget_chart
from ballbench.presentation.charts.layout import lay_out
from ballbench.presentation.charts.sheet import WIDTH, Ball, Sheet
from ballbench.presentation.document import Document, Figure, Fold, Paragraph, Table, walk
from ballbench.presentation.report import comparison_document, findings_document
from ballbench.presentation.terminal import print_comparison, print_findings


def sheet_of(*budgets: BudgetFinding) -> Sheet:
    chart = budget_chart(budgets, 24)
    assert chart is not None
    return lay_out(chart)


def skins(sheet: Sheet) -> list[Ball]:
    """The filled circles of the balls at the left, without the specks of the lines."""
    return [ball for ball in sheet.balls if ball.look == "filled" and ball.value < 100]


def test_the_area_of_a_skin_is_its_share_of_the_variance(example: ModuleType) -> None:
    """Areas between neighbouring circles over the whole area are the squares of the parts over their sum (geometry)."""
    budget = example.BUDGETS[3]
    circles = sorted(ball.radius**2 for ball in skins(sheet_of(budget)))
    areas = [outer - inner for inner, outer in zip([0.0, *circles], circles, strict=False)]
    by_name = {line.name: line.contribution**2 for line in budget.lines}
    expected = [by_name[name] for name in ("offset", "ball_temperature", "reading", "balls")]
    kept = [square for square in expected if square / sum(expected) >= 0.005]
    assert [area / circles[-1] for area in areas] == pytest.approx([square / sum(kept) for square in kept])


def test_the_core_that_all_readings_share_keeps_its_size(example: ModuleType) -> None:
    """From one reading to the mean of all balls the caliper's own error is the same circle; the whole ball shrinks."""
    sheet = sheet_of(*example.BUDGETS[:3])
    cores = [ball.radius for ball in skins(sheet) if ball.tone == "accent"]
    outlines = [ball.radius for ball in sheet.balls if ball.look == "hollow" and ball.value < 100]
    assert len(cores) == 3
    assert cores == pytest.approx([cores[0]] * 3)
    assert outlines == sorted(outlines, reverse=True)
    assert outlines[0] > 1.2 * outlines[2]


def test_what_cancels_is_dashed_and_no_skin(example: ModuleType) -> None:
    """An error that both share stands outside the ball, dashed, and its line says so."""
    sheet = sheet_of(example.APART)
    dashed = [ball for ball in sheet.balls if ball.look == "dashed" and ball.value < 100]
    assert len(dashed) == 1
    whole = max(ball.radius for ball in skins(sheet))
    assert (dashed[0].radius / whole) ** 2 == pytest.approx((0.0056**2 + 0.0033**2 + 0.01**2) / (0.0056**2 + 0.0033**2))
    assert "accent" not in {ball.tone for ball in skins(sheet)}
    assert "cancels" in {text.text for text in sheet.texts}


@settings(max_examples=60, deadline=None)
@given(
    sizes=st.lists(st.floats(1e-6, 1e3), min_size=4, max_size=4),
    name=st.text(min_size=1, max_size=60),
    rows=st.integers(1, 4),
)
def test_every_part_is_named_with_its_number_whatever_the_sizes(
    example: ModuleType, sizes: list[float], name: str, rows: int
) -> None:
    """No text leaves the picture or lies on a ball, and every part shown has name, size and share in one line."""
    total = math.hypot(*sizes)
    lines = tuple(
        replace(line, words=name, contribution=size, share=(size / total) ** 2)
        for line, size in zip(example.BUDGETS[3].lines, sizes, strict=True)
    )
    chart = budget_chart([replace(example.BUDGETS[3], lines=lines, u=total, expanded=2 * total)] * rows, 24)
    assert chart is not None
    sheet = lay_out(chart)
    for text in sheet.texts:
        assert text.ends[0] >= 100
        assert text.ends[1] <= WIDTH
        assert 0 < text.y < sheet.height
    parts = sum(len(row.parts) for row in chart.rows)
    assert len(sheet.texts) == 1 + 2 * rows + 3 * parts
    for ball in skins(sheet):
        assert ball.y - ball.radius >= 0
        assert ball.y + ball.radius <= sheet.height
        assert ball.value - ball.radius >= 0


def test_a_report_folds_the_budgets_away_with_picture_table_and_sentence(findings: Findings) -> None:
    """Each product has one fold with the sentence, a picture of four results, and the table of these balls' mean."""
    document = findings_document(findings)
    folds = [fold for fold in walk(document, Fold) if fold.summary.startswith("What the uncertainty of ")]
    assert [fold.summary.split(" of ")[1].split(" is ")[0] for fold in folds] == ["Curlew", "Dunlin", "Plover"]
    inside = Document("", "", "", folds[0].blocks)
    assert [figure.chart for figure in walk(inside, Figure)] == [
        budget_chart(findings.products[0].quantities[0].budgets, 24)
    ]
    table = next(t for t in walk(inside, Table) if "line by line" in t.caption)
    assert table.rows[0][:2] == ("the caliper's own error", "B")
    assert table.rows[-1][0] == "U = 1.96 u, 95 %"
    assert [row[5] for row in table.rows[:2]] == ["∞", "∞"]
    said = " ".join(p.text for p in walk(inside, Paragraph))
    assert "calibrate it before reading more balls" in said
    assert "within the 0.0050 mm allowed: it is borne out" in said
    assert product_budget_fold(replace(findings.products[0], quantities=()), invented=False) is None


def test_a_comparison_shows_what_cancels(comparison: Comparison) -> None:
    """The fold of a pair has the line that cancels, in the table and in the words under the picture."""
    document = comparison_document(comparison)
    folds = [fold for fold in walk(document, Fold) if fold.summary == "What its uncertainty is made of"]
    assert len(folds) == 3
    table = next(block for block in folds[0].blocks if isinstance(block, Table))
    assert table.rows[2][0] == "the caliper's own error (the same for both: cancels)"
    assert table.rows[2][-1] == "cancels"
    figure = next(block for block in folds[0].blocks if isinstance(block, Figure))
    assert "so that it cancels" in figure.caption
    bare = replace(comparison, pairs=tuple(replace(pair, budget=None) for pair in comparison.pairs))
    assert not [f for f in walk(comparison_document(bare), Fold) if f.summary == "What its uncertainty is made of"]


def printed(findings: Findings | Comparison, *, plain: bool = False) -> str:
    stream = io.TextIOWrapper(io.BytesIO(), encoding="ascii" if plain else "utf-8")
    console = Console(file=stream, width=100, force_terminal=False)
    (print_findings if isinstance(findings, Findings) else print_comparison)(findings, console)  # type: ignore[arg-type]
    stream.flush()
    return " ".join(stream.buffer.getvalue().decode().split())  # type: ignore[attr-defined]


def test_the_terminal_says_in_one_line_what_dominates(findings: Findings, comparison: Comparison) -> None:
    """U of the mean with the largest part's name and share; a sign of ASCII where the terminal knows no other."""
    told = "diameter ± 0.020 mm, the caliper's own error 98 %."
    assert told in printed(findings)
    assert told.replace("±", "+/-") in printed(findings, plain=True)
    assert "The spread between the balls outweighs everything else" in printed(comparison)
    assert dominance_line(replace(findings.products[0], quantities=())) == ""


def test_a_simulation_that_refuses_the_budget_says_which_to_take(example: ModuleType) -> None:
    """Not validated: the simulated interval is the one to take; not settled: the verdict is provisional."""
    budget = example.BUDGETS[2]
    refused = replace(budget, check=replace(budget.check, validated=False, d_high=0.0071, settled=False))
    words = check_sentence(refused)
    assert "is 0.0071 mm off, more than the 0.0050 mm allowed: take the simulated one" in words
    assert words.endswith("provisional.")
    assert "40.201 to 40.241 mm" in words
    assert check_sentence(example.BUDGETS[0]) == ""


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.0119, "0.012"), (1.8e-5, "0.000018"), (-0.00362, "−0.0036"), (40.2, "40"), (253.0, "250"), (0.0996, "0.10"),
     (0.0, "0"), (math.nan, "not known")],
)  # fmt: skip
def test_sizes_have_two_figures_and_no_power_of_ten(value: float, text: str) -> None:
    """At most two figures of an uncertainty (JCGM 100:2008, 7.2.6, from memory)."""
    assert two_figures(value) == text


@pytest.mark.parametrize(("dof", "text"), [(16.7, "16"), (math.inf, "∞"), (5e5, "over 1000"), (0.5, "0.5")])
def test_degrees_of_freedom_are_cut_as_the_factor_takes_them(dof: float, text: str) -> None:
    """16.7 counts as 16 (JCGM 100:2008, H.1.6, seen second-hand)."""
    assert dof_text(dof) == text


def test_nothing_uncertain_has_no_picture(example: ModuleType) -> None:
    """Without lines there is nothing to draw; a pure number has no unit in its heads."""
    empty = replace(example.BUDGETS[0], lines=())
    assert budget_chart((empty,), 1) is None
    assert budget_figure((empty,), "diameter", 1, invented=False) is None
    assert budget_chart((), 1) is None
    pure = replace(example.BUDGETS[0], unit="1")
    assert "adds" in budget_table(pure, "restitution").head
