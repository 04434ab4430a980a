from __future__ import annotations

import importlib.util
import json
import re
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest
import typer
from doc_pages import ROOT, flat, page, quoted_words, section

from ballbench.cli.main import app
from ballbench.findings.settling import MINUTES_A_READING
from ballbench.presentation.plan_json import plan_to_json
from ballbench.presentation.qualification_json import qualification_to_json
from ballbench.workflows.plan import MOST_TESTS, PlanRequest

QUALIFY, PLAN = page("docs/guides/qualify.md"), page("docs/guides/plan.md")
JUDGE = page("docs/guides/judge.md")


@pytest.fixture(scope="module")
def made() -> ModuleType:
    """The invented qualification and plan of the tests of presentation, with everything that there is."""
    file = ROOT / "tests" / "presentation" / "example_bench.py"
    spec = importlib.util.spec_from_file_location("example_bench_of_docs", Path(file))
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def keys(value: object) -> Iterator[str]:
    """Every key of a JSON value, however deep; those that are names of clauses left out."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield key
            yield from keys(inner) if key != "left_out" else ()
    elif isinstance(value, list):
        for inner in value:
            yield from keys(inner)


def told(guide: str) -> set[str]:
    """Keys that the tables of JSON of a guide name."""
    return {word.removesuffix("[]") for word in quoted_words(section(guide, "JSON"))} - {"null"}


@pytest.mark.parametrize(("guide", "command"), [(QUALIFY, "qualify"), (PLAN, "plan")], ids=["qualify", "plan"])
def test_the_guide_explains_every_option_and_no_other(guide: str, command: str) -> None:
    """The table of options holds exactly what the program declares."""
    found = typer.main.get_command(app).commands[command].params  # type: ignore[attr-defined]
    names = {name for one in found for name in (*one.opts, *one.secondary_opts) if name.startswith("--")}
    words = {word for word in quoted_words(section(guide, "Options")) if word.startswith("--")}
    assert words == names | {"--help"}


def test_the_guide_names_every_key_of_a_qualification(made: ModuleType) -> None:
    """Each key stands in the guide, those of the budget in that of Judge, and the guide names no other."""
    written = json.loads(qualification_to_json(made.qualification()))
    budget = {*keys(written["budget"])}
    del written["budget"]
    assert {*keys(written)} | {"budget"} == told(QUALIFY)
    assert budget <= told(JUDGE)


def test_the_guide_names_every_key_of_a_plan(made: ModuleType) -> None:
    """Each key stands in the guide, and the guide names none that does not occur."""
    written = json.loads(plan_to_json(made.plan()))
    assert {*keys(written)} == told(PLAN)


def test_the_guide_states_the_program_s_own_numbers() -> None:
    """Defaults, bounds and the time of a reading are those of the program."""
    usual = PlanRequest("any", "", "0")
    assert f"from 20 to {MOST_TESTS}; {usual.tests} unless given" in flat(PLAN)
    assert f"`--wanted`, {100 * usual.wanted:.0f} % unless given" in flat(PLAN)
    assert f"that is to be noticed; {usual.bad_share:g} unless given" in flat(PLAN)
    assert MINUTES_A_READING == 0.25
    assert "(a quarter of a minute a reading, own choice)" in flat(PLAN)


def test_the_guides_warn_where_weights_are_hung() -> None:
    """The caution stands above the first step: secured, guarded, eyes and fingers away."""
    above = QUALIFY.partition("## The quarter of an hour")[0]
    for word in ("Caution", "cord", "guarded", "eyes and fingers away"):
        assert word in above


def test_the_guides_say_that_their_data_are_invented() -> None:
    """In the first lines of each."""
    for guide in (QUALIFY, PLAN):
        assert re.search(r"All numbers on this page are invented\.", flat(guide)[:900])
