from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import fields
from pathlib import Path

import pytest
import typer
from doc_pages import ROOT, flat, page, quoted_words, section

from ballbench.findings.results import Influence, Outlier, WithoutCorrections
from ballbench.presentation import report
from ballbench.presentation.comparison_json import comparison_to_json
from ballbench.presentation.findings_json import findings_to_json
from ballbench.workflows import compare as comparing
from ballbench.workflows import judge as judging
from ballbench.workflows.compare import CompareRequest, compare
from ballbench.workflows.judge import JudgeRequest, judge

LEAGUE = ROOT / "examples" / "winter-league"
JUDGE, COMPARE = page("docs/guides/judge.md"), page("docs/guides/compare.md")
KEEP = page("docs/guides/keep.md")
VEE, PRESS = page("docs/guides/vee.md"), page("docs/guides/press.md")
LISTEN = page("docs/guides/listen.md")
TRACE = page("docs/guides/trace.md")
ROLL = page("docs/guides/roll.md")
WATCH = page("docs/guides/watch.md")
OF_A_TRUTH = {"median", "low", "high", "confidence"}


def options(command: str) -> set[str]:
    """Options of a command, as the program itself declares them."""
    from ballbench.cli.main import app  # noqa: PLC0415 - the program is loaded only where it is asked

    group = typer.main.get_command(app)
    found = group.commands[command].params  # type: ignore[attr-defined]
    names = {name for one in found for name in (*one.opts, *one.secondary_opts) if name.startswith("--")}
    return names | {"--help"}


@pytest.mark.parametrize(
    ("guide", "heading", "command"),
    [(JUDGE, "Options", "judge"), (COMPARE, "Options", "compare"), (KEEP, "Options of `open`", "open"),
     (VEE, "On the command line", "vee"), (PRESS, "On the command line", "press"),
     (LISTEN, "On the command line", "listen"), (TRACE, "On the command line", "trace"),
     (ROLL, "On the command line", "roll"), (WATCH, "On the command line", "watch")],
    ids=["judge", "compare", "open", "vee", "press", "listen", "trace", "roll", "watch"],
)  # fmt: skip
def test_the_guide_explains_every_option_and_no_other(guide: str, heading: str, command: str) -> None:
    """The table of options holds exactly what the program declares."""
    own = section(guide, heading)
    table = own.partition("\n### Options\n")[2] or own.partition("\n### ")[0]
    assert {word for word in quoted_words(table) if word.startswith("--")} == options(command)


def keys(value: object) -> Iterator[str]:
    """Every key of a JSON value, however deep."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield key
            yield from keys(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from keys(inner)


def told(guide: str) -> set[str]:
    """Keys that the JSON tables of a guide name."""
    text = section(guide, "JSON")
    values = {"axes read", "as prescribed", "null", "_low", "_high"}
    return {word.removesuffix("[]") for word in quoted_words(text)} - values | OF_A_TRUTH


@pytest.fixture(scope="module")
def simple() -> dict[str, object]:
    """The invented league by the simple rule, as JSON."""
    request = JudgeRequest(
        LEAGUE / "readings.csv", str(LEAGUE / "league-ball.toml"), LEAGUE / "bench.toml", LEAGUE / "corrections.csv",
        rule="simple",
    )  # fmt: skip
    found: dict[str, object] = json.loads(findings_to_json(judge(request)))
    return found


def test_the_guide_names_every_key_of_the_findings(simple: dict[str, object], tmp_path: Path) -> None:
    """Each key of a judgement's JSON stands in the guide, and the guide names none that does not occur."""
    (tmp_path / "few.csv").write_text(
        "product,ball,diameter seam,diameter across\n"
        "A,1,40.45,40.52\nA,2,40.50,40.48\nA,3,40.49,40.49\nA,4,40.50,40.52\n"
    )
    few = judge(JudgeRequest(tmp_path / "few.csv", str(LEAGUE / "league-ball.toml"), draws=500, settle=True))
    assert few.products[0].clauses[2].settle, "the example has nothing undecided"
    found = {*keys(json.loads(findings_to_json(few))), *keys(simple)}
    for kind in (Outlier, Influence, WithoutCorrections):
        found |= {field.name for field in fields(kind)}
    assert told(JUDGE) == found


def test_the_guide_names_every_key_of_a_comparison() -> None:
    """Each key of a comparison's JSON stands in the guide, and the guide names none that does not occur."""
    found = compare(
        CompareRequest(
            LEAGUE / "readings.csv", "diameter", LEAGUE / "bench.toml", LEAGUE / "corrections.csv",
            str(LEAGUE / "league-ball.toml"), draws=1000,
        )
    )  # fmt: skip
    wide = {f"{name}_{end}" for name in ("sd_ratio", "form_ratio") for end in ("low", "high")}
    assert told(COMPARE) | wide == {*keys(json.loads(comparison_to_json(found)))}


def test_raw_readings_alone_would_have_passed_plover(simple: dict[str, object]) -> None:
    """As the README says: by the simple rule the make that the guarded rule leaves undecided is met."""
    assert "Raw readings alone would have called it a pass." in flat(page("README.md"))
    products = {product["product"]: product["decision"] for product in simple["products"]}  # type: ignore[attr-defined]
    assert products["Plover"] == "met"


def test_the_simple_rule_has_no_chances_but_0_and_1(simple: dict[str, object]) -> None:
    """As the guide says of its JSON."""
    assert "(0 or 1 in the JSON)" in flat(JUDGE)
    clauses = [clause for product in simple["products"] for clause in product["clauses"]]  # type: ignore[attr-defined]
    assert {clause["probability_met"] for clause in clauses} <= {0.0, 1.0, None}


def test_stated_limits_of_the_guides_are_those_of_the_program() -> None:
    """Counts that the guides promise are the constants that the program uses."""
    judged, compared = flat(JUDGE), flat(COMPARE)
    assert f"At least two products with two balls or more, at most {comparing.MOST_PRODUCTS}." in compared
    assert f"up to {judging.MANY} products it is done by itself" in judged
    assert f"With more than {report.MANY_PRODUCTS} products" in judged
    assert f"at most {report.MOST_IN_DETAIL} of them" in judged


def test_a_percentage_of_diameter_is_three_times_that_of_volume() -> None:
    """The compare guide's figure, by the cube of the ratio."""
    assert f"{100 * (1.005**3 - 1):.1f} %" == "1.5 %"
    assert "a diameter larger by 0.5 % is a volume larger by 1.5 %" in flat(COMPARE)
