from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from ballbench.findings.plans import Plan
from ballbench.presentation.charts.drawing import draw
from ballbench.presentation.charts.layout import lay_out
from ballbench.presentation.document import Figure, Heading, Paragraph, Table, walk
from ballbench.presentation.page import page_html
from ballbench.presentation.pdf import pdf_bytes
from ballbench.presentation.plan_report import plan_document
from ballbench.presentation.tokens import LIGHT


@pytest.fixture(scope="module")
def planned(example_bench: ModuleType) -> Plan:
    return example_bench.plan()


def test_the_answer_and_the_trays_come_first(planned: Plan) -> None:
    """The lead is the plan's sentence; trays and endings follow before anything else."""
    document = plan_document(planned)
    assert document.blocks[0] == Paragraph(planned.sentence, "lead")
    assert all(isinstance(block, Figure) for block in document.blocks[1:3])


def test_every_picture_has_its_words_its_numbers_and_n(planned: Plan) -> None:
    """Six pictures: each has a text for those who do not see it, a table of even rows, and its n in the caption."""
    figures = walk(plan_document(planned), Figure)
    assert len(figures) == 6
    for figure in figures:
        assert figure.alt
        assert figure.table.rows
        assert {len(row) for row in figure.table.rows} == {len(figure.table.head)}
        assert figure.chart.n_text in figure.caption


def test_definitions_hold_the_schema(planned: Plan) -> None:
    """Every picture's definition passes the drawing library's own schema in full."""
    for figure in walk(plan_document(planned), Figure):
        assert draw(lay_out(figure.chart), LIGHT).to_dict(validate=True)["layer"]


def test_all_designs_are_in_the_tables(planned: Plan) -> None:
    """The table behind the trays has every design with its verdict, the one behind the endings every chance."""
    trays, endings = walk(plan_document(planned), Figure)[:2]
    assert [row[-1] for row in trays.table.rows] == ["not enough", "not enough", "enough", "enough too"]
    assert endings.table.rows[0][:4] == ("6 balls, 3 places each, read once", "53 % (48 to 58)", "32 % (28 to 37)",
                                         "15 % (12 to 19)")  # fmt: skip


def test_parts_that_were_not_asked_for_are_left_out(planned: Plan) -> None:
    """Without changes, surface, comparison, boxes and form only the standing has a heading of its own."""
    bare = replace(planned, gains=(), surface=None, telling=None, boxes=(), caught=(), round_ball=())
    assert [h.text for h in walk(plan_document(bare), Heading) if h.level == 2] == ["What the numbers rest on"]


def test_what_the_axes_catch_stands_shape_by_shape(planned: Plan) -> None:
    """A column a number of axes, mean and the twentieth ball in each; nothing caught is said in a word."""
    table = next(one for one in walk(plan_document(planned), Table) if "variation" in one.caption)
    assert table.head == ("shape", "3 axes", "4 axes")
    assert table.rows[0] == ("Oval ball", "64 % (24 %)", "70 % (38 %)")
    assert ("Section with six lobes", "nothing", "90 % (73 %)") in table.rows


def test_a_consignment_alone_has_its_table(planned: Plan) -> None:
    """Where no box can be drawn, the counting plan stands as a table."""
    document = plan_document(replace(planned, boxes=planned.boxes[1:]))
    assert any(table.caption == "How many balls of a box" for table in walk(document, Table))


def test_page_and_pdf_are_written(planned: Plan) -> None:
    """The page loads nothing and says nothing that is not a number; the PDF is one."""
    page = page_html(plan_document(planned))
    assert planned.sentence.partition(" mm")[0] in page.replace("\N{NO-BREAK SPACE}", " ")
    assert not re.search(r"(?:src|href)=\"(?!#)", page)
    assert not re.search(r"\b(nan|None|inf)\b", re.sub(r"<[^>]*>", " ", page))
    assert pdf_bytes(plan_document(planned)).startswith(b"%PDF")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1440])
def test_nothing_scrolls_sideways(planned: Plan, browser: Any, tmp_path: Path, width: int, scheme: str) -> None:
    """On a phone and on a wide screen, light and dark, with every fold open, the page is as wide as the window."""
    (tmp_path / "page.html").write_text(page_html(plan_document(planned)), encoding="utf-8")
    page = browser.new_page(viewport={"width": width, "height": 900}, color_scheme=scheme)
    page.goto((tmp_path / "page.html").as_uri())
    page.evaluate("document.querySelectorAll('details').forEach(fold => fold.open = true)")
    assert page.evaluate("document.documentElement.scrollWidth") == width
    page.close()
