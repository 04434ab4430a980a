from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from ballbench.findings.qualification import Qualification
from ballbench.presentation.charts.drawing import draw
from ballbench.presentation.charts.layout import lay_out
from ballbench.presentation.charts.qualify_data import RulerChart
from ballbench.presentation.document import Caution, Figure, Listing, Paragraph, Table, walk
from ballbench.presentation.page import page_html
from ballbench.presentation.pdf import pdf_bytes
from ballbench.presentation.qualification_report import qualification_document
from ballbench.presentation.tokens import LIGHT


@pytest.fixture(scope="module")
def found(example_bench: ModuleType) -> Qualification:
    return example_bench.qualification()


def test_one_sentence_and_the_ruler_come_first(found: Qualification) -> None:
    """The lead is the one sentence, and the first picture the ruler."""
    document = qualification_document(found)
    assert document.blocks[0] == Paragraph(found.sentence, "lead")
    assert isinstance(document.blocks[1], Figure)
    assert isinstance(document.blocks[1].chart, RulerChart)
    assert document.banner == "Invented data, for demonstration"


def test_every_picture_has_its_words_its_numbers_and_n(found: Qualification) -> None:
    """Ruler, people, checks, line and budget: each has words, a table of even rows, and its n in the caption."""
    figures = walk(qualification_document(found), Figure)
    assert len(figures) == 5
    for figure in figures:
        assert figure.alt
        assert figure.table.rows
        assert {len(row) for row in figure.table.rows} == {len(figure.table.head)}
        assert figure.chart.n_text in figure.caption
        assert "Invented data" in figure.caption


def test_definitions_hold_the_schema(found: Qualification) -> None:
    """Every picture's definition passes the drawing library's own schema in full."""
    for figure in walk(qualification_document(found), Figure):
        assert draw(lay_out(figure.chart), LIGHT).to_dict(validate=True)["layer"]


def test_every_check_is_in_the_table_with_its_word(found: Qualification) -> None:
    """Six checks, one of them failed; the others passed."""
    (checks,) = [table for table in walk(qualification_document(found), Table) if table.caption == "Every check"]
    assert [row[-1] for row in checks.rows] == ["passed"] * 3 + ["failed"] + ["passed"] * 2
    assert checks.rows[3][:6] == ("steel ball", "13:00", "38.17", "38.1", "+0.07", "0.030")


def test_no_table_of_shares(found: Qualification) -> None:
    """Sources of spread stand as SDs with their intervals; no column of per cent of a total beside them."""
    (spread,) = [t for t in walk(qualification_document(found), Table) if t.caption.startswith("Where the spread")]
    assert spread.head == ("what scatters", "SD (mm)", "95 % (mm)", "degrees of freedom")
    assert not any("%" in cell for row in spread.rows for cell in row)


def test_sentences_are_told_once(found: Qualification) -> None:
    """What is said of the pieces stands beside their pictures, the rest under the ruler, nothing twice."""
    listed = [text for block in walk(qualification_document(found), Listing) for text in block.items]
    for sentence in found.sentences:
        assert listed.count(sentence) == 1


def test_a_round_ball_has_its_table_and_the_note_on_odd_lobes(found: Qualification) -> None:
    """A row a number of axes; without a study there is neither."""
    table = next(one for one in walk(qualification_document(found), Table) if "round ball" in one.caption)
    assert table.rows[1] == ("4 axes", "0.020", "0.03")
    said = [text for block in walk(qualification_document(found), Listing) for text in block.items]
    assert sum("odd lobes" in text for text in said) == 1
    bare = qualification_document(replace(found, round_ball=()))
    assert not any("odd lobes" in text for block in walk(bare, Listing) for text in block.items)


def test_squeeze_has_its_table_and_its_caution(found: Qualification) -> None:
    """Force, squeeze, its standard uncertainty and what a model expects; the caution stands in the report."""
    document = qualification_document(found)
    (squeeze,) = [table for table in walk(document, Table) if table.caption.startswith("Squeeze")]
    assert squeeze.rows == (("Curlew", "1", "0.011", "0.0014", "0.0080 to 0.020"),)
    assert Caution("Mind your fingers.") in document.blocks


def test_a_study_alone_has_its_ruler_and_no_pieces(found: Qualification) -> None:
    """Without checks there are two pictures and the budget, and no heading of pieces."""
    alone = replace(found, checks=(), calibration=None, drift=(), squeeze=(), tolerance=())
    assert len(walk(qualification_document(alone), Figure)) == 3


def test_page_and_pdf_are_written(found: Qualification) -> None:
    """The page loads nothing and prints nothing that is not a number; the PDF is one."""
    page = page_html(qualification_document(found))
    assert "Two balls must read" in page
    assert not re.search(r"(?:src|href)=\"(?!#)", page)
    assert not re.search(r"\b(nan|None|inf)\b", re.sub(r"<[^>]*>", " ", page))
    assert pdf_bytes(qualification_document(found)).startswith(b"%PDF")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1440])
def test_nothing_scrolls_sideways(found: Qualification, browser: Any, tmp_path: Path, width: int, scheme: str) -> None:
    """On a phone and on a wide screen, light and dark, with every fold open, the page is as wide as the window."""
    (tmp_path / "page.html").write_text(page_html(qualification_document(found)), encoding="utf-8")
    page = browser.new_page(viewport={"width": width, "height": 900}, color_scheme=scheme)
    page.goto((tmp_path / "page.html").as_uri())
    page.evaluate("document.querySelectorAll('details').forEach(fold => fold.open = true)")
    assert page.evaluate("document.documentElement.scrollWidth") == width
    page.close()
