from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import ModuleType

import pytest

from ballbench.findings.comparisons import Comparison
from ballbench.findings.results import Findings
from ballbench.presentation.document import (
    Answers,
    Caution,
    DecisionBlock,
    Document,
    Facts,
    Figure,
    Fold,
    Heading,
    Listing,
    Paragraph,
    Table,
    walk,
)
from ballbench.presentation.report import MOST_IN_DETAIL, comparison_document, findings_document
from ballbench.presentation.report_files import write_report


@pytest.fixture(scope="module")
def report(findings: Findings) -> Document:
    return findings_document(findings)


def words(document: Document) -> str:
    """Give all text of a document, one string."""
    parts = [document.title, document.subtitle, document.banner, document.foot]
    parts += [p.text for p in walk(document, Paragraph)] + [c.text for c in walk(document, Caution)]
    parts += [i for listing in walk(document, Listing) for i in listing.items] + [
        h.text for h in walk(document, Heading)
    ]
    parts += [cell for table in walk(document, Table) for row in table.rows for cell in row]
    parts += [cell for facts in walk(document, Facts) for pair in facts.pairs for cell in pair]
    for block in walk(document, DecisionBlock):
        parts += [block.title, block.word, block.text, *block.sentences, *block.asides, block.next_step]
    parts += [a.name + a.word + a.detail for answers in walk(document, Answers) for a in answers.items]
    parts += [f.caption for f in walk(document, Figure)]
    return "\n".join(parts)


def test_report_speaks_in_its_order(report: Document) -> None:
    """Answers, then product by product, then across products, then what the numbers rest on."""
    headings = [block.text for block in report.blocks if isinstance(block, Heading) and block.level == 2]
    assert headings == ["Curlew", "Dunlin", "Plover", "Across the products", "What the numbers rest on"]
    assert isinstance(report.blocks[0], Answers)
    rest = [block.text for block in report.blocks if isinstance(block, Heading) and block.level == 3]
    assert rest == [
        "Readings that were asked about", "Corrections and exclusions", "How it was done", "Assumptions",
        "How the files were read", "What this does not show", "Decision rule", "How to rebuild this",
    ]  # fmt: skip


def test_headline_stands_first_in_its_product(report: Document, findings: Findings) -> None:
    """First sentence the answer with its mark, second how sure, third what to do, as the findings word them."""
    for product in findings.products:
        at = next(i for i, b in enumerate(report.blocks) if isinstance(b, Heading) and b.text == product.product)
        told = [block for block in report.blocks[at + 1 : at + 4] if isinstance(block, Paragraph)]
        assert tuple(block.text for block in told) == product.headline
        assert (told[0].role, told[0].decision) == ("lead", product.decision)


def test_every_clause_has_decision_value_and_next_step(report: Document, findings: Findings) -> None:
    """Each clause is a block in the requirement's order, told by word; an undecided one has one next step."""
    blocks = walk(report, DecisionBlock)
    clauses = [clause for product in findings.products for clause in product.clauses]
    assert [block.text for block in blocks] == [clause.text for clause in clauses]
    for block, clause in zip(blocks, clauses, strict=True):
        assert block.word.startswith(clause.decision)
        assert bool(block.next_step) == (clause.decision == "undecided")
        assert (block.figure is None) == (clause.truth is None)
    undecided = next(block for block in blocks if block.decision == "undecided")
    assert undecided.next_step.startswith("To settle it: compare the caliper with a known steel ball")
    assert "These balls: 40.01 mm (39.98 to 40.04); inside with 78 %." in undecided.sentences


def test_met_on_the_axes_read_is_said_so(report: Document) -> None:
    """A clause met on the axes read carries that scope in its word, and the whole ball's chance beside it."""
    block = next(b for b in walk(report, DecisionBlock) if b.title.startswith("Largest diameter"))
    assert block.word == "met on the axes read"
    assert "Worst ball: 40.39 mm (40.36 to 40.42); inside with 99.8 % on the axes read." in block.sentences
    assert any(
        aside.startswith("Over the whole ball, unseen form included: inside with 97 %") for aside in block.asides
    )


def test_every_picture_has_words_and_numbers(report: Document, comparison: Comparison) -> None:
    """Every figure has an alternative text, a caption with the word that data are invented, and a table."""
    for document in (report, comparison_document(comparison)):
        figures = walk(document, Figure)
        assert len(figures) >= 3
        for figure in figures:
            assert len(figure.alt) > 20
            assert figure.caption.endswith("Invented data, for demonstration.")
            assert figure.table.rows
            assert all(len(row) == len(figure.table.head) for row in figure.table.rows)


def test_tables_are_whole(report: Document) -> None:
    """Every row of every table has a cell for each head."""
    for table in walk(report, Table):
        assert all(len(row) == len(table.head) for row in table.rows)


def test_doubtful_limits_are_said_wherever_they_are_shown(report: Document) -> None:
    """A limit from memory or from practice says so in its block, in its pictures and in its source."""
    for title, doubt in (("Mass of each ball", "limit from memory"), ("Diameter variation", "limit: common practice")):
        for block in walk(report, DecisionBlock):
            if not block.title.startswith(title):
                continue
            assert any(doubt in sentence for sentence in block.sentences)
            assert block.figure is not None
            assert block.figure.chart.remark.startswith(doubt)
            inner = [part for part in block.fold if isinstance(part, Figure)]
            assert all(figure.chart.remark.startswith(doubt) for figure in inner)
            assert any(doubt in value for part in block.fold if isinstance(part, Facts) for _, value in part.pairs)


def test_report_holds_what_it_must(report: Document) -> None:
    """Limits of the method, corrections, questions, seed, digests, command and variants are in the text."""
    text = words(report)
    for must in (
        "Odd lobes", "one batch", "accredited", "43.02 corrected to 40.32", "4.017 mm is far from this box",
        "ballbench judge READINGS --spec island-match-ball --risk 0.05 --seed 20261125 --draws 100000",
        "sha256:3f9a", "sha256:c0de", "mean of the smallest diameters", "they disagree", "ball 17",
        "Without corrections and exclusions: undecided", "Plover (undecided) hangs most on: Mean diameter of the balls",
        "Dunlin (not met) is decided by: Diameter variation of each ball", "Balls like these", "at most 12 %",
        "No calibration of the caliper is given", "JCGM 106:2012",
    ):  # fmt: skip
        assert must in text, must


def test_real_data_are_not_called_invented(findings: Findings) -> None:
    """Without the mark of invention neither banner nor caption says it."""
    document = findings_document(replace(findings, footing=replace(findings.footing, invented=False)))
    assert document.banner == ""
    assert "Invented" not in words(document)


def test_simple_rule_and_looks_are_said(findings: Findings) -> None:
    """The simple rule is labelled as such, and a repeated look is numbered."""
    text = words(findings_document(replace(findings, rule="simple", look=2, planned_looks=3)))
    assert "Simple rule, on request" in text
    assert "look 2 at these balls, of 3 planned" in text


def test_answers_are_not_called_readings_with_noise(findings: Findings, example: ModuleType) -> None:
    """A yes or no has no instrument noise and no strip; its note is a sentence."""
    asked = replace(
        example.REBOUND, quantity="crack", ball="answers", unit="1", lower=None, upper=None, as_read=0.0,
        decision="met", notes=("24 of 24 balls as required",),
    )  # fmt: skip
    product = replace(findings.products[0], clauses=(asked,))
    block = walk(findings_document(replace(findings, products=(product,))), DecisionBlock)[0]
    assert (block.title, block.figure) == ("Crack, yes or no", None)
    assert block.asides == ("24 of 24 balls as required.",)


def test_simple_rule_claims_no_draws(findings: Findings) -> None:
    """By the simple rule nothing was simulated, and the report does not say it was."""
    text = words(findings_document(replace(findings, rule="simple")))
    assert "no chance was worked out" in text
    assert "100,000 times" not in text


def test_many_products_show_only_the_open_ones(example: ModuleType) -> None:
    """Of forty products only undecided and not met ones stand in detail, at most twelve, and the report says so."""
    findings = example.many_findings(40)
    document = findings_document(findings)
    open_ones = [p.product for p in findings.products if p.decision in {"undecided", "not met"}]
    headings = [block.text for block in document.blocks if isinstance(block, Heading) and block.text.startswith("Make")]
    assert headings == open_ones[:MOST_IN_DETAIL]
    assert "40 products were judged; 19 are not met or undecided. The first 12 of those are shown in detail" in words(
        document
    )
    marks = [f for f in walk(document, Figure) if f.caption.startswith("Which clause decides")]
    assert [len(figure.chart.rows) for figure in marks] == [24, 16]


def test_no_product_and_one_product_make_a_report(findings: Findings) -> None:
    """A report of one product has no section across products; one of none still stands."""
    one = findings_document(replace(findings, products=findings.products[:1]))
    assert "Across the products" not in [heading.text for heading in walk(one, Heading)]
    assert findings_document(replace(findings, products=())).blocks


def test_comparison_says_the_answer_first(comparison: Comparison) -> None:
    """The first sentence leads; a tie is said as a tie, with what this sample could have told."""
    document = comparison_document(comparison)
    first = document.blocks[0]
    assert isinstance(first, Paragraph)
    assert (first.text, first.role) == (comparison.sentences[0], "lead")
    text = words(document)
    assert "Curlew and Dunlin are a tie: Curlew minus Dunlin is −0.005 mm (−0.026 to 0.017)." in text
    assert "This sample tells 0.031 mm apart four times in five." in text
    assert "volume +1.56 % (1.40 to 1.72)" in text
    assert [fold.summary for fold in walk(document, Fold)].count("Second opinions") == 3


def test_folds_hold_the_rest(report: Document) -> None:
    """Outliers, influence and spread of a product are folded away under its name, its budgets after them."""
    assert [fold.summary for fold in walk(report, Fold)][1:] == [
        summary
        for n in ("Curlew", "Dunlin", "Plover")
        for summary in (f"What was read of {n}", f"What the uncertainty of {n} is made of")
    ]


def test_report_of_three_products_and_twelve_clauses_is_written(findings: Findings, tmp_path: Path) -> None:
    """3 products x 12 clauses give a page with every picture and a PDF."""
    products = tuple(
        replace(p, clauses=p.clauses + tuple(replace(c, id=c.id + "-again") for c in p.clauses))
        for p in findings.products
    )
    files = write_report(findings_document(replace(findings, products=products)), tmp_path / "new", "report")
    assert files.page.stat().st_size > 100_000
    assert files.pdf.read_bytes().startswith(b"%PDF-")
