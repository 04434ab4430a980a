from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from made_tests import RULE, new_test, sent

from ballbench.errors import BadInput, Fault, NotFound
from ballbench.presentation.findings_json import findings_to_json
from ballbench.presentation.screens.quick_result import QuickResult
from ballbench.store import Notebook, open_notebook
from ballbench.workflows.keep import tests as all_tests
from ballbench.workflows.quick_check import QuickCheck, QuickInstrument, quick_check, quick_result

CALIPER = QuickInstrument("mm", 0.01, "caliper", 0.01, 20.0, 0.0, 0.005)
SCALE = QuickInstrument("g", 0.01, "scale", 0.006, 20.0, 0.0, 0.004)
CONDITIONS = {"drop_height": "305 mm", "surface": "steel block"}


def asked(**changes: Any) -> QuickCheck:
    """Ask about the diameter of one ball, three times 40.25 mm, by the rule of the invented winter league."""
    usual = {
        "requirement": RULE,
        "quantity": "diameter",
        "ball": "7",
        "instrument": CALIPER,
        "texts": ("40.25", "40.26", "40.25"),
    }
    return QuickCheck(**{**sent(), **usual, **changes})


@pytest.mark.parametrize(
    ("texts", "decision"),
    [
        (("2.72", "2.72", "2.73"), "met"),
        (("2.60", "2.60", "2.61"), "not met"),
        (("2.84", "2.84", "2.83"), "not met"),
        (("2.67", "2.67", "2.67"), "undecided"),
        (("2.77", "2.77", "2.77"), "undecided"),
    ],
)
def test_one_ball_inside_outside_and_on_the_limit(notebook: Notebook, texts: tuple[str, ...], decision: str) -> None:
    """Limits of 2.67 and 2.77 g, a scale good to 0.01 g: 0.05 g inside and 0.07 g outside are sure, a limit is not.

    One of twenty-four may be outside them; the one in dispute may not, and the result says that it stands alone.
    """
    result = quick_check(notebook, asked(quantity="mass", instrument=SCALE, texts=texts))
    (product,) = result.findings.products
    assert product.decision == decision
    chance = product.probability_met or 0.0
    assert {"met": chance > 0.95, "not met": chance < 0.05, "undecided": 0.05 < chance < 0.95}[decision]
    assert any("lets 1 of a sample be outside" in said for said in result.findings.footing.notes)


def test_only_clauses_on_single_balls_of_that_quantity_are_judged(notebook: Notebook) -> None:
    """Neither the mean and the spread of a sample nor another quantity say anything of one ball in dispute."""
    (product,) = quick_check(notebook, asked()).findings.products
    assert {clause.id for clause in product.clauses} == {"smallest-diameter", "largest-diameter", "variation-each"}


def told(result: QuickResult) -> tuple[QuickResult, str]:
    """A result to compare, its findings as JSON, in which a number that is none equals itself."""
    return replace(result, findings=None), findings_to_json(result.findings)  # type: ignore[arg-type]


def test_it_is_kept_and_found_again(notebook: Notebook, tmp_path: Path) -> None:
    """By its number, from a reopened notebook too: readings as typed, instrument, conditions, note and result."""
    request = asked(axes=("seam", "seam", "free"), conditions=CONDITIONS, note="the away team's ball")
    first = quick_check(notebook, request)
    assert [(one.axis, one.text) for one in first.readings] == [("seam", "40.25"), ("seam", "40.26"), ("free", "40.25")]
    assert (first.ball, first.quantity, first.unit, first.by, first.note) == (
        "7",
        "diameter",
        "mm",
        "E",
        "the away team's ball",
    )
    assert dict(first.conditions) == {"drop height": "305 mm", "surface": "steel block"}
    assert "caliper, display step 0.01 mm, SD of repeated readings 0.01 mm" in first.instrument
    assert told(quick_result(notebook, first.id)) == told(first)
    notebook.close()
    again = open_notebook(tmp_path / "notebook")
    assert told(quick_result(again, first.id)) == told(first)
    assert told(quick_check(again, request)) == told(first), "sent again it is the same check"
    assert all_tests(again, "") == (), "and it is no test of the library"
    again.close()


def test_what_is_not_known_of_the_instrument_is_said(notebook: Notebook) -> None:
    """Usual values are taken, in the words of the result and among the assumptions of the findings."""
    result = quick_check(notebook, asked(instrument=QuickInstrument("mm", 0.01)))
    assert "common practice, no source" in result.instrument
    assert any("common practice" in said.casefold() for said in result.findings.footing.assumptions)


@pytest.mark.parametrize(
    ("unit", "resolution", "texts"),
    [("in", 0.0005, ("1.5845", "1.5850")), ("cm", 0.001, ("4.025", "4.026")), ("mm", 0.01, ("1.5845 in", "40.26"))],
)
def test_units_of_display_and_entry(notebook: Notebook, unit: str, resolution: float, texts: tuple[str, ...]) -> None:
    """A bare number is in the unit of the display; a unit that is typed holds (1 in = 25.4 mm)."""
    result = quick_check(notebook, asked(instrument=QuickInstrument(unit, resolution), texts=texts))
    (product,) = result.findings.products
    assert product.quantities[0].mean.median == pytest.approx(40.25, abs=0.02)


def refused(notebook: Notebook, request: QuickCheck) -> tuple[Fault, ...]:
    """Ask what cannot be answered; nothing of it is kept."""
    with notebook.read() as tx:
        before = tx.exec_driver_sql("SELECT count(*) FROM ball_test").scalar()
    with pytest.raises(BadInput) as caught:
        quick_check(notebook, request)
    with notebook.read() as tx:
        assert tx.exec_driver_sql("SELECT count(*) FROM ball_test").scalar() == before
    assert all(fault.where and fault.found and fault.allowed and fault.todo for fault in caught.value.faults)
    return caught.value.faults


@pytest.mark.parametrize(
    "text", ["4025", "402.5", "4.025", "1.585", "0.4025", "40.25 in", "", "perhaps", "?40.25", "40.25 g"]
)  # fmt: skip
def test_gross_slips_are_refused(notebook: Notebook, text: str) -> None:
    """A lost point, the wrong unit and what is no reading: the fault names the reading, and the check is not kept."""
    (fault,) = refused(notebook, asked(texts=("40.25", text)))
    assert fault.where == "texts 2"


TYPED = {
    "diameter": st.decimals("30.00", "60.00", places=2), "mass": st.decimals("1.00", "4.00", places=2),
    "rebound": st.integers(100, 400),
}  # fmt: skip
UNIT = {"diameter": "mm", "mass": "g", "rebound": "mm"}


@settings(deadline=None, max_examples=25, suppress_health_check=list(HealthCheck))
@given(data=st.data(), quantity=st.sampled_from(sorted(TYPED)))
def test_whatever_is_typed_it_is_refused_or_shown(notebook: Notebook, data: st.DataObject, quantity: str) -> None:
    """What was kept has a result, however odd its readings are beside each other; what is refused is not kept."""
    texts = data.draw(st.lists(TYPED[quantity].map(str) | st.just("40.25"), min_size=1, max_size=6))
    own = QuickInstrument(UNIT[quantity], 0.01)
    request = asked(quantity=quantity, texts=tuple(texts), instrument=own, conditions=CONDITIONS)
    try:
        assert quick_check(notebook, request).findings.products
    except BadInput:
        refused(notebook, request)


def instrument(**changes: Any) -> dict[str, Any]:
    """A changed instrument."""
    return {"instrument": QuickInstrument(**{"unit": "mm", "resolution": 0.01, **changes})}


@pytest.mark.parametrize(
    ("changes", "where"),
    [
        ({"by": ""}, "by"), ({"at": "today"}, "at"), ({"ball": ""}, "ball"), ({"ball": "x" * 121}, "ball"),
        ({"note": "a\nb"}, "note"),
        ({"quantity": "rebounds"}, "quantity"), ({"quantity": "crack"}, "quantity"), ({"texts": ()}, "texts"),
        ({"texts": ("40.25",) * 61}, "texts"), ({"axes": ("seam",)}, "axes"), ({"axes": ("seam", "", "free")}, "axes"),
        ({"axes": ("seam", "Seam", "free")}, "axes"), (instrument(unit="g"), "instrument, unit"),
        (instrument(unit="["), "instrument, unit"), (instrument(resolution=0.0), "instrument, resolution"),
        (instrument(resolution=float("nan")), "instrument, resolution"), (instrument(sd=-1.0), "instrument, sd"),
        (instrument(dof=0.0), "instrument, dof"), (instrument(offset=float("inf")), "instrument, offset"),
        (instrument(offset_sd=-0.1), "instrument, offset_sd"), (instrument(name="a\nb"), "instrument, name"),
        ({"conditions": {"temperature": "23 degC"}}, "conditions"),
    ],
)  # fmt: skip
def test_each_fault_names_the_field_of_the_form(notebook: Notebook, changes: dict[str, Any], where: str) -> None:
    """As the page of the quick check calls its fields, not as a set-up does."""
    assert {fault.where for fault in refused(notebook, asked(**changes))} == {where}


@pytest.mark.parametrize("find", [lambda book: new_test(book).id, lambda _: 99])
def test_only_a_quick_check_is_found_as_one(notebook: Notebook, find: Callable[[Notebook], int]) -> None:
    """A whole test, or a number that is none, is not."""
    with pytest.raises(NotFound):
        quick_result(notebook, find(notebook))
