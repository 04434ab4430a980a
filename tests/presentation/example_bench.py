"""An invented qualification and an invented plan, written out: a failed check, a drift, three people, a chosen tray."""

from __future__ import annotations

import math
from dataclasses import replace

from ballbench.findings.footing import Footing
from ballbench.findings.plan_words import plan_sentences
from ballbench.findings.planning import (
    Design,
    Gain,
    HowMany,
    SettingChances,
    ShapeCaught,
    Share,
    Surface,
    TellingApart,
    TruthAt,
)
from ballbench.findings.planning.chances import ClauseChances, share_of
from ballbench.findings.plans import BoxPlan, Plan
from ballbench.findings.qualification import (
    CalibrationFound,
    CheckFound,
    ComponentFound,
    DriftFound,
    PersonFound,
    Qualification,
    RepeatsFound,
    RoundBallFound,
    SqueezeFound,
    Telling,
    ToleranceShare,
)
from ballbench.findings.qualifying.words import qualification_sentences
from ballbench.findings.results import BudgetFinding, BudgetLine
from ballbench.records.bench import Instrument
from ballbench.specs import Requirement
from ballbench.specs.model import Source

CALIPER = Instrument("caliper", "diameter", "mm", 0.01, 0.0096, 24.0, 0.012, 0.0037)
ROUND_BALL = (RoundBallFound(3, 0.016, 0.03), RoundBallFound(4, 0.020, 0.03), RoundBallFound(5, 0.022, 0.04))
CAUGHT = (
    ShapeCaught("ball", (2,), 3, 0.64, 0.24), ShapeCaught("ball", (2,), 4, 0.70, 0.38),
    ShapeCaught("ball", (2, 4), 3, 0.48, 0.14), ShapeCaught("ball", (2, 4), 4, 0.55, 0.15),
    ShapeCaught("section", (2,), 3, 0.83, 0.76), ShapeCaught("section", (2,), 4, 0.90, 0.73),
    ShapeCaught("section", (6,), 3, 0.0, 0.0), ShapeCaught("section", (6,), 4, 0.90, 0.73),
)  # fmt: skip
PEOPLE = (
    PersonFound("Ada", 15, -0.009, -0.012, -0.006, 0.009, 10.0, (-0.02, -0.01, -0.01, 0.0, 0.002)),
    PersonFound("Ben", 15, 0.008, 0.005, 0.011, 0.010, 10.0, (0.0, 0.01, 0.01, 0.02)),
    PersonFound("Cleo", 15, 0.001, -0.003, 0.005, 0.008, 10.0, (0.0, 0.0, 0.001)),
)
REPEATS = RepeatsFound(
    "Curlew", 5, 5, 3, 45, True, "anova",
    (
        ComponentFound("repeatability", 0.0096, 0.0075, 0.013, 24.0),
        ComponentFound("person", 0.0081, 0.0031, 0.26, 0.9),
        ComponentFound("person and ball", 0.0, 0.0, 0.013, math.nan, negative=True),
        ComponentFound("reproducibility", 0.0081, 0.0, 0.26, 0.9),
    ),
    PEOPLE,
    (Telling(1, 0.028, 0.037, 0.046, 0.7), Telling(3, 0.016, 0.021, 0.041, 0.6)),
)  # fmt: skip


def check(piece: str, known: float, value: float, time: str, allowed: float = 0.03) -> CheckFound:
    """One check, passed or failed as its numbers have it."""
    error = value - known
    return CheckFound(piece, known, 0.001, value, error, allowed, abs(error) <= allowed, f"2026-11-27T{time}:00")


CHECKS = (
    check("steel ball", 38.1, 38.10, "09:00"), check("steel ball", 38.1, 38.12, "10:00"),
    check("steel ball", 38.1, 38.12, "11:00"), check("steel ball", 38.1, 38.17, "13:00"),
    check("gauge", 42.0, 42.0, "09:00"), check("gauge", 42.0, 42.01, "13:00"),
)  # fmt: skip
CALIBRATION = CalibrationFound(2, 6, 40.23, 0.0125, 0.0035, 26.0, 0.001, 0.0018, 0.09, 37.71, 42.39, math.nan)
BUDGET = BudgetFinding(
    "one reading", "mm", 40.23, 0.0103, 40.0, 2.02, 0.0208, 0.95,
    (
        BudgetLine("reading", "the scatter of the readings", "A", 0.0096, "mm", 1.0, 0.0096, 24.0, 0.87),
        BudgetLine("offset", "the caliper's own error", "B", 0.0037, "mm", -1.0, 0.0037, math.inf, 0.13),
    ),
    "reading", "The scatter of the readings outweighs everything else: read the same place again.",
)  # fmt: skip


def qualification() -> Qualification:
    """Everything there is to find, with one check that failed and a drift beyond noise."""
    found = Qualification(
        quantity="diameter", unit="mm", instrument=CALIPER, known=("repeatability", "calibration"), repeats=REPEATS,
        checks=CHECKS, calibration=CALIBRATION,
        drift=(DriftFound("steel ball", 4, 4.0, 0.017, 0.010, 0.024, 0.04, 0.01, beyond_noise=True),),
        squeeze=(SqueezeFound("Curlew", "shell", 1.0, 0.011, 0.0014, 0.008, 0.02),), budget=BUDGET,
        tolerance=(ToleranceShare("small-rule", "A small rule (invented)", 0.6, 0.0208, 0.0693),), sentence="",
        sentences=(), seed=1, readings_digest="sha256:" + 64 * "0",
        footing=Footing(True, ("No temperature is given.",), ("Mind your fingers.",), ("decimal point",)),
        round_ball=ROUND_BALL,
    )  # fmt: skip
    sentence, *rest = qualification_sentences(found)
    return replace(found, sentence=sentence, sentences=tuple(rest))


TRUTH = TruthAt(40.3, 0.05, 0.03)
TESTS = 400


def share(value: float, tests: int = TESTS) -> Share:
    """A share of so many tests, with its interval."""
    return share_of(round(value * tests), tests)


def setting(
    design: Design, met: float, not_met: float, right: float, truth: TruthAt = TRUTH, tests: int = TESTS
) -> SettingChances:
    """Chances of one design."""
    undecided = 1.0 - met - not_met
    ends = [share(value, tests) for value in (met, not_met, undecided, right)]
    never = share(0.0, tests)
    clause = ClauseChances("largest", ends[0], ends[1], ends[2], ends[3], never)
    return SettingChances(
        design, truth, design.minutes, tests, ends[0], ends[1], ends[2], ends[3], never, never, (clause,), {}, 0, 0,
        48, (),
    )  # fmt: skip


SETTINGS = (
    setting(Design(6, 3), 0.53, 0.15, 0.6), setting(Design(12, 3), 0.75, 0.06, 0.81),
    setting(Design(24, 3), 0.9, 0.03, 0.93), setting(Design(48, 3), 0.98, 0.0, 0.98),
)  # fmt: skip


def grid() -> Surface:
    """A chance that grows with the mean and falls with the spread, three by two."""
    means, spreads = (39.9, 40.1, 40.3), (0.02, 0.1)
    rows = [
        setting(Design(24, 3), met, 0.0, met, replace(TRUTH, mean=mean, sd=sd), 100)
        for mean, mets in zip(means, ((0.0, 0.0), (0.6, 0.1), (1.0, 0.4)), strict=True)
        for sd, met in zip(spreads, mets, strict=True)
    ]
    return Surface("sd", means, spreads, tuple(rows))


SMALL_RULE = Requirement(
    "small-rule", "invented", "A small rule (invented)", "2026", Source("", "", "own"), (), "sha256:0"
)


def plan() -> Plan:
    """Four designs of which the third is enough, with everything that may be asked besides."""
    how_many = HowMany(0.9, SETTINGS, SETTINGS[2], True, None, None, "")
    gains = (
        Gain("as planned", SETTINGS[2]),
        Gain("an hour more: every place read 3 times more", setting(Design(24, 3, 4), 0.97, 0.01, 0.98)),
    )
    telling = TellingApart(
        Design(24, 3), 36.0, TESTS, (0.0, 0.025, 0.05, 0.1), tuple(map(share, (0.05, 0.4, 0.85, 1.0))), 0.8, 0.047,
        0.044, 0.051, 0,
    )  # fmt: skip
    made = Plan(
        requirement=SMALL_RULE, quantity="diameter", unit="mm", instrument=CALIPER, lower=40.0, upper=40.6,
        rule="guarded", risk=0.05, truth=TRUTH, tests=TESTS, seed=1, settings=SETTINGS, how_many=how_many,
        gains=gains, surface=grid(), telling=telling,
        boxes=(BoxPlan(24, 0.1, 0.95, 15, 3, 0.01, 27, 1.81, "C, 5 balls"),
               BoxPlan(None, 0.1, 0.95, 29, None, 0.01, None, math.nan, "")),
        sentence="", sentences=(), clauses=(("largest", "No ball measures more than 40.60 mm."),),
        footing=Footing(False, ("A caliper of 0.01 mm is taken.",), ("Mind your eyes.",), ("Invented.",)),
        sample_size=None, caught=CAUGHT, round_ball=ROUND_BALL,
    )  # fmt: skip
    sentence, *rest = plan_sentences(made)
    return replace(made, sentence=sentence, sentences=tuple(rest))
