from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest
from made_tests import a_set_up

from ballbench.errors import BadInput, Fault
from ballbench.store import Notebook, open_notebook
from ballbench.workflows.keep import tests as all_tests
from ballbench.workflows.set_up import (
    BoxPlan,
    InstrumentPlan,
    MakePlan,
    QuantityPlan,
    ReferencePlan,
    SetUp,
    set_up_test,
)

LONG, UNPRINTABLE = "x" * 121, "a\nb"


def faults_of(notebook: Notebook, request: SetUp) -> tuple[Fault, ...]:
    """Ask for what cannot be had; every fault says all four things in one line, and nothing was written."""
    with pytest.raises(BadInput) as caught:
        set_up_test(notebook, request)
    for fault in caught.value.faults:
        assert all((fault.where, fault.found, fault.allowed, fault.todo))
        assert str(fault).isprintable()
    assert all_tests(notebook, "") == ()
    return caught.value.faults


def box(**changes: Any) -> dict[str, Any]:
    """One make with one changed box."""
    return {"makes": (MakePlan("Curlew", (replace(BoxPlan("C-1", 3), **changes),)),)}


def tool(**changes: Any) -> dict[str, Any]:
    """One quantity, and its instrument changed."""
    plan = replace(InstrumentPlan("caliper", "diameter", "mm", 0.01), **changes)
    return {
        "instruments": (plan,),
        "quantities": (QuantityPlan("diameter", ("seam",), 1, plan.name),),
        "references": (),
    }


def read(**changes: Any) -> dict[str, Any]:
    """One quantity changed."""
    plan = replace(QuantityPlan("diameter", ("seam",), 1, "caliper"), **changes)
    return {"quantities": (plan,), "references": ()}


def piece(**changes: Any) -> dict[str, Any]:
    """One reference piece changed."""
    return {"references": (replace(ReferencePlan("steel ball", "diameter", 40.0, 0.001, "mm", "caliper"), **changes),)}


ONE = {
    "by": [{"by": ""}, {"by": " "}, {"by": LONG}, {"by": UNPRINTABLE}],
    "client": [{"client": LONG}, {"client": "a\0"}, {"client": "\ud800"}],
    "at": [{"at": "yesterday"}, {"at": "2026-11-25"}, {"at": "2026-11-25T10:00:00"}],
    "title": [{"title": LONG}, {"title": UNPRINTABLE}, {"title": " "}],
    "rule": [{"rule": "strict"}, {"rule": ""}],
    "risk": [{"risk": 0.0}, {"risk": 0.5}, {"risk": -1.0}, {"risk": math.nan}],
    "seed": [{"seed": -1}, {"seed": 2**31}],
    "kind": [{"kind": "half"}, {"kind": ""}, {"kind": "taken in"}],
    "makes": [
        {"makes": ()},
        {"makes": (MakePlan("Curlew", (BoxPlan("C-1", 1),)), MakePlan("curlew ", (BoxPlan("C-1", 1),)))},
        {"makes": tuple(MakePlan(f"make {n}", (BoxPlan("1", 2000),)) for n in range(2))},
        box(balls=2000) | {"quantities": (QuantityPlan("crack", (), 26),), "references": ()},
    ],
    "makes 1, make": [{"makes": (MakePlan(name, (BoxPlan("C-1", 1),)),)} for name in ("", LONG, UNPRINTABLE)],
    "makes 1, boxes": [
        {"makes": (MakePlan("Curlew", ()),)},
        {"makes": (MakePlan("Curlew", (BoxPlan("C-1", 1), BoxPlan("c-1", 1))),)},
        {"makes": (MakePlan("Curlew", (BoxPlan("C_1", 1), BoxPlan("c  1", 1))),)},
    ],
    "makes 1, box 1, label": [box(label=""), box(label=LONG), box(label=UNPRINTABLE)],
    "makes 1, box 1, balls": [box(balls=0), box(balls=-1), box(balls=2001)],
    "makes 1, box 1, labels": [
        box(labels=("1", "2")), box(labels=("1", "2", "1")), box(labels=("a", "b", "")), box(labels=("a", "b", LONG)),
    ],
    "makes 1, box 1, bought": [box(bought=text) for text in ("November", "25.11.2026", "11/25/2026")],
    "makes 1, box 1, where": [box(where=LONG)],
    "makes 1, box 1, price": [box(price=UNPRINTABLE)],
    "makes 1, box 1, given_by": [box(given_by=UNPRINTABLE)],
    "instruments": [
        {"instruments": (InstrumentPlan("tool", "diameter", "mm", 0.01), InstrumentPlan("Tool", "mass", "g", 0.01)),
         "quantities": (QuantityPlan("diameter", (), 1, "tool"),), "references": ()},
    ],
    "instruments 1, name": [tool(name=""), tool(name=LONG), tool(name=UNPRINTABLE)],
    "instruments 1, unit": [tool(unit=unit) for unit in ("g", "", "furlongs per", "[")],
    "instruments 1, resolution": [tool(resolution=value) for value in (0.0, -0.01, math.nan, math.inf, 1e10)],
    "instruments 1, sd": [tool(sd=0.0), tool(sd=-1.0), tool(sd=math.nan)],
    "instruments 1, dof": [tool(dof=0.0), tool(dof=math.inf)],
    "instruments 1, offset": [tool(offset=math.nan), tool(offset=-math.inf)],
    "instruments 1, offset_sd": [tool(offset_sd=-0.1), tool(offset_sd=math.nan)],
    "instruments 1, scale_sd": [tool(scale_sd=-0.1), tool(scale_sd=math.inf)],
    "instruments 1, zeroed": [tool(zeroed="never"), tool(zeroed="")],
    "instruments 1, display": [tool(display="guesses"), tool(display="")],
    "quantities": [
        {"quantities": several, "references": ()} for several in ((), (QuantityPlan("crack"), QuantityPlan("crack")))
    ],
    "quantities 1, name": [read(name="colour"), read(name="")],
    "quantities 1, repeats": [read(repeats=0), read(repeats=101)],
    "quantities 1, axes": [
        read(axes=tuple(map(str, range(25)))), read(axes=("seam", "Seam")), read(axes=("free 2", "free_2")),
        read(axes=("seam", "")), read(axes=(UNPRINTABLE,)),
    ],
    "quantities 1, instrument": [read(instrument=""), read(instrument="laser"), read(instrument="scale")],
    "references 1, name": [piece(name=""), piece(name=LONG)],
    "references 1, quantity": [piece(quantity="crack"), piece(quantity="hardness"), piece(quantity="")],
    "references 1, instrument": [piece(instrument="scale"), piece(instrument="")],
    "references 1, unit": [piece(unit="g"), piece(unit="")],
    "references 1, value": [piece(value=0.0), piece(value=-40.0), piece(value=math.nan), piece(value=1e9)],
    "references 1, u": [piece(u=-0.1), piece(u=math.inf)],
    "reference_c": [
        {"reference_c": value, "expansion": 9e-5, "expansion_relative_sd": 0.2} for value in (math.nan, 2e3)
    ],
    "expansion": [
        {"reference_c": 23.0, "expansion": -1e-5, "expansion_relative_sd": 0.2},
        {"reference_c": 23.0, "expansion_relative_sd": 0.2},
    ],
    "expansion_relative_sd": [{"reference_c": 23.0, "expansion": 9e-5}],
    "conditions": [{"conditions": {name: "23 degC"}} for name in ("temperature", "Temperature", "temperatur")],
    "conditions, name": [{"conditions": {"": "x"}}],
    "conditions, surface": [{"conditions": {"surface": text}} for text in ("", LONG, UNPRINTABLE)],
}  # fmt: skip
"""What is asked for, by the field that the one fault is to name."""


CASES = [pytest.param(field, one, id=f"{field} {n}") for field, several in ONE.items() for n, one in enumerate(several)]


@pytest.mark.parametrize(("where", "changes"), CASES)
def test_each_fault_names_its_field(unused: Notebook, where: str, changes: dict[str, Any]) -> None:
    """One thing wrong is one fault, and its field is the one that the form marks."""
    assert [fault.where for fault in faults_of(unused, a_set_up(**changes))] == [where]


@pytest.fixture(scope="module")
def unused(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Notebook]:
    """One notebook for all that is refused: it stays empty."""
    opened = open_notebook(tmp_path_factory.mktemp("unused"))
    yield opened
    opened.close()


def test_an_instrument_of_an_unknown_quantity(unused: Notebook) -> None:
    """The instrument's own field and that of the quantity which it should read both say so."""
    faults = faults_of(unused, a_set_up(**tool(quantity="colour")))
    assert [fault.where for fault in faults] == ["instruments 1, quantity", "quantities 1, instrument"]


def test_all_faults_come_at_once_in_the_order_of_the_form(unused: Notebook) -> None:
    """A set-up in which everything is wrong is told of everything."""
    request = a_set_up(
        by="", title=LONG, rule="strict", risk=1.0, makes=(MakePlan("", (BoxPlan("", 0),)),),
        instruments=(InstrumentPlan("", "colour", "", 0.0),), quantities=(QuantityPlan("colour"),),
        references=(ReferencePlan("", "", math.nan, -1.0, "", ""),), reference_c=math.nan, conditions={"": ""},
    )  # fmt: skip
    wheres = [fault.where.partition(" ")[0].rstrip(",") for fault in faults_of(unused, request)]
    order = ["by", "title", "rule", "risk", "makes", "instruments", "quantities", "references"]
    assert list(dict.fromkeys(wheres))[: len(order)] == order
    assert {"expansion", "expansion_relative_sd", "reference_c", "conditions"} <= set(wheres)


@pytest.mark.parametrize(
    "requirement", ["", "no-such-rule", "../../pyproject.toml", "a = [", 'id = "x"', "/etc/passwd"],
)  # fmt: skip
def test_a_requirement_that_cannot_be_used(unused: Notebook, requirement: str) -> None:
    """An id that the catalogue has not, a path, which is never opened, and a text that is no requirement."""
    for fault in faults_of(unused, a_set_up(requirement=requirement)):
        assert "root:" not in str(fault)


def test_what_is_just_allowed_is_taken(notebook: Notebook) -> None:
    """The edges of every rule, from the other side."""
    longest = "x" * 120
    makes = (MakePlan(longest, (BoxPlan(longest, 2000, bought="2026-11-25 14:30", price="1,50", where=longest),)),)
    request = a_set_up(
        by=longest, title=longest, client="x" * 120, at="", risk=0.499, seed=2**31 - 1, makes=makes,
        quantities=(QuantityPlan("crack", tuple(f"a{n}" for n in range(24)), 1),), references=(), instruments=(),
        reference_c=-1000.0, expansion=0.0, expansion_relative_sd=0.0, conditions={longest: longest},
    )  # fmt: skip
    made = set_up_test(notebook, request)
    assert made.title == longest
    assert len(made.boxes) == 1


def test_blanks_around_names_are_no_part_of_them(notebook: Notebook) -> None:
    """Whoever reads the files takes them off too, so that an instrument is found under the name that the bench has."""
    tools = (InstrumentPlan(" caliper ", "diameter", "mm", 0.01),)
    request = a_set_up(
        makes=(MakePlan(" Curlew", (BoxPlan("C-1 ", 2, (" a", "b ")),)),), instruments=tools,
        quantities=(QuantityPlan("diameter", (" seam ",), 1, "caliper"),),
        references=(ReferencePlan(" steel ball", "diameter", 40.0, 0.0, "mm", " caliper"),),
        conditions={" hall ": " cold "},
    )  # fmt: skip
    made = set_up_test(notebook, request)
    assert [(one.make, one.label) for one in made.boxes] == [("Curlew", "C-1")]
    assert (made.quantities[0].axes, made.quantities[0].instrument) == (("seam",), "caliper")
