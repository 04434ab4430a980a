from __future__ import annotations

import math
import re

import numpy as np
import pytest
from doc_pages import ROOT, flat, page, section
from scipy.stats import norm

from ballbench.findings import (
    budget_omissions,
    budgets,
    deciding,
    evidence,
    judging,
    population,
    settling,
)
from ballbench.findings.bouncing import doubt, draws
from ballbench.findings.rolling import offsets, turnings
from ballbench.findings.watching import checks, reading
from ballbench.form import circle, error_separation, form_interval, harmonics
from ballbench.physics import air, sphere_drag
from ballbench.presentation.charts import budget_picture
from ballbench.quantities.kinds import KINDS
from ballbench.records import bench_gate, default_instrument, fellows, mistyping
from ballbench.records.default_instruments import ASSUMED_DOF
from ballbench.statistics import grids, latent, posterior, thermal_change, whole_ball
from ballbench.workflows import bench_questions, flight_settings, which_ball

HERE = (
    "true-values",
    "coarse-and-turned",
    "whole-ball",
    "decision",
    "settling",
    "comparison",
    "instruments",
    "budget",
    "bench-gate",
    "instrument-checks",
    "which-ball",
    "squeeze",
    "temperature",
    "diameter-variation",
    "vee-block",
    "impacts",
    "filmed-drop",
    "outline-edge",
    "photo-perspective",
    "reference-circles",
    "roundness-filter",
    "harmonics",
    "error-separation",
    "rolling",
    "same-spot",
    "bounce-flight",
    "restitution",
    "air",
)  # the pages of the engine and of the bench; the classical ones are held by tests/statistics


@pytest.mark.parametrize("name", HERE)
def test_a_method_page_says_all_that_a_method_page_must(name: str) -> None:
    """Formula, source or the words that there is none, range of validity, and a worked example that is run."""
    text = page(f"docs/methods/{name}.md")
    for heading in ("Formula", "Where it holds", "Worked example"):
        assert section(text, heading).strip()
    assert ">>> " in section(text, "Worked example")
    assert re.search(r"\bSources?\b|JCGM|own choice", text)


STATED = (
    ("reference-circles", f"to {circle.NEAR:.0e} of the outline".replace("e-0", "e-")),
    ("reference-circles", f"less than {form_interval._NEAR_ROUND:g} times what a round ball shows"),
    ("reference-circles", f"neither less nor more than {100 * form_interval._TAIL:g} % of the draws"),
    ("harmonics", f"Up to n = {harmonics.MOST} (own choice)"),
    ("error-separation", f"From m_n = {error_separation.BLIND:g} on (own choice)"),
    ("error-separation", f"u is taken as {error_separation.TURN_U:g} degree (own choice)"),
    ("true-values", f"half-normal with scale {grids.FORM_SPREAD_SCALE:g}"),
    ("true-values", f"rounds of {judging.ROUND:,}, at most {judging.MOST_DRAWS:,}"),
    ("true-values", f"is under {judging.CERTAIN:g} or"),
    ("coarse-and-turned", f"{latent.CHAINS} chains"),
    ("coarse-and-turned", f"for {latent.BURN_INS[0] // 2 + latent.BURN_INS[0]} steps"),
    ("coarse-and-turned", f"is not under {latent.LARGEST_RHAT:g}"),
    ("coarse-and-turned", f"{judging.LATENT_DRAWS:,} draws"),
    ("whole-ball", f"in {whole_ball.DIRECTIONS} further directions"),
    ("whole-ball", f"at most {evidence.KEPT:,} draws"),
    ("decision", f"{population.DRAWS} draws of the make's mean"),
    ("decision", f"{population.BALLS} new balls each"),
    ("decision", f"risk between 0 and 0.5, {deciding.Rule().risk:g} unless you choose another"),
    ("settling", f"{settling.TRUTHS} truths are drawn"),
    ("settling", f"({settling.DRAWS} draws each"),
    ("settling", f"at least {100 * settling.ENOUGH:.0f} %"),
    ("settling", f"{settling.MINUTES_A_READING:g} min a reading"),
    ("settling", f"{settling.MINUTES_CALIBRATION:g} min"),
    ("instruments", f"{thermal_change.STEEL_EXPANSION * 1e6:g}e-6 per K"),
    ("budget", f"more than {100 * budgets.PARTED:.0f} %"),
    ("budget", f"at least {budgets.FEWEST_BALLS} balls"),
    ("budget", f"{budgets.MOST_DRAWS:,} draws"),
    ("budget", f"{budget_omissions.AIR:g} kg/m3"),
    ("budget", f"under {100 * budget_picture.LEAST_SHARE:g} %"),
    ("bench-gate", f"the latest {bench_questions._MOST_FELLOWS} readings"),
    ("bench-gate", f"{fellows._NORMAL} times the median distance"),
    ("bench-gate", f"less than {bench_gate._AT_ONCE:g} s after it"),
    ("bench-gate", f"to within {100 * mistyping._POINT_NEAR:.0f} % of the median"),
    ("bench-gate", f"off to within {100 * mistyping._SLIP_NEAR:.0f} %"),
    ("bench-gate", f"exchanged within {mistyping._WITH_FELLOWS:g} robust SDs"),
    ("bench-gate", f"such as {KINDS['diameter'].lowest:g} to {KINDS['diameter'].highest:g} mm of diameter"),
    ("bench-gate", f"{100 * fellows.TIGHT_SHARE:.0f} % within {100 * fellows.ONE_SIZE:.0f} % of their median"),
    ("bench-gate", f"from {100 * bench_questions._NEAR_PIECE:.0f} % off what the piece is"),
    ("instrument-checks", f"with {ASSUMED_DOF:g} degrees of freedom"),
    ("rolling", f"repeats have fewer than {turnings._ENOUGH} degrees of freedom"),
    ("rolling", f"{100 * turnings._FOOT:g} % of the part after the foot"),
    ("rolling", f"Marks count as known to {offsets._MARK:g} mm"),
    ("rolling", f"with fewer than {offsets._DIRECTED} degrees of freedom"),
    ("bounce-flight", f"at {100 * sphere_drag.FLIGHT_SHARE:g} % of its launch speed"),
    ("bounce-flight", f"Its standard uncertainty is {100 * flight_settings.DRAG_U:g} %"),
    ("restitution", f"{draws.DRAWS:,} draws"),
    ("restitution", f"may lie {doubt.FIRST_OFF:g} and {doubt.SECOND_OFF:g} beside it"),
    ("restitution", f"more than {doubt.APART:g} off the drop's median"),
    ("air", f"{air.EQUATION_U:g} of it"),
    ("filmed-drop", f"kappa H with {100 * reading._TILT_SHARE:g} %"),
    ("filmed-drop", f"where H is within {100 * reading.CARRIED:g} % of H'"),
    ("filmed-drop", f"more than {100 * checks._LEAST_GAP:g} % and three standard uncertainties"),
    ("filmed-drop", f"changes by more than {100 * checks._TILT_REFUSED:g} % along the fall"),
    ("filmed-drop", f"scatter by more than {100 * checks._TOO_NOISY:g} % of the breadth"),
    ("which-ball", f"those below {100 * which_ball._LEAST:.0f} % left out"),
    ("which-ball", f"more than {which_ball._FAR:g} SDs"),
)


@pytest.mark.parametrize(("name", "words"), STATED, ids=[f"{n}-{w[:24]}" for n, w in STATED])
def test_numbers_that_a_page_states_are_those_of_the_program(name: str, words: str) -> None:
    """A constant that a method page names is the one that the program uses."""
    assert words in flat(page(f"docs/methods/{name}.md"))


def test_the_gate_page_states_how_far_is_far() -> None:
    """Far from 5 + 60/n robust SDs on, from five readings on, eight for a place of its own; five spelt out in words."""
    text = flat(page("docs/methods/bench-gate.md"))
    assert "further from the median than 5 + 60/n robust SDs" in text
    assert "needs five readings of five balls" in text
    assert "if there are eight of them" in text
    assert "three fellows of one size" in text
    assert (fellows.FEWEST, fellows._OWN_CENTRE, mistyping._FEWEST_TIGHT) == (5, 8, 3)
    for count in (5, 12, 400):
        assert fellows.far_limit(np.array([count]))[0] == pytest.approx(5 + 60 / count)
    assert np.isinf(fellows.far_limit(np.array([4]))[0])


def test_the_page_on_which_ball_states_how_rare_none_is() -> None:
    """Beyond 4 SDs of a normal distribution lies one in 16,000 (two sides, scipy.stats), rounded to thousands."""
    assert "once in 16,000" in flat(page("docs/methods/which-ball.md"))
    assert round(1 / (2 * norm.sf(which_ball._FAR)), -3) == 16_000


def test_the_whole_ball_page_states_the_mixes() -> None:
    """Its table holds the shares of the three degrees that the program uses."""
    text = page("docs/methods/whole-ball.md")
    rows = re.findall(r"^\| (?:stated mix|all in degree 2|even) \| (.*) \|$", text, re.MULTILINE)
    read = [tuple(1 / 3 if cell == "1/3" else float(cell) for cell in row.split(" | ")) for row in rows]
    assert read == [*whole_ball.MIXES]


def test_the_true_values_page_states_when_candidates_are_drawn_anew() -> None:
    """A tenth and eight times are the program's own."""
    assert "below a tenth, eight times as many candidates" in flat(page("docs/methods/true-values.md"))
    assert (posterior.ENOUGH, posterior.MORE) == (0.1, 8)


def test_the_table_of_usual_instruments_is_the_program_s() -> None:
    """Noise and offset of each sort of instrument, in display steps and at least, as the page's table has them."""
    text = section(page("docs/methods/instruments.md"), "Formula")
    caliper, tape, scale, other = (
        default_instrument(quantity, unit, 1.0 if unit != "mm" else step)
        for quantity, unit, step in (
            ("diameter", "mm", 0.01), ("circumference", "mm", 10.0), ("mass", "g", 0), ("veer", "mm", 1.0)
        )
    )  # fmt: skip
    fine, finest = default_instrument("diameter", "mm", 1e-4), default_instrument("circumference", "mm", 0.01)
    assert "| 1 step, at least 0.003 mm | 1.2 steps, at least 0.003 mm |" in text
    assert (caliper.sd, caliper.offset_sd) == pytest.approx((0.01, 0.012))
    assert (fine.sd, fine.offset_sd) == (0.003, 0.003)
    assert "| half a step, at least 0.5 mm | half a step, at least 0.5 mm |" in text
    assert (tape.sd, tape.offset_sd, finest.sd, finest.offset_sd) == (5.0, 5.0, 0.5, 0.5)
    assert "| scale | 0.6 steps | 1 step |" in text
    assert (scale.sd, scale.offset_sd) == (0.6, 1.0)
    assert "| anything else | 1 step | 1.2 steps |" in text
    assert (other.sd, other.offset_sd, other.dof) == (1.0, 1.2, 4.0)


def test_how_well_two_hundred_truths_tell_a_share() -> None:
    """Half width of a binomial share of 0.8 from 200, normal approximation (NIST/SEMATECH handbook 7.2.4.1)."""
    assert round(100 * 1.96 * math.sqrt(0.8 * 0.2 / settling.TRUTHS)) == 6
    assert "to within about 6 points (95 %, binomial)" in flat(page("docs/methods/settling.md"))


def test_start_and_the_method_pages_speak_of_the_same_six_balls() -> None:
    """The balls that the method pages call those of Start have the readings that Start shows."""
    start = page("docs/guides/start.md")
    rows = re.findall(r"^Curlew,0\d,(.*)$", start, re.MULTILINE)
    assert len(rows) == 6
    settling_page, true_values = page("docs/methods/settling.md"), page("docs/methods/true-values.md")
    for row in rows:
        assert row in settling_page
        assert f"[{row.replace(',', ', ')}]" in true_values


def test_every_method_page_is_known_to_a_test() -> None:
    """A page is either one of the engine's or one of those that other tests hold; none stands unread."""
    others = {"uncertainty", "tolerance-intervals", "counts", "outliers", "two-samples", "conformity", "clauses"}
    others |= {"operating-characteristic", "sampling-plans", "repeat-study", "calibration-line"}
    assert {path.stem for path in (ROOT / "docs" / "methods").glob("*.md")} == {*HERE} | others
