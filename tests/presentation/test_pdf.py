from __future__ import annotations

import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path
from types import ModuleType

import pytest

from ballbench.findings.comparisons import Comparison
from ballbench.findings.results import Findings
from ballbench.presentation.document import (
    Answer,
    Answers,
    Caution,
    Document,
    Facts,
    Heading,
    Listing,
    Paragraph,
    Table,
)
from ballbench.presentation.pdf import pdf_bytes
from ballbench.presentation.report import comparison_document, findings_document
from ballbench.presentation.report_frame import answer_blocks
from ballbench.presentation.typst_text import typst_string

ODD = [
    "#set page(width: 1pt)", "*bold* _it_ `code`", "$ x^2 $", "@label <label>", 'quo"tes\\ and \\" more',
    "[brackets] {a}", "// comment /* more */", "= heading", "- list\n+ line", "emoji \U0001f3be and 球",
    "#" * 3 + "\u0000\u001b", "W" * 400,
]  # fmt: skip


def text_of(pdf: bytes, folder: Path) -> str:
    """Give a PDF's text by another program, blanks made alike."""
    if shutil.which("pdftotext") is None:
        pytest.skip("LEFT OUT: no pdftotext (poppler-utils) on this machine, so the PDF's words were not read back")
    file = folder / "made.pdf"
    file.write_bytes(pdf)
    done = subprocess.run(["pdftotext", "-layout", str(file), "-"], capture_output=True, check=True)
    return re.sub(r"\s+", " ", done.stdout.decode("utf-8").replace("\u200b", ""))


def pages_of(pdf: bytes, folder: Path) -> list[str]:
    """Give the text of each page of a PDF by another program."""
    if shutil.which("pdftotext") is None:
        pytest.skip("LEFT OUT: no pdftotext (poppler-utils) on this machine, so the PDF's pages were not read back")
    file = folder / "made.pdf"
    file.write_bytes(pdf)
    done = subprocess.run(["pdftotext", str(file), "-"], capture_output=True, check=True)
    return done.stdout.decode("utf-8").split("\f")[:-1]


@pytest.fixture(scope="module")
def pdf(findings: Findings) -> bytes:
    return pdf_bytes(findings_document(findings))


def test_pdf_has_the_words_and_the_numbers_of_its_pictures(pdf: bytes, tmp_path: Path) -> None:
    """Another program reads back the title, a decision, an interval, a picture's own text and the seed."""
    text = text_of(pdf, tmp_path)
    for must in (
        "Match ball of the island winter league", "Dunlin, 24 balls: not met.", "40.22 mm (40.19 to 40.25)",
        "as read 40.23", "whole ball 40.37 to 40.47", "limit from memory", "seed 20261125", "Odd lobes",
    ):  # fmt: skip
        assert must in text, must


def test_every_page_says_that_data_are_invented(pdf: bytes, tmp_path: Path) -> None:
    """The line stands at the head of each page."""
    pages = pages_of(pdf, tmp_path)
    assert len(pages) > 4
    assert all(page.startswith("Invented data, for demonstration") for page in pages)


@pytest.mark.parametrize("count", [5, 21, 60])
def test_a_long_answer_begins_on_the_first_page(tmp_path: Path, count: int) -> None:
    """As many sentences as photographs, then a table: the first page is filled, whatever is kept with what follows."""
    sentences = [
        f"Curlew, ball {k:02d}: form 0.063 mm, most of it 2 and 3 lobes; {'and so on, ' * 8}" for k in range(count)
    ]
    blocks = (
        *answer_blocks(sentences, len(sentences)),
        Heading("Curlew"),
        Table("Form", ("circle", "form"), (("least squares", "1"),)),
    )
    first, *_ = pages_of(pdf_bytes(Document("Form from photographs", "", "", blocks)), tmp_path)
    assert first.count("Curlew, ball") >= min(count, 20)


@pytest.mark.parametrize("head", ["form that noise alone shows", "SD from drop to drop (mm)", "preload (N)", "ball"])
@pytest.mark.parametrize("wide", [True, False])
def test_a_long_head_takes_two_lines_where_the_page_is_narrow(tmp_path: Path, head: str, *, wide: bool) -> None:
    """Its words are all there; a short one, or one of a table that has room, stays on one line."""
    cell = "0.0300 mm in 90 degrees; " * 6 if wide else "1"
    table = Table("Form", (head,), ((cell,), ("2",)))
    text = pages_of(pdf_bytes(Document("Report", "", "", (table,))), tmp_path)[0]
    assert head in " ".join(text.split())
    assert (head in text) == (not wide or len(head) <= 18)


def test_cells_of_a_wide_table_stay_on_one_line(tmp_path: Path) -> None:
    """A table as the press makes one: long heads give way, so that no value is torn from its interval."""
    head = ("product", "way", "preload (N)", "time (s)", "balls", "readings", "mean (95 %)", "SD between balls (mm)",
            "creep a decade (mm)")  # fmt: skip
    row = ("Curlew", "seam, forward, 80.07 N", "15.57", "5", "3", "3", "8.50 mm (8.25 to 8.75)", "0.153", "not known")
    document = Document("Report", "", "", (Table("Deformation", head, (row, row), (2, 3, 4, 5, 7, 8)),))
    text = pages_of(pdf_bytes(document), tmp_path)[0].replace("\u00a0", " ")
    assert text.count("seam, forward, 80.07 N") == text.count("8.50 mm (8.25 to 8.75)") == 2


def test_same_document_gives_the_same_pdf(findings: Findings) -> None:
    """Nothing of the hour or the machine's order is in the file: two runs give the same bytes."""
    document = findings_document(replace(findings, products=findings.products[2:]))
    assert pdf_bytes(document) == pdf_bytes(document)


def test_pdf_is_tagged_and_its_pictures_have_words(pdf: bytes) -> None:
    """The file declares its structure (tagged PDF) and its title."""
    assert b"/MarkInfo" in pdf
    assert b"/Lang" in pdf


@pytest.mark.parametrize("name", ODD, ids=range(len(ODD)))
def test_odd_text_is_text(name: str, tmp_path: Path) -> None:
    """Typst's own signs, quotes, controls, emoji and endless words are printed, never obeyed."""
    document = Document(
        title=name, subtitle=name, banner=name, foot=name,
        blocks=(
            Heading(name), Paragraph(name, "lead", "met"), Paragraph(name), Paragraph(name, "quiet"), Caution(name),
            Listing((name,)), Facts(((name, name),)), Table(name, (name,), ((name,),)),
            Answers((Answer("not met", name, name, name, ""),)), Paragraph("after all is well"),
        ),
    )  # fmt: skip
    text = text_of(pdf_bytes(document), tmp_path)
    assert "after all is well" in text
    if name.isascii() and name.isprintable() and len(name) < 30:
        assert text.count(name) >= 8


def test_string_ends_where_it_should() -> None:
    """A quote or a backslash inside never ends the string (Typst reference, string escapes)."""
    assert typst_string('a"b\\') == '"a\\"b\\\\"'
    assert typst_string("a\nb\x00") == '"a b "'


def test_odd_products_make_a_whole_report(findings: Findings, example: ModuleType, tmp_path: Path) -> None:
    """A report over odd names is set in full, pictures too."""
    odd = tuple(
        example.product(name, kind)
        for name, kind in zip(ODD[:3], ("not met", "undecided", "met as far as tested"), strict=True)
    )
    text = text_of(pdf_bytes(findings_document(replace(findings, products=odd))), tmp_path)
    assert "*bold* _it_ `code`, 24 balls: undecided." in text


def test_comparison_is_set_too(comparison: Comparison, tmp_path: Path) -> None:
    """A comparison's PDF has its first sentence and a minus sign that reads back."""
    text = text_of(pdf_bytes(comparison_document(comparison)), tmp_path)
    assert comparison.sentences[0] in text
    assert "−0.005 mm (−0.026 to 0.017)" in text
