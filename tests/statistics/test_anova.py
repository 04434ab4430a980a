from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from ballbench.errors import BadRequest
from ballbench.statistics.anova import crossed_anova, one_way_anova
from ballbench.statistics.repeat_readings import repeat_cells

REFERENCE = Path(__file__).resolve().parents[1] / "reference"
PUBLISHED = REFERENCE / "repeat_study"


def published() -> tuple[list[float], list[str], list[str]]:
    """Values, parts and people of the published study."""
    values, parts, people = [], [], []
    with (PUBLISHED / "readings.csv").open(encoding="utf-8") as lines:
        for row in csv.DictReader(lines):
            for part, value in list(row.items())[2:]:
                values.append(float(value))
                parts.append(part)
                people.append(row["person"])
    return values, parts, people


def printed(text: str) -> float:
    """Half a unit of the last printed digit."""
    return 0.5000001 * 10.0 ** -len(text.partition(".")[2])


def test_the_table_of_a_published_study_comes_out() -> None:
    """Degrees of freedom, SS, MS and F against repeats of a published 10 x 3 x 3 study, to every printed digit."""
    table = crossed_anova(repeat_cells(*published()))
    with (PUBLISHED / "table.csv").open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(lines))
    assert {row["source"] for row in rows} == {row.source for row in table.rows}
    for row in rows:
        found = table.row(row["source"])
        assert found.dof == int(row["dof"])
        for name in ("ss", "ms", "f_repeats"):
            if row[name]:
                assert getattr(found, name) == pytest.approx(float(row[name]), abs=printed(row[name])), (found, name)


def test_balls_and_people_are_held_against_the_interaction() -> None:
    """F against the interaction is 79.41 and 492.29 in that study, 39.617 and 245.614 when pooled (recomputed)."""
    cells = repeat_cells(*published())
    apart, pooled = crossed_anova(cells), crossed_anova(cells, pool_interaction=True)
    assert (apart.row("people").f, apart.row("balls").f) == pytest.approx((79.41, 492.29), abs=0.005)
    assert (pooled.row("people").f, pooled.row("balls").f) == pytest.approx((39.617, 245.614), abs=5e-4)
    assert pooled.row("repeats").dof == 78
    assert pooled.row("repeats").ms == pytest.approx(0.0399733, abs=5e-8)
    people = apart.row("people")
    assert people.p == pytest.approx(float(stats.f.sf(79.4084, 2, 18)), rel=1e-3)
    assert math.isnan(apart.row("repeats").f)


def made(replicates: int, leading: float) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """SmLs sets: tenths first, so that a value is the double nearest to its decimal form."""
    middles = np.array([4, 3, 5, 3, 5, 3, 5, 3, 5])
    steps = np.array([0, *(-1, 1) * (replicates // 2)])
    values = (middles[:, None] + steps + 10.0 * leading) / 10.0
    return values.ravel(), np.repeat(np.arange(9), replicates)


@pytest.mark.parametrize(("leading", "digits"), [(1.0, 12.0), (1e6, 8.0), (1e12, 2.0)])
def test_one_way_layouts_made_by_rule_keep_their_figures(leading: float, digits: float) -> None:
    """SmLs01 to SmLs09 of NIST StRD: SS, MS and F to the digits that the numbers themselves carry."""
    with (REFERENCE / "one_way" / "certified.csv").open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(lines))
    for row in rows:
        table = one_way_anova(*made(int(row["replicates"]), leading))
        between, within = table.row("groups"), table.row("repeats")
        assert (between.dof, within.dof) == (int(row["dof_between"]), int(row["dof_within"]))
        found = {"ss_between": between.ss, "ss_within": within.ss, "ms_between": between.ms, "ms_within": within.ms}
        for name, value in {**found, "f": between.f}.items():
            assert value == pytest.approx(float(row[name]), rel=10.0**-digits), (row["set"], name)


@pytest.mark.parametrize(("name", "digits"), [("SiRstv", 12.0), ("AtmWtAg", 8.0)])
def test_measured_one_way_layouts_keep_their_figures(name: str, digits: float) -> None:
    """SiRstv and AtmWtAg of NIST StRD: mean squares and F (certified values as other tests read them)."""
    data = np.loadtxt(REFERENCE / "nist_strd" / f"{name}.csv", delimiter=",", skiprows=1)
    with (REFERENCE / "nist_strd" / "certified_anova.csv").open(encoding="utf-8") as lines:
        expected = {row["set"]: row for row in csv.DictReader(lines)}[name]
    table = one_way_anova(data[:, 1], data[:, 0])
    assert table.row("repeats").ms == pytest.approx(float(expected["ms_within"]), rel=10.0**-digits)
    assert table.row("groups").f == pytest.approx(float(expected["f"]), rel=10.0**-digits)
    assert table.row("groups").dof == int(expected["dof_between"])


def test_groups_of_unequal_size_agree_with_another_library() -> None:
    """F and p of groups of 2, 5 and 9 are those of ``scipy.stats.f_oneway``."""
    rng = np.random.default_rng(1)
    groups = [rng.normal(size=size) for size in (2, 5, 9)]
    row = one_way_anova(np.concatenate(groups), np.repeat([0, 1, 2], [2, 5, 9])).row("groups")
    other = stats.f_oneway(*groups)
    assert (row.f, row.p) == pytest.approx((float(other.statistic), float(other.pvalue)), rel=1e-10)


@pytest.mark.parametrize(
    ("values", "groups", "words"),
    [
        ([1.0, 2.0], ["a"], "one group a value"),
        ([1.0, math.nan, 2.0], ["a", "a", "b"], "finite"),
        ([1.0, 2.0, 3.0], ["a", "a", "a"], "two groups"),
        ([1.0, 2.0], ["a", "b"], "two values"),
    ],
)
def test_values_that_cannot_be_taken_apart_are_refused(values: list[float], groups: list[str], words: str) -> None:
    """The refusal says what is allowed (rule of this project)."""
    with pytest.raises(BadRequest, match=words):
        one_way_anova(values, groups)


def test_an_unbalanced_study_has_no_table_of_this_kind_and_a_missing_line_is_said() -> None:
    """Mean squares of unequal cells have no simple expectation, so they are refused."""
    values, parts, people = published()
    with pytest.raises(BadRequest, match="balanced"):
        crossed_anova(repeat_cells(values[1:], parts[1:], people[1:]))
    with pytest.raises(BadRequest, match="repeats"):
        crossed_anova(repeat_cells(values, parts, people)).row("weather")
