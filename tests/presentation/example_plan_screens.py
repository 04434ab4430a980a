"""Made-up data of the pages of instruments and plans: an invented caliper, its study, and a plan made with it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from example_bench import CALIPER, plan, qualification

from ballbench.errors import Fault
from ballbench.findings.planning import Design
from ballbench.presentation.requirement_view import RequirementPage
from ballbench.presentation.screens.boxes_page import BoxLine
from ballbench.presentation.screens.instruments_page import InstrumentsPage, instruments_html
from ballbench.presentation.screens.library import TestLine
from ballbench.presentation.screens.plan_form import AsFound, PlanForm, QuantityToPlan, plan_form_html
from ballbench.presentation.screens.plan_page import PlanPage, plan_html
from ballbench.presentation.screens.plan_words import FollowedPlan, Otherwise, PlanLine, What
from ballbench.presentation.screens.qualified import QualifiedInstrument
from ballbench.presentation.screens.qualify_page import QualifyPage, qualify_html
from ballbench.presentation.screens.repeat_study import RepeatStudyPage, repeat_study_html
from ballbench.presentation.screens.set_up import ChoosePage, PlanToFollow, QuantityChoice, choose_html
from ballbench.records.ball_test import BallTest, PlannedQuantity
from ballbench.records.bench import Instrument

__all__ = ["followed", "plan_line", "plan_pages", "qualified", "qualify_pages", "to_follow"]

AT = "2026-11-27T10:00:00+01:00"
SCALE = Instrument("scale", "mass", "g", 0.01, 0.006, 4.0, assumed=True)
EVERYTHING: tuple[tuple[What, str | float, str | float, str], ...] = (
    ("requirement", "golf", "island-match-ball", ""), ("requirement text", "", "", ""), ("quantity", "", "", ""),
    ("balls", 12, 10, ""), ("places", 3, 2, ""), ("readings a place", 1, 2, ""), ("rule", "guarded", "simple", ""),
    ("risk", 0.05, 0.1, ""), ("instrument", "caliper", "tape", ""), ("step", 0.01, 0.5, "mm"),
    ("noise", 0.0096, 0.02, "mm"), ("degrees of freedom", 24.0, 4.0, ""), ("offset", 0.012, -0.012, "mm"),
    ("offset uncertainty", 0.0037, 0.012, "mm"), ("scale uncertainty", 0.0, 0.001, ""),
    ("zeroed", "each reading", "each sitting", ""), ("display", "rounds", "truncates", ""), ("not taken", "", 1, ""),
    ("left out", "", 2, ""),
)  # fmt: skip


def qualified(name: str = "") -> QualifiedInstrument:
    """Give the invented caliper as it was qualified."""
    sentence = f"Two balls must read 0.028 mm apart before this {name}caliper, in these hands, tells them apart."
    tool = replace(CALIPER, name=f"{name}caliper")
    return QualifiedInstrument(1, tool, sentence, f"{name}E", AT, 5, invented=True)


def plan_line(name: str = "") -> PlanLine:
    """Give a plan that one test follows."""
    title = f"{name}Match ball of the island winter league"
    return PlanLine(
        3, title, "island-match-ball", "diameter", Design(12, 3, 1), f"{name}12 balls are enough.", f"{name}E", AT,
        ((7, title),), invented=True,
    )  # fmt: skip


def followed(name: str = "") -> FollowedPlan:
    """Give a plan from which everything became otherwise that can."""
    return FollowedPlan(plan_line(name), tuple(Otherwise(*one) for one in EVERYTHING))


def to_follow(name: str = "") -> PlanToFollow:
    """Give what the plan puts into the set-up form."""
    return PlanToFollow(plan_line(name), ("seam", "across", "free"), "simple", 0.1, qualified(name).instrument)


def qualify_pages(
    name: str, plain: BallTest, lines: tuple[TestLine, ...], asked: RequirementPage, boxes: tuple[BoxLine, ...],
    quantities: tuple[PlannedQuantity, ...],
) -> dict[str, str]:  # fmt: skip
    """Write the pages of instruments in every state."""
    study = replace(plain, purpose="repeat study", title=f"{name}Repeat study: caliper", quantities=quantities[:1])
    blind, finished = replace(study, blind=True), replace(study, stage="finished")
    scale = replace(SCALE, name=f"{name}scale")
    fault = Fault("test 5", f"{name}no reading", "a test with readings", "measure first")
    form = RepeatStudyPage(
        asked, (QuantityChoice(quantities[0], ("mm", "in")), QuantityChoice(quantities[1], ("g", "oz"))),
        (qualified(name),), (scale, replace(scale, assumed=False)), boxes,
    )  # fmt: skip
    return {
        "instruments": instruments_html(InstrumentsPage((qualified(name),), (scale,), lines)),
        "instruments-none": instruments_html(InstrumentsPage()),
        "repeat-study": repeat_study_html(form),
        "repeat-study-first": repeat_study_html(replace(form, qualified=(), others=(), boxes=())),
        "qualify": qualify_html(QualifyPage(finished, 33, 33, 90, qualification(), (qualified(name),))),
        "qualify-live": qualify_html(QualifyPage(study, 20, 33, 60, qualification())),
        "qualify-hidden": qualify_html(QualifyPage(blind, 20, 33, 60, qualification())),
        "qualify-nothing": qualify_html(QualifyPage(study, 0, 33, 1, None, (), (fault,))),
        "choose-study": choose_html(ChoosePage((asked,), "qualify")),
    }


def plan_pages(name: str, asked: RequirementPage, quantities: tuple[PlannedQuantity, ...]) -> dict[str, str]:
    """Write the pages of plans in every state."""
    found = (
        AsFound(4, f"{name}Practice balls", f"{name}Curlew", "diameter", 12, 40.21, 0.05, 0.03, invented=True),
        AsFound(4, f"{name}Practice balls", f"{name}Dunlin", "mass", 12, 2.71, 0.02, 0.0),
    )
    line, made = plan_line(name), plan()
    offered: Callable[[PlannedQuantity], QuantityToPlan] = lambda one: QuantityToPlan(one, 0.01)  # noqa: E731 - short
    form = PlanForm(
        asked, tuple(map(offered, quantities)), (qualified(name),), (replace(SCALE, assumed=False),), found, (line,), 7
    )
    return {
        "plan-form": plan_form_html(form),
        "plan-form-first": plan_form_html(PlanForm(asked, tuple(map(offered, quantities)))),
        "plan": plan_html(PlanPage(line, made, made.sentences)),
        "plan-older": plan_html(PlanPage(line, None, (f"{name}A calibration would buy most.",), has_form=False)),
        "choose-plan": choose_html(ChoosePage((asked,), "plan")),
    }
