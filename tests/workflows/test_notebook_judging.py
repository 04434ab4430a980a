from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from made_evening import an_evening
from made_tests import fill, new_test, places, put, sent

from ballbench.errors import BadInput, Conflict, NotFound
from ballbench.presentation.comparison_json import comparison_to_json
from ballbench.presentation.findings_json import findings_to_json
from ballbench.presentation.screens.comparison_page import comparison_html
from ballbench.presentation.screens.findings_page import findings_html
from ballbench.store import Notebook
from ballbench.workflows.bench_requests import BeginSitting, Finish, TakeBack
from ballbench.workflows.exchange import export_test
from ballbench.workflows.judge_test import compare_notebook_test, comparison_page, findings_page, judge_notebook_test
from ballbench.workflows.measure import take_back
from ballbench.workflows.set_up import BoxPlan, InstrumentPlan, MakePlan, QuantityPlan
from ballbench.workflows.sittings import begin, finish


def on_the_command_line(command: str, notebook: Notebook, test: int, folder: Path, *options: str) -> bytes:
    """Give what `ballbench judge` or `compare` writes to the screen for the files of a test, as a person gives them."""
    folder.mkdir(exist_ok=True)
    files = export_test(notebook, test, folder)
    given = ["--bench", str(files.bench), "--corrections", str(files.corrections), "--spec", str(files.requirement)]
    program = [sys.executable, "-c", "from ballbench.cli.main import run; run()"]
    told = [*program, command, str(files.readings), *given, *options, "--json", "-"]
    return subprocess.run(told, capture_output=True, check=True).stdout


@pytest.mark.parametrize(("rule", "risk", "seed"), [("guarded", 0.01, 2**31 - 1), ("simple", 0.1, 7)])
def test_findings_are_those_of_the_command_line(
    notebook: Notebook, tmp_path: Path, rule: str, risk: float, seed: int
) -> None:
    """Byte for byte, by the rule, risk and seed that were stated when the test was set up."""
    rebound = (QuantityPlan("rebound", (), 2, "phone"), QuantityPlan("crack"))
    makes = (MakePlan("Curlew", (BoxPlan("C-1", 3),)),)
    test = new_test(notebook, rule=rule, risk=risk, seed=seed, quantities=rebound, makes=makes, references=()).id
    list(fill(notebook, test))
    put(notebook, test, places(notebook, test, "rebound")[0].id, "290")
    stated = ("--rule", rule, "--risk", str(risk), "--seed", str(seed), "--balls", str(tmp_path / "balls.csv"))
    text = findings_to_json(judge_notebook_test(notebook, test))
    assert text.encode() == on_the_command_line("judge", notebook, test, tmp_path, *stated)
    assert f'"seed": {seed}' in text


def test_a_comparison_is_that_of_the_command_line(notebook: Notebook, tmp_path: Path) -> None:
    """Byte for byte, for a test with inches, corrections, sittings and a failed check."""
    test = an_evening(notebook)
    for quantity in ("diameter", "rebound"):
        text = comparison_to_json(compare_notebook_test(notebook, test, quantity))
        options = ("--quantity", quantity, "--seed", "1")
        assert text.encode() == on_the_command_line("compare", notebook, test, tmp_path, *options)


@pytest.mark.parametrize(("tool", "sitting"), [("=caliper", "1"), ("caliper", "=1"), ("-caliper", "+1"), ("@c", "'=1")])
def test_a_name_that_looks_like_a_formula_is_found_in_the_bench_file(
    notebook: Notebook, tool: str, sitting: str
) -> None:
    """Noise and temperature of instrument and sitting hold under such names too: nothing is assumed in their place."""
    test = new_test(
        notebook, instruments=(InstrumentPlan(tool, "diameter", "mm", 0.01, 0.123, 9.0, 0.0, 0.01),), references=(),
        quantities=(QuantityPlan("diameter", ("seam",), 2, tool),), reference_c=23.0, expansion=9e-5,
        expansion_relative_sd=0.2,
    ).id  # fmt: skip
    begin(notebook, test, BeginSitting(**sent(label=sitting, ball_c=13.0)))
    list(fill(notebook, test))
    findings = judge_notebook_test(notebook, test)
    assert not [said for said in findings.footing.assumptions if "common practice" in said.casefold()]
    for product in findings.products:
        (quantity,) = product.quantities
        assert quantity.noise_sd == pytest.approx(0.123, rel=1e-12)
        assert 40.2 < quantity.mean.median - 40.2 * 9e-5 * 10.0 < 40.3, "ten kelvin colder than the requirement holds"


def test_a_blind_test_is_judged_when_it_is_finished(notebook: Notebook) -> None:
    """While it is under way neither findings nor a comparison are given, and their pages hold nothing of them."""
    test = new_test(notebook, blind=True).id
    list(fill(notebook, test))
    for act in (lambda: judge_notebook_test(notebook, test), lambda: compare_notebook_test(notebook, test, "mass")):
        with pytest.raises(Conflict, match="finish it first"):
            act()
    hidden = findings_page(notebook, test), comparison_page(notebook, test, "mass")
    assert hidden[0].findings is None
    assert hidden[1].comparison is None
    shown = findings_html(hidden[0]) + comparison_html(hidden[1])
    assert "Curlew" not in shown
    assert "Dunlin" not in shown
    finish(notebook, test, Finish(**sent()))
    assert {product.product for product in judge_notebook_test(notebook, test).products} == {"Curlew", "Dunlin"}


def test_what_cannot_be_judged_says_why_on_its_page(notebook: Notebook) -> None:
    """No reading yet, or a quantity that is no number: a fault that stands there; what was confirmed is judged."""
    test = new_test(notebook).id
    assert [fault.found for fault in findings_page(notebook, test).faults] == ["no reading"]
    list(fill(notebook, test))
    with pytest.raises(BadInput, match="two products at least"):
        compare_notebook_test(notebook, test, "crack")
    assert comparison_page(notebook, test, "crack").faults
    assert comparison_page(notebook, test, "").quantity == "diameter"
    reply = put(notebook, test, places(notebook, test, "mass")[0].id, "271")
    assert findings_page(notebook, test).findings is not None, "it was asked about, and kept as read by a person"
    back = TakeBack(**sent(reading=reply["reading"]["id"]))
    take_back(notebook, test, back)
    assert findings_page(notebook, test).faults == ()


@pytest.mark.parametrize("act", [judge_notebook_test, findings_page])
def test_a_test_that_is_not_there(notebook: Notebook, act: Callable[[Notebook, int], object]) -> None:
    """Is not found."""
    with pytest.raises(NotFound, match="no test 99"):
        act(notebook, 99)
