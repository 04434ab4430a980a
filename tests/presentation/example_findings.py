"""Hand-built findings: three invented makes with every kind of decision, nothing computed by ballbench."""

from __future__ import annotations

import math
from dataclasses import replace

from ballbench.findings.comparisons import ComparedProduct, Comparison, Consequence, Pair
from ballbench.findings.footing import Footing
from ballbench.findings.results import (
    BallFinding,
    BudgetFinding,
    BudgetLine,
    ClauseFinding,
    Findings,
    FirstOrderCheck,
    Influence,
    Outlier,
    Population,
    ProductFinding,
    QuantityFinding,
    Settle,
    Truth,
    VariantFinding,
    WholeBall,
    WithoutCorrections,
)
from ballbench.specs import Requirement
from ballbench.specs.model import Source

__all__ = ["comparison", "findings", "many_findings", "product"]


def balls(middle: float, wave: float, half: float, lower: float | None, upper: float | None) -> tuple[BallFinding, ...]:
    """Give twenty-four balls in two boxes, spread along a wave; the chance to be inside follows a normal shape."""
    found = []
    for i in range(24):
        true = middle + wave * math.sin(2.4 * i)
        inside = 1.0
        for limit, sign in ((lower, 1.0), (upper, -1.0)):
            if limit is not None:
                inside *= 0.5 * (1.0 + math.erf(sign * (true - limit) / (half / 1.96) / math.sqrt(2.0)))
        raw = round(true + 0.6 * half * math.cos(5.1 * i), 2)
        truth = Truth(true, true - half, true + half)
        found.append(BallFinding(f"{i + 1:02d}", "K-1" if i < 12 else "K-2", raw, truth, inside))
    return tuple(found)


MEAN = ClauseFinding(
    id="diameter-mean", text="The mean of the ball averages lies from 40.00 mm to 40.50 mm.", quantity="diameter",
    unit="mm", ball="mean", sample="mean", lower=40.0, upper=40.5, lower_text="40.00 mm", upper_text="40.50 mm",
    strict=False, allowed_outside=0, seen="official", source="Island league match balls 2026, 2.1", as_read=40.2271,
    outside=0, truth=Truth(40.221, 40.190, 40.252), bound=40.195, probability_met=0.9999, decision="met", margin=0.221,
    scope="axes read",
)  # fmt: skip
LARGEST = ClauseFinding(
    id="diameter-largest", text="No ball measures more than 40.60 mm across any axis.", quantity="diameter", unit="mm",
    ball="max", sample="each", lower=None, upper=40.6, lower_text="", upper_text="40.60 mm", strict=False,
    allowed_outside=0, seen="official", source="Island league match balls 2026, 2.2", as_read=40.41, outside=0,
    truth=Truth(40.392, 40.361, 40.424), bound=40.419, probability_met=0.998, decision="met", margin=0.208,
    scope="axes read", whole_ball=WholeBall(0.971, Truth(40.412, 40.372, 40.468), 0.94, 0.985),
    population=Population(Truth(0.002, 0.0, 0.021), 0.0, 0.117, 40.10, 40.44),
    balls=balls(40.30, 0.09, 0.025, None, 40.6),
)  # fmt: skip
VARIATION = ClauseFinding(
    id="variation", text="The diameters of a ball differ by less than 0.25 mm.", quantity="diameter", unit="mm",
    ball="range", sample="each", lower=None, upper=0.25, lower_text="", upper_text="0.25 mm", strict=True,
    allowed_outside=0, seen="practice", source="", as_read=0.18, outside=0, truth=Truth(0.158, 0.131, 0.190),
    bound=0.184, probability_met=0.996, decision="met", margin=0.092, scope="axes read",
    whole_ball=WholeBall(0.88, Truth(0.204, 0.152, 0.271), 0.71, 0.94),
    population=Population(Truth(0.02, 0.001, 0.08), 0.1, 0.14, 0.03, 0.21), balls=balls(0.10, 0.05, 0.022, None, 0.25),
    notes=("The whole ball is less sure than the axes read.",),
)  # fmt: skip
SPREAD = ClauseFinding(
    id="spread", text="The standard deviation of the ball averages is 0.060 mm or less.", quantity="diameter",
    unit="mm", ball="mean", sample="sd", lower=None, upper=0.06, lower_text="", upper_text="0.060 mm", strict=False,
    allowed_outside=0, seen="quoted", source="Island league match balls 2026, 2.4", as_read=0.034, outside=0,
    truth=Truth(0.031, 0.024, 0.039), bound=0.0375, probability_met=0.9997, decision="met", margin=0.029,
    scope="axes read",
)  # fmt: skip
MASS = ClauseFinding(
    id="mass", text="Each ball weighs 2.67 g to 2.77 g; one ball of the sample may be outside.", quantity="mass",
    unit="g", ball="mean", sample="each", lower=2.67, upper=2.77, lower_text="2.67 g", upper_text="2.77 g",
    strict=False,
    allowed_outside=1, seen="memory", source="Island league match balls 2026, 3.1", as_read=2.69, outside=1,
    truth=Truth(2.688, 2.681, 2.695), bound=2.682, probability_met=0.991, decision="met", margin=0.018,
    scope="not applicable", population=Population(Truth(0.01, 0.0, 0.05), 0.2, 0.13, 2.66, 2.76),
    balls=balls(2.715, 0.03, 0.006, 2.67, 2.77),
)  # fmt: skip
REBOUND = ClauseFinding(
    id="rebound", text="Dropped from 305 mm on a steel block the ball rebounds 240 mm to 260 mm.", quantity="rebound",
    unit="mm", ball="mean", sample="each", lower=240.0, upper=260.0, lower_text="240 mm", upper_text="260 mm",
    strict=False, allowed_outside=0, seen="paraphrased", source="Island league match balls 2026, 4.1", as_read=None,
    outside=0, truth=None, bound=None, probability_met=None, decision="not tested", margin=None, scope="not applicable",
    notes=("The bench file does not say on what surface the balls were dropped; add surface to [conditions].",),
)  # fmt: skip
SETTLE = (
    Settle("compare the caliper with a known steel ball, to 0.003 mm", 0.91, 0.62, 0.29, 20.0, enough=True),
    Settle("read every ball on the same axes twice more", 0.12, 0.1, 0.02, 70.0, enough=False),
    Settle("read 24 more balls", 0.14, 0.12, 0.02, float("nan"), enough=False),
)
MEAN_UNDECIDED = replace(
    MEAN, as_read=40.014, truth=Truth(40.012, 39.981, 40.043), bound=39.986, probability_met=0.78,
    decision="undecided", margin=0.012, settle=SETTLE,
    variants=(
        VariantFinding("mean of the ball averages", 40.0, 40.5, 40.014, 0, Truth(40.012, 39.981, 40.043), 0.78,
                       "undecided"),
        VariantFinding("mean of the smallest diameters", 40.0, 40.5, 39.961, 0, Truth(39.958, 39.927, 39.989), 0.01,
                       "not met"),
    ),
    notes=("The caliper was not checked against a known length: its offset is shared by every ball.",),
)  # fmt: skip
VARIATION_NOT_MET = replace(
    VARIATION, as_read=0.44, outside=7, truth=Truth(0.402, 0.371, 0.436), bound=0.376, probability_met=0.0001,
    decision="not met", margin=-0.152, whole_ball=WholeBall(0.0, Truth(0.447, 0.392, 0.530), 0.0, 0.0), notes=(),
    population=Population(Truth(0.29, 0.14, 0.47), 6.8, 0.48, 0.02, 0.46), balls=balls(0.21, 0.19, 0.03, None, 0.25),
)  # fmt: skip


CALIBRATE = "What the caliper's own error adds outweighs everything else: calibrate it before reading more balls."


def budget(of: str, scatter: float, dof: float, *, drawn: float | None = None, more: float = 0.0) -> BudgetFinding:
    """Give a budget of a caliper's own error of 0.010 mm, some scatter, warmth of 0.001 mm, spread between balls."""
    parts = [
        ("offset", "the caliper's own error", "B", 0.010, "mm", -1.0, 0.010, math.inf),
        ("reading", "scatter of the readings", "A", scatter, "mm", 1.0, scatter, dof),
        ("ball_temperature", "temperature of the balls", "B", 0.25, "K", -0.004, 0.001, math.inf),
    ] + ([("balls", "spread between the balls", "A", more, "mm", 1.0, more, 23.0)] if more else [])
    u = math.hypot(*(part[6] for part in parts))
    lines = tuple(sorted((BudgetLine(*part, (part[6] / u) ** 2) for part in parts), key=lambda line: -line.share))
    check = FirstOrderCheck(40.2011, 40.2409, 0.00013, 0.00017, 0.005, True, True, 60_000) if drawn else None
    notes = ("the draws use all readings together, the budget its lines alone",) if drawn else ()
    return BudgetFinding(
        of, "mm", 40.221, u, 815.3, 1.963, 1.963 * u, 0.95, lines, "offset", CALIBRATE,
        None if drawn is None else drawn / 1.96, drawn, check, notes,
    )  # fmt: skip


BUDGETS = (
    budget("one reading", 0.008, 20.0), budget("mean of one ball", 0.004, 20.0),
    budget("mean of these balls", 0.0008, 20.0, drawn=0.0199),
    budget("mean of balls like these", 0.0008, 20.0, more=0.006),
)  # fmt: skip
APART = BudgetFinding(
    "difference of means", "mm", -0.005, 0.0065, 41.7, 2.02, 0.01313, 0.95,
    (
        BudgetLine("balls Curlew", "spread between the balls, Curlew", "A", 0.0056, "mm", 1.0, 0.0056, 23.0, 0.7422),
        BudgetLine("reading Dunlin", "scatter of the readings, Dunlin", "A", 0.0033, "mm", -1.0, 0.0033, 20.0, 0.2578),
        BudgetLine("offset", "the caliper's own error", "B", 0.010, "mm", 0.0, 0.0, math.inf, 0.0,
                   "the same for both: cancels"),
    ),
    "balls", "The spread between the balls outweighs everything else: more balls make this more certain, a better "
    "instrument does not.", 0.0066, 0.0131,
)  # fmt: skip


def quantities(mean: float, variation: float) -> tuple[QuantityFinding, ...]:
    """Give the diameters and masses behind a product."""
    return (
        QuantityFinding(
            "diameter", "mm", 24, 96, 4, Truth(mean, mean - 0.031, mean + 0.031), Truth(0.031, 0.024, 0.039), 0.008,
            0.0102, Truth(0.04, 0.032, 0.051), variation + 0.018, Truth(variation, 0.85 * variation, 1.16 * variation),
            BUDGETS,
        ),
        QuantityFinding(
            "mass", "g", 24, 24, 1, Truth(2.715, 2.709, 2.721), Truth(0.021, 0.016, 0.029), 0.004, 0.002, None,
            None, None,
        ),
    )  # fmt: skip


def product(name: str, decision: str = "met as far as tested") -> ProductFinding:
    """Give one product of the wanted decision."""
    clauses = {
        "met as far as tested": (MEAN, LARGEST, VARIATION, SPREAD, MASS, REBOUND),
        "not met": (MEAN, LARGEST, VARIATION_NOT_MET, SPREAD, MASS, REBOUND),
        "undecided": (MEAN_UNDECIDED, LARGEST, VARIATION, SPREAD, MASS, REBOUND),
    }[decision]
    chance = {"met as far as tested": 0.986, "not met": 0.0001, "undecided": 0.77}[decision]
    sure = {
        "met as far as tested": "The chance that all five tested clauses are met is 98.6 %.",
        "not met": "The chance that the diameters of every ball differ by less than 0.25 mm is under 0.1 %.",
        "undecided": "Four clauses are met, one is undecided: the chance that all are met is 77 %.",
    }[decision]
    todo = {
        "met as far as tested": "To test the rebound too, say in the bench file on what surface the balls fell.",
        "not met": "Seven balls are out of round; another box may differ.",
        "undecided": "Compare the caliper with a known steel ball; more balls would not help.",
    }[decision]
    means = {"met as far as tested": (40.221, 0.105), "not met": (40.226, 0.224), "undecided": (40.012, 0.098)}[
        decision
    ]
    return ProductFinding(
        product=name, balls=24, readings=120, excluded=1, corrected=1, spoiled=2, decision=decision,
        probability_met=chance, tested=5, clauses_in_all=6,
        headline=(f"{name}, 24 balls: {decision}.", sure, todo), clauses=clauses, quantities=quantities(*means),
        outliers=(Outlier("diameter", "mm", "17", 40.03, 3.41, 3.07),) if decision == "not met" else (),
        influence=((Influence("diameter-mean", "09", "seam", 2, 40.31, "met", 0.962),)
                   if decision == "undecided" else ()),
        without_corrections=WithoutCorrections("undecided", 0.61, ("mass",)) if decision != "not met" else None,
        notes=("Two drops hit the tube and were spoiled.",),
    )  # fmt: skip


LEAGUE = Requirement(
    "island-match-ball", "table tennis", "Match ball of the island winter league", "2026",
    Source("Island league match balls 2026", "own requirement, invented", "own"), (), "sha256:" + "3f9a" * 16,
)  # fmt: skip


def findings() -> Findings:
    """Give a whole judgement of three products."""
    return Findings(
        requirement=LEAGUE, rule="guarded", risk=0.05, look=1, planned_looks=1, seed=20261125, draws=100_000,
        readings_digest="sha256:" + "c0de" * 16,
        questions=("line 41: Dunlin, ball 05, seam: 4.017 mm is far from this box, look again.",),
        amendments=("Curlew, ball 03, seam, repeat 1: 43.02 corrected to 40.32, digit misread (AM, 2026-11-20).",
                    "Plover, ball 11, free, repeat 2: excluded, ball was not held against the jaws (AM, 2026-11-20)."),
        products=(product("Curlew"), product("Dunlin", "not met"), product("Plover", "undecided")),
        footing=Footing(
            True,
            ("No calibration of the caliper is given: an offset of up to 0.02 mm is taken for granted.",
             "Ball temperature 21.5 °C, held to be the same for all."),
            ("Results of a home bench are not an approval: accredited laboratories decide.",),
            ("The file was read as one reading a row, with a decimal point.",),
        ),
    )  # fmt: skip


def many_findings(count: int) -> Findings:
    """Give a judgement of many products, every third of them not met and every fifth undecided."""
    kinds = ["not met" if i % 3 == 0 else "undecided" if i % 5 == 0 else "met as far as tested" for i in range(count)]
    return replace(findings(), products=tuple(product(f"Make {i + 1}", kind) for i, kind in enumerate(kinds)))


def comparison() -> Comparison:
    """Give a comparison of three products: one pair told apart, one tie, one without form."""

    def compared(name: str, mean: float, form: float, wave: float) -> ComparedProduct:
        return ComparedProduct(
            name, 24, 96, Truth(mean, mean - 0.016, mean + 0.017), Truth(0.031, 0.024, 0.040),
            Truth(form, 0.85 * form, 1.16 * form), form + 0.018, balls(mean, wave, 0.012, None, None),
        )  # fmt: skip

    def pair(a: str, b: str, middle: float, *, told: bool) -> Pair:
        return Pair(
            a, b, Truth(middle, middle - 0.021, middle + 0.022), Truth(1.02, 0.68, 1.51), Truth(0.47, 0.36, 0.61), 0.91,
            told, 0.0002 if told else 0.61, 0.0006 if told else 0.61, 0.0003 if told else 0.64,
            0.0004 if told else 0.58, 0.72, 0.031, tuple(
                Consequence(name, Truth(k * middle / 0.402, k * (middle - 0.021) / 0.402, k * (middle + 0.022) / 0.402))
                for name, k in (("circumference", 1.0), ("area", 2.0), ("volume", 3.0))
            ), ("How much the jaws squeeze each make does not cancel.",), APART,
        )  # fmt: skip

    return Comparison(
        quantity="diameter", unit="mm", seed=20261125, draws=100_000, readings_digest="sha256:" + "c0de" * 16,
        products=(compared("Curlew", 40.221, 0.105, 0.05), compared("Dunlin", 40.226, 0.224, 0.06),
                  compared("Plover", 40.012, 0.098, 0.045)),
        pairs=(pair("Curlew", "Dunlin", -0.005, told=False), pair("Curlew", "Plover", 0.209, told=True),
               pair("Dunlin", "Plover", 0.214, told=True)),
        sentences=("Plover is smaller than Curlew and Dunlin.", "Curlew and Dunlin cannot be told apart: a tie.",
                   "To tell a difference of 0.01 mm apart, read about 200 balls of each."),
        footing=Footing(
            True, ("No calibration of the caliper is given.",), ("Balls of one box are one batch.",),
            ("One instrument read all products.",),
        ),
    )  # fmt: skip
