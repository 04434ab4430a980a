"""A press: means, intervals and differences against another library, and clauses under their own conditions alone."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.multitest import multipletests

from ballbench.errors import BadReadings
from ballbench.findings.pressing.results import PressClause, PressFindings
from ballbench.physics.deformation import RIG_LABEL
from ballbench.workflows.press import PressRequest, press, press_typed

HEAD = "product,ball,orientation,direction,load,preload,seconds,deformation,u"
CURLEW = (6.1, 6.4, 6.2, 6.3)
DUNLIN = (6.8, 6.7, 7.0)
PLOVER = (6.3, 6.4, 6.1)
RULE = """id = "rule"
sport = "any"
title = "A press rule (invented)"
edition = "2026"
source = {{ document = "Invented", clause = "1", seen = "own" }}
{declared}[[clause]]
id = "one"
text = "From 5.6 mm to 7.4 mm."
quantity = "{quantity}"
ball = "mean"
sample = "{sample}"
lower = "5.6 mm"
upper = "7.4 mm"
conditions = {{ {conditions} }}
"""
HELD = 'load = "8.165 kgf", preload = "15.57 N", time = "5 s"'


def rows(
    product: str, values: tuple[float, ...], direction: str = "forward", seconds: float = 5, u: str = "0.05"
) -> str:
    return "".join(
        f"{product},{i},seam,{direction},80.07,15.57,{seconds:g},{value},{u}\n" for i, value in enumerate(values, 1)
    )


def found_of(folder: Path, *parts: str, rule: str = "", bench: str = "") -> PressFindings:
    path = folder / "press.csv"
    path.write_text(f"{HEAD}\n{''.join(parts)}", encoding="utf-8")
    spec, own = None, None
    if rule:
        (folder / "rule.toml").write_text(rule, encoding="utf-8")
        spec = str(folder / "rule.toml")
    if bench:
        own = folder / "bench.toml"
        own.write_text(bench, encoding="utf-8")
    return press(PressRequest(path, spec, own))


def ruled(conditions: str = HELD, quantity: str = "deformation", sample: str = "each") -> str:
    declared = "" if quantity == "deformation" else f'[quantity.{quantity}]\nunit = "mm"\n'
    return RULE.format(conditions=conditions, quantity=quantity, sample=sample, declared=declared)


def test_the_interval_of_a_mean_is_that_of_the_t_distribution(tmp_path: Path) -> None:
    """Mean and 95 % interval of four balls as scipy's t interval gives them."""
    (product,) = found_of(tmp_path, rows("Curlew", CURLEW)).products
    (group,) = product.groups
    wanted = stats.t.interval(0.95, 3, np.mean(CURLEW), stats.sem(CURLEW))
    assert (group.low, group.high) == pytest.approx(wanted, rel=1e-12)
    assert group.group.sd == pytest.approx(np.std(CURLEW, ddof=1))


def test_products_are_compared_by_welch_and_adjusted_for_their_number(tmp_path: Path) -> None:
    """Difference, interval and p as scipy's test with unequal variances; Holm as statsmodels has it."""
    makes = {"Curlew": CURLEW, "Dunlin": DUNLIN, "Plover": PLOVER}
    pairs = found_of(tmp_path, *(rows(name, values) for name, values in makes.items())).pairs
    assert [(pair.a, pair.b) for pair in pairs] == [("Curlew", "Dunlin"), ("Curlew", "Plover"), ("Dunlin", "Plover")]
    tests = [stats.ttest_ind(makes[pair.a], makes[pair.b], equal_var=False) for pair in pairs]
    for pair, test in zip(pairs, tests, strict=True):
        assert pair.p == pytest.approx(test.pvalue, rel=1e-9)
        ends = test.confidence_interval()
        assert (pair.low, pair.high) == pytest.approx((ends.low, ends.high), rel=1e-9)
    told, adjusted, *_ = multipletests([test.pvalue for test in tests], method="holm")
    assert [pair.p_adjusted for pair in pairs] == pytest.approx(list(adjusted))
    assert [pair.told_apart for pair in pairs] == list(told)


def test_what_was_read_otherwise_is_not_compared(tmp_path: Path) -> None:
    """After 5 s against after 60 s, or one ball alone: no difference is given, and the reason is."""
    times = found_of(tmp_path, rows("Curlew", CURLEW), rows("Dunlin", DUNLIN, seconds=60)).pairs[0]
    alone = found_of(tmp_path, rows("Curlew", CURLEW), rows("Dunlin", DUNLIN[:1])).pairs[0]
    assert np.isnan(times.difference)
    assert "5 to 60 s" in times.reason
    assert "one ball" in alone.reason
    assert found_of(tmp_path, rows("Curlew", CURLEW), rows("Dunlin", DUNLIN, "return")).pairs == ()


def test_the_way_back_is_paired_by_ball(tmp_path: Path) -> None:
    """Return less forward of each ball, its mean and t interval (paired differences by numpy and scipy)."""
    back = (8.4, 8.5, 8.6, 8.2)
    (product,) = found_of(tmp_path, rows("Curlew", CURLEW), rows("Curlew", back, "return")).products
    (one,) = product.returns
    lost = np.subtract(back, CURLEW)
    assert one.back.mean == pytest.approx(lost.mean())
    assert (one.low, one.high) == pytest.approx(stats.t.interval(0.95, 3, lost.mean(), stats.sem(lost)))


def test_every_line_says_that_it_holds_for_this_rig(tmp_path: Path) -> None:
    """Sentences of pairs, groups and clauses each carry the label."""
    both = found_of(tmp_path, rows("Curlew", CURLEW), rows("Dunlin", DUNLIN), rule=ruled())
    one = found_of(tmp_path, rows("Curlew", CURLEW))
    for sentence in (*both.sentences, *one.sentences):
        assert RIG_LABEL in sentence


@pytest.mark.parametrize(
    ("conditions", "reason"),
    [
        ('load = "8.165 kgf"', "does not say the preload and the time under load"),
        ('preload = "15.57 N", time = "5 s"', "does not say the load"),
        (HELD.replace("8.165", "8.3"), "holds at load 8.3 kgf, and the readings were taken at 80.07 N"),
        (HELD.replace("15.57", "20"), "holds at preload 20 N"),
        (HELD.replace('"5 s"', '"8 to 12 s"'), "holds at time 8 to 12 s"),
        (HELD + ', temperature = "18 to 22 degC"', "temperature"),
    ],
)
def test_a_clause_is_tested_under_its_own_conditions_only(tmp_path: Path, conditions: str, reason: str) -> None:
    """Load, preload or time that the rule does not say or that did not hold: not tested, with the reason."""
    (clause,) = found_of(tmp_path, rows("Curlew", CURLEW), rule=ruled(conditions)).clauses
    assert clause.decision == "not tested"
    assert reason in clause.reason


def test_conditions_that_hold_let_a_clause_be_tested(tmp_path: Path) -> None:
    """80.07 N is 8.165 kgf at standard gravity; a span of times holds 5 s; the bench file says the temperature."""
    warm = HELD.replace('"5 s"', '"4 to 6 s"') + ', temperature = "18 to 22 degC"'
    bench = (
        '[conditions]\ntemperature = { value = 20.0, sd = 1.0, reference = 20.0, unit = "degC" }\n'
        "[material]\nexpansion = { value = 9e-5, relative_sd = 0.2 }\n"
    )
    (clause,) = found_of(tmp_path, rows("Curlew", CURLEW), rule=ruled(warm), bench=bench).clauses
    assert (clause.decision, clause.balls, clause.outside) == ("met", 4, 0)


@pytest.mark.parametrize(
    ("values", "decision"),
    [
        ((6.0, 7.3), "met"),  # 7.3 + 1.96 * 0.05 = 7.398
        ((6.0, 7.35), "undecided"),  # 7.35 + 0.098 lies beyond
        ((6.0, 7.45), "undecided"),  # 7.45 - 0.098 lies inside
        ((6.0, 7.5), "not met"),  # 7.5 - 0.098 = 7.402
        ((5.65, 6.0), "undecided"),
        ((5.5, 6.0), "not met"),  # 5.5 + 0.098 = 5.598
    ],
)
def test_a_ball_is_inside_or_outside_with_its_expanded_uncertainty(
    tmp_path: Path, values: tuple[float, ...], decision: str
) -> None:
    """Limits 5.6 and 7.4 mm, u 0.05 mm, factor 1.96 (normal distribution; JCGM 106:2012 in spirit)."""
    (clause,) = found_of(tmp_path, rows("Curlew", values), rule=ruled()).clauses
    assert clause.decision == decision


def repeated(values: dict[str, tuple[float, ...]], u: str = "") -> str:
    return "".join(
        f"Curlew,{ball},seam,forward,80.07,15.57,5,{value},{u},{i}\n"
        for ball, own in values.items() for i, value in enumerate(own, 1)
    )  # fmt: skip


def clause_of(folder: Path, values: dict[str, tuple[float, ...]], u: str = "", ball: str = "mean") -> PressClause:
    path = folder / "press.csv"
    path.write_text(f"{HEAD},repeat\n{repeated(values, u)}", encoding="utf-8")
    (folder / "rule.toml").write_text(ruled().replace('ball = "mean"', f'ball = "{ball}"'), encoding="utf-8")
    (clause,) = press(PressRequest(path, str(folder / "rule.toml"))).clauses
    return clause


def test_the_scatter_of_a_balls_own_repeats_is_in_its_uncertainty(tmp_path: Path) -> None:
    """5.6 to 7.4 mm: 5.8, 7.6, 6.5 scatter by 0.907 mm; their mean 6.63 plus and minus t(2) 0.907/sqrt 3 is 4.4 to 8.9.

    With two balls that scatter alike s^2 is pooled (exact algebra); with u stated, u^2 = u_stated^2 + s^2/n.
    """
    wild = clause_of(tmp_path, {"1": (5.8, 7.6, 6.5)})
    assert wild.decision == "undecided"
    assert wild.u == pytest.approx(np.hypot(stats.sem((5.8, 7.6, 6.5)), 0.1))
    both = clause_of(tmp_path, {"1": (6.4, 6.6), "2": (6.5, 6.6, 6.7)}, "0.03")
    pooled = (0.02 + 0.02) / 3
    assert both.decision == "met"
    assert both.value == pytest.approx(6.6)
    assert both.u == pytest.approx(np.sqrt(0.03**2 + pooled / 3))


@pytest.mark.parametrize("ball", ["max", "range"])
def test_an_extreme_of_scattering_readings_is_not_decided_by_luck(tmp_path: Path, ball: str) -> None:
    """Three balls, three readings with noise of 0.3 mm each: all at 7.3 mm, inside, or with a range of 5.5 mm, outside.

    Noise makes extremes more extreme, so that chance says "not met" of the first and "met" of the second: in one case
    of ten at most (simulation).
    """
    rng = np.random.default_rng(3)
    true, wrong = ((7.3, 7.3, 7.3), "not met") if ball == "max" else ((1.0, 3.7, 6.5), "met")
    told: list[str] = []
    for _ in range(40):
        own = {str(i): tuple(np.round(true + 0.3 * rng.standard_normal(3), 2)) for i in range(3)}
        told.append(clause_of(tmp_path, own, "0.01", ball).decision)
    assert told.count(wrong) <= 4


def test_balls_read_once_without_uncertainty_decide_nothing(tmp_path: Path) -> None:
    """Nothing is known of the scatter: undecided, and the reason asks for repeats or u; with u stated it is met."""
    once = clause_of(tmp_path, {"1": (6.5,), "2": (6.6,)})
    assert once.decision == "undecided"
    assert np.isnan(once.u)
    assert "read balls again, or state u" in once.reason
    assert clause_of(tmp_path, {"1": (6.5,), "2": (6.6,)}, "0.05").decision == "met"


def test_a_clause_on_the_mean_and_one_on_the_return(tmp_path: Path) -> None:
    """Mean of four balls 6.25 mm is inside; a clause on the return is not answered by forward readings."""
    (clause,) = found_of(tmp_path, rows("Curlew", CURLEW), rule=ruled(sample="mean")).clauses
    assert (clause.decision, clause.sample) == ("met", "mean")
    assert clause.value == pytest.approx(6.25)
    (back,) = found_of(tmp_path, rows("Curlew", CURLEW), rule=ruled(quantity="deformation_return")).clauses
    assert "no readings of deformation return" in back.reason


def test_faults_of_table_and_of_mathematics_come_together(tmp_path: Path) -> None:
    """A word, an odd direction, no time, a preload above the load, a row twice: all at their lines, each once."""
    twice = "A,1,seam,forward,80,10,5,6,\n"
    bad = f"A,1,seam,up,80,90,0,x,\n{twice}{twice}A,2,seam,forward,9999,1,5,6,\n"
    with pytest.raises(BadReadings) as caught:
        found_of(tmp_path, bad)
    wheres = [fault.where.removeprefix("press.csv, ") for fault in caught.value.faults]
    assert sorted(wheres) == [
        "line 2, column deformation", "line 2, column direction", "line 2, column preload", "line 2, column seconds",
        "line 4", "line 5, column load",
    ]  # fmt: skip
    assert "the same reading as in line 3" in str(caught.value)


def test_typed_entries_are_read_as_a_file_is() -> None:
    """The same text gives the same mean; a fault names the table, its line and column."""
    text = f"{HEAD}\n{rows('Curlew', CURLEW)}"
    assert press_typed(text).products[0].groups[0].group.mean == pytest.approx(6.25)
    with pytest.raises(BadReadings, match=r"entries.csv, line 2, column seconds"):
        press_typed(text.replace(",5,6.1", ",0,6.1"))


def test_an_empty_cell_is_told_in_the_words_of_the_trade(tmp_path: Path) -> None:
    """No fault speaks of "a product" or "a seconds": beside a field called Make it says whose name is wanted."""
    with pytest.raises(BadReadings) as caught:
        found_of(tmp_path, ",,,,80,10,,,\n")
    allowed = {fault.where.rsplit(" ", 1)[1]: fault.allowed for fault in caught.value.faults}
    assert allowed["product"] == "the name of the make in every line"
    assert allowed["seconds"] == allowed["deformation"] == "a number in every line"
    assert not any(f"a {name} " in text for name, text in allowed.items())


@pytest.mark.parametrize("spec", ["", "tennis-type-2", "padel"])
def test_presses_are_spoken_of_once(spec: str) -> None:
    """Guarding, and that hardness comes last, stand in one caution each, whatever the requirement says too."""
    cautions = press_typed(f"{HEAD}\n{rows('Curlew', CURLEW)}", spec).footing.cautions
    assert sum("guard" in text for text in cautions) == 1
    assert sum("hardness" in text.casefold() for text in cautions) == 1
    assert len(set(cautions)) == len(cautions)
    assert not spec or any("no over-inflation." in text for text in cautions)
