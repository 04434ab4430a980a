"""Made-up data of every page: an invented test at several stages, nothing taken from a notebook."""

from __future__ import annotations

from dataclasses import replace

from example_plan_screens import followed, plan_line, plan_pages, qualified, qualify_pages, to_follow
from example_recorded_screens import recorded_pages

from ballbench.errors import Fault
from ballbench.findings.comparisons import Comparison
from ballbench.findings.results import Findings, Truth
from ballbench.presentation.requirement_view import ClauseLine, RequirementPage
from ballbench.presentation.screens.box_page import (
    BallInTest,
    BallMean,
    BallOfBox,
    BoxChange,
    BoxHistory,
    BoxPage,
    QuantityOfBox,
    box_html,
)
from ballbench.presentation.screens.boxes_page import BoxesPage, BoxLine, TestOfBox, boxes_html
from ballbench.presentation.screens.comparison_page import ComparisonPage, comparison_html
from ballbench.presentation.screens.conditions import ConditionAsked
from ballbench.presentation.screens.corrections_page import CorrectionsPage, HistoryLine, corrections_html
from ballbench.presentation.screens.findings_page import FindingsPage, findings_html
from ballbench.presentation.screens.home import HomePage, RequirementChoice, home_html
from ballbench.presentation.screens.library import LibraryPage, TestLine, library_html
from ballbench.presentation.screens.press_page import PressPage, press_html
from ballbench.presentation.screens.problem_page import ProblemPage, problem_html
from ballbench.presentation.screens.progress import Progress
from ballbench.presentation.screens.quick import QuickPage, QuickQuantity, QuickRequirement, quick_html
from ballbench.presentation.screens.quick_result import QuickReading, QuickResult, quick_result_html
from ballbench.presentation.screens.set_up import ChoosePage, QuantityChoice, SetUpPage, choose_html, set_up_html
from ballbench.presentation.screens.test_page import FileLine, OtherTest, SittingLine, TestPage, test_html
from ballbench.presentation.screens.tray import BallFill
from ballbench.presentation.screens.vee_page import VeePage, vee_html
from ballbench.records.ball_test import Ball, BallTest, Box, PlannedQuantity, ReferencePiece, Sitting
from ballbench.records.bench import Instrument
from ballbench.records.bench_state import BenchState, CheckResult, KeptReading, OpenQuestion, Place
from ballbench.workflows.press import press_typed
from ballbench.workflows.vee import vee_typed

__all__ = ["every_page", "quick_result"]

CONDITIONS = (ConditionAsked("drop_height", "drop height", ("305 mm",)),
              ConditionAsked("surface", "surface", ("steel block",)))  # fmt: skip
MAKES = ("Curlew", "Dunlin", "Plover")
DIAMETER = PlannedQuantity(
    "diameter", "diameter", "mm", ("seam", "across", "free"), 1, "caliper", limits=(40.0, 40.6), rank=1
)
MASS = PlannedQuantity("mass", "mass", "g", ("",), 1, "scale", limits=(2.67, 2.77), rank=2)
REBOUND = PlannedQuantity(
    "rebound", "rebound height", "mm", ("",), 3, "phone", rank=3, decimals=0,
    caution="Drop from a fixed stand, never from a chair or ladder.",
)  # fmt: skip
LOOKS = PlannedQuantity("marking", "marking", "1", ("",), 1, yes_no=True, rank=4)


def ball_test(title: str = "Match ball of the island winter league", **changes: object) -> BallTest:
    """Give a test of three makes, two boxes each."""
    made = BallTest(
        id=7, title=title, requirement="island-match-ball", requirement_title="Match ball of the island winter league",
        requirement_digest="sha256:" + "3f9a" * 16, set_up="2026-11-20T18:05:00+01:00", set_up_by="E", blind=False,
        stage="under way", rule="guarded", risk=0.05, seed=20261120, invented=True,
        quantities=(DIAMETER, MASS, REBOUND),
        boxes=(Box(1, "Curlew", "C-1", "2026-11-02", "a shop in the harbour", "12.50"), Box(2, "Dunlin", "D-1"),
               Box(3, "Plover", "P-1", given_by="the maker")),
    )  # fmt: skip
    return replace(made, **changes)  # type: ignore[arg-type]


def fills(read: int, planned: int = 7, *, boxes: bool = True, each: int = 12) -> tuple[BallFill, ...]:
    """Give thirty-six balls of which the first hold `read` readings between them."""
    found = []
    for i in range(3 * each):
        here = min(max(read - planned * i, 0), planned)
        name = f"{MAKES[i // each]}, {MAKES[i // each][0]}-1" if boxes else ""
        found.append(BallFill(f"{i + 1:02d}", here, planned, name))
    return tuple(found)


def progress(test: BallTest, read: int, **changes: object) -> Progress:
    """Give a test of 36 balls of which so much is read."""
    hidden = test.blind and test.stage != "finished"
    made = Progress(
        test, read, 252, fills(read, boxes=not hidden), "2026-11-20T19:42:00+01:00" if read else "", "E" if read else ""
    )
    return replace(made, **changes)  # type: ignore[arg-type]


def checks() -> tuple[CheckResult, ...]:
    """Give four checks of a caliper, the last of which failed, and one of a scale."""
    values = (20.0, 20.01, 20.01, 20.06)
    found = [
        CheckResult(i + 1, 400 + i, "steel ball", "caliper", value, 20.0, 0.03, "mm", value < 20.03,
                    0 if value < 20.03 else 9, f"2026-11-20T{18 + i}:10:00+01:00")
        for i, value in enumerate(values)
    ]  # fmt: skip
    found.append(
        CheckResult(9, 409, "check weight", "scale", 2.0, 2.0, 0.02, "g", passed=True, touched=0,
                    at="2026-11-20T18:12:00+01:00")
    )  # fmt: skip
    return tuple(found)


def bench_state(test: BallTest) -> BenchState:
    """Give thirty-five readings with every standing, an open question and a failed check."""
    balls = tuple(Ball(i + 1, f"{i + 1:02d}", f"{i % 12 + 1:02d}", None, None, i, None, 24.5) for i in range(12))
    places, readings = [], []
    for i in range(36):
        axis = DIAMETER.axes[i % 3]
        places.append(Place(i + 1, i // 3 + 1, None, "diameter", axis, 1, i, i, filled=i < 35))
        if i == 35:
            break
        readings.append(
            KeptReading(i + 1, i + 1, i // 3 + 1, None, "diameter", axis, 1, f"{40.1 + 0.01 * (i % 7):.2f}",
                        40.1 + 0.01 * (i % 7), None, "mm", 1, "E", "2026-11-20T19:02:00+01:00",
                        touched=i >= 27)
        )  # fmt: skip
    readings[0] = replace(
        readings[0],
        text="43.02",
        standing="corrected",
        corrected=40.32,
        corrected_text="40.32",
        corrected_unit="mm",
        reason="digit misread, sheet says 40.32",
    )
    readings[4] = replace(readings[4], standing="excluded", reason="not held against the jaws")
    readings[7] = replace(readings[7], standing="taken back", reason="wrong ball")
    readings[9] = replace(readings[9], text="40.55", confirmed=True)
    question = OpenQuestion("k", 36, "4.017", "mm", "4.017 mm is far from this box, look again.", "E",
                            "2026-11-20T19:40:00+01:00")  # fmt: skip
    return BenchState(
        test, None, 120, balls, (ReferencePiece(1, "steel ball", "diameter", "mm", 20.0, 0.001, "caliper"),),
        tuple(places), tuple(readings), (question,), checks(), ("dropped",),
    )  # fmt: skip


def requirement(identity: str = "island-match-ball", sport: str = "table tennis") -> RequirementPage:
    """Give an invented requirement of three clauses."""
    clauses = (
        ClauseLine("diameter", "No diameter of a ball is above 40.60 mm.", "max diameter of a ball, each ball: at most "
                   "40.60 mm", "own", "Island league match balls 2026, 2.2", "temperature 23 °C", ()),
        ClauseLine("mean", "The mean of the ball averages lies from 40.00 mm to 40.50 mm.", "mean diameter of a ball, "
                   "mean over the balls: at least 40.00 mm and at most 40.50 mm", "own", "2.1", "",
                   ("mean of the smallest diameters: at least 40.00 mm",)),
        ClauseLine("mass", "Each ball weighs 2.67 g to 2.77 g.", "mean mass of a ball, each ball: at least 2.67 g and "
                   "at most 2.77 g", "memory", "3.1", "", ()),
    )  # fmt: skip
    return RequirementPage(
        identity, sport, "Match ball of the island winter league", "2026",
        "Island league match balls 2026, own requirement, invented", 24, clauses,
        ("The league is invented.",), ("No heat, no flame: such balls burn fast.",),
    )  # fmt: skip


def quick_result(findings: Findings) -> QuickResult:
    """Give a disputed ball, undecided by one clause and met by the others."""
    product = findings.products[2]
    mean, largest, variation, *_ = product.clauses
    largest = replace(
        largest, as_read=40.61, truth=Truth(40.593, 40.566, 40.621), probability_met=0.66, decision="undecided",
        margin=0.007, settle=mean.settle, whole_ball=None, population=None, balls=(), outside=1,
    )  # fmt: skip
    variation = replace(variation, whole_ball=None, population=None, balls=(), notes=())
    mean = replace(mean, truth=None, decision="not tested", probability_met=None, settle=(), variants=())
    one = replace(
        findings,
        products=(replace(product, balls=1, tested=2, probability_met=0.66, clauses=(mean, largest, variation)),),
    )
    return QuickResult(
        3, "2026-11-21T15:20:00+01:00", "E", "Ball B of the final", "diameter", "mm",
        tuple(QuickReading(axis, text) for axis, text in
              zip(("seam", "across", "free"), ("40.51", "40.61", "40.47"), strict=True)),
        "caliper, display step 0.01 mm; noise and offset as is common for such an instrument, taken for granted",
        (("air", "21.5 °C"),), "Disputed by the visitors, second set", one,
    )  # fmt: skip


def _lines() -> tuple[TestLine, ...]:
    return (
        TestLine(7, "Match ball of the island winter league", "Match ball of the island winter league", (), 36, 100,
                 252, "under way", "2026-11-20T18:05:00+01:00", by=("E",), blind=True, invented=True),
        TestLine(4, "Practice balls, autumn", "Practice ball, own requirement", ("Curlew", "Dunlin"), 24, 120, 120,
                 "finished", "2026-10-01T18:05:00+02:00", "2026-10-02T20:00:00+02:00", ("E", "second reader")),
    )  # fmt: skip


def quick_page() -> QuickPage:
    """Give the quick check with two requirements."""
    diameter = QuickQuantity(
        "diameter", "diameter", ("mm", "in"), ("seam", "across", "free"),
        ("No diameter of a ball is above 40.60 mm.", "No diameter of a ball is below 40.00 mm."), "caliper",
    )  # fmt: skip
    mass = QuickQuantity("mass", "mass", ("g", "oz"), (), ("Each ball weighs 2.67 g to 2.77 g.",), "scale")
    rebound = QuickQuantity("rebound", "rebound height", ("mm", "cm"), (), ("It rebounds 240 mm to 260 mm.",), "",
                            CONDITIONS)  # fmt: skip
    title = "Match ball of the island winter league"
    return QuickPage(
        (
            QuickRequirement("island-match-ball", "table tennis", title, "2026", "limits the user's own requirement",
                             (diameter, mass, rebound)),
            QuickRequirement("harbour-cup", "squash", "Ball of the harbour cup", "2025", "limits from memory", (mass,)),
        )
    )  # fmt: skip


def set_up_page(title: str = "") -> SetUpPage:
    """Give the set-up form with a known caliper and a yes/no quantity."""
    caliper = Instrument("caliper", "diameter", "mm", 0.01, 0.008, 20.0, 0.0, 0.012)
    asked = requirement()
    return SetUpPage(
        replace(asked, title=title or asked.title),
        (QuantityChoice(DIAMETER, ("mm", "in")), QuantityChoice(MASS, ("g", "oz")),
         QuantityChoice(REBOUND, ("mm", "cm"), chosen=False), QuantityChoice(LOOKS)),
        (replace(caliper, name=f"{title}{caliper.name}"),), 20261120, CONDITIONS, box_lines(title),
    )  # fmt: skip


def box_lines(name: str = "") -> tuple[BoxLine, ...]:
    """Give three boxes: one of two tests that are not finished, one of a finished test, one that came with a file."""
    title = f"{name}Match ball of the island winter league"
    first = TestOfBox(4, f"{name}Practice balls, autumn", title, "whole", "finished", "2026-10-02T20:00:00+02:00", True)
    second = replace(first, id=7, title=title, stage="under way", at="2026-11-20T19:42:00+01:00")
    third = replace(second, id=8, title=f"{name}Second look", stage="set up")
    bought = Box(1, f"{name}Curlew", "C-1", "2026-09-14", f"{name}harbour shop", "12.50")
    return (
        BoxLine(bought, 12, (first, second, third)),
        BoxLine(Box(2, f"{name}Dunlin", "D-1", given_by=f"{name}the maker"), 1, (first,)),
        BoxLine(Box(3, "Plover", ""), 24, (replace(first, kind="taken in", invented=False),)),
    )


def box_page(name: str = "", *, tests: int = 3) -> BoxPage:
    """Give a box of twelve balls, smaller in its second test; one ball came with a count that nobody knows."""
    line = box_lines(name)[0]
    own = line.tests[:tests]
    quantities = (QuantityOfBox("diameter", "diameter", "mm", 2), QuantityOfBox("mass", "mass", "g", 2),
                  QuantityOfBox("marking", "marking", "1", 0, yes_no=True))  # fmt: skip
    balls = tuple(
        BallOfBox(i + 1, f"{name}{i + 1:02d}", "2026-09-20T10:00:00+02:00" if i == 0 else None, tuple(
            BallInTest(test.id, f"{i + 1:02d}", 3 * number if i else None, () if number > 1 else (
                BallMean("diameter", "mm", 3, mean=40.2 + 0.011 * (i * 5 % 12) - 0.04 * number),
                BallMean("mass", "g", 1, mean=2.71 + 0.004 * i), BallMean("marking", "1", 2, yes=i % 3),
            ))
            for number, test in enumerate(own)
        ))
        for i in range(12)
    )  # fmt: skip
    change = BoxChange(own[0], own[1], 12, Truth(-0.04, -0.062, -0.019), True, 0.03) if tests > 1 else None
    return BoxPage(BoxHistory(line.box, own, quantities, balls), "diameter", "mm", change)


VEE = """product,ball,section,angle,low,high
{0}Curlew,{0}01,seam,90,-0.012,0.018
{0}Curlew,{0}01,seam,120,-0.006,0.009
{0}Dunlin,{0}01,seam,90,-0.030,0.035
"""
PRESS = """product,ball,orientation,direction,load,preload,seconds,deformation
{0}Curlew,{0}01,{0}seam,forward,80.07,15.57,5,6.1
{0}Curlew,{0}02,{0}seam,forward,80.07,15.57,5,6.4
{0}Curlew,{0}01,{0}seam,return,80.07,15.57,5,8.4
{0}Dunlin,{0}01,{0}seam,forward,80.07,15.57,5,6.8
{0}Dunlin,{0}02,{0}seam,forward,80.07,15.57,5,7.1
"""


def bench_aids(name: str, choices: tuple[RequirementChoice, ...]) -> dict[str, str]:
    """Write the pages of the vee and of the press, with and without a result."""
    own = name.replace('"', '""').replace(",", "")
    turned, pressed = (
        "\n".join(",".join(f'"{cell}"' for cell in line.split(",")) for line in text.format(own).splitlines())
        for text in (VEE, PRESS)
    )
    caution = ("Guard the press.",)
    return {
        "vee": vee_html(VeePage(choices, caution)),
        "vee-told": vee_html(VeePage(choices, caution, vee_typed(turned, spec="bearing-g10"))),
        "press": press_html(PressPage(choices, caution)),
        "press-told": press_html(PressPage(choices, caution, press_typed(pressed, spec="tennis-type-2"))),
    }


FAULT = Fault("test 99", "no such test", "a test of this notebook", "choose one from the list of past tests")


def every_page(findings: Findings, comparison: Comparison, name: str = "") -> dict[str, str]:
    """Write every page in every state; `name` is put wherever a person's own words stand.

    Parameters
    ----------
    findings, comparison : Findings, Comparison
        What is judged and compared.
    name : str
        Put in front of titles, makes, balls, people, reasons.
    """
    plain = ball_test(f"{name}Match ball of the island winter league")
    plain = replace(plain, boxes=tuple(replace(box, make=name + box.make) for box in plain.boxes), set_up_by=f"{name}E")
    blind = replace(plain, blind=True)
    finished = replace(plain, stage="finished")
    fresh = replace(plain, stage="set up", title=f"{name}Second look at Plover")
    lines = tuple(replace(line, title=name + line.title, by=(f"{name}E",)) for line in _lines())
    choices = (RequirementChoice("island-match-ball", "table tennis", f"{name}Match ball"),)
    reads = bench_state(plain)
    reads = replace(
        reads,
        readings=tuple(replace(one, by=f"{name}E", reason=name + one.reason) for one in reads.readings),
        balls=tuple(replace(ball, number=name + ball.number) for ball in reads.balls),
    )
    history = (
        HistoryLine("2026-11-20T20:10:00+01:00", f"{name}E", "corrected", "ball 01, diameter, seam, reading 1",
                    "43.02 mm", "40.32 mm", f"{name}digit misread"),
        HistoryLine("2026-11-20T20:01:00+01:00", "E", "excluded", "ball 02, diameter, across, reading 1", "40.14 mm",
                    "", "not held against the jaws"),
    )  # fmt: skip
    sitting = Sitting(
        1, "1", "bench", (f"{name}E",), "2026-11-20T18:10:00+01:00", "2026-11-20T20:00:00+01:00", 21.5, 22
    )
    balls = tuple(
        Ball(i + 1, f"{i + 1:02d}", f"{name}{i % 12 + 1:02d}", name + MAKES[i // 12], f"{MAKES[i // 12][0]}-1", i % 4,
             None, 24.5 if i else None)
        for i in range(36)
    )  # fmt: skip
    files = (FileLine("readings.csv", "every reading as it was read"), FileLine("everything.zip", "all of it"))
    tested = TestPage(
        progress(plain, 100, questions=1, in_doubt=9), (SittingLine(sitting, 100),), checks(), balls, files,
        (OtherTest(1, f"{name}Second look"),),
    )  # fmt: skip
    hidden = replace(tested, progress=progress(blind, 100))
    done = replace(tested, progress=progress(finished, 252))
    began = TestPage(progress(fresh, 0))
    slip = quick_result(findings)
    slip = replace(slip, ball=name + slip.ball, by=name + slip.by, note=name + slip.note)
    fault = replace(FAULT, found=name + FAULT.found)
    asked = requirement()
    named = replace(asked, title=name + asked.title)
    return {
        "home-first": home_html(HomePage(requirements=choices, example="/api/imports/example")),
        "home": home_html(HomePage((progress(blind, 100),), (progress(fresh, 0),), lines[1:], choices)),
        "choose": choose_html(ChoosePage((replace(asked, title=name + asked.title), requirement("other", "squash")))),
        "home-planned": home_html(HomePage(plans=(plan_line(name),))),
        "set-up": set_up_html(set_up_page(name)),
        "set-up-planned": set_up_html(replace(set_up_page(name), qualified=(qualified(name),), follow=to_follow(name))),
        "set-up-qualified": set_up_html(replace(set_up_page(name), qualified=(qualified(name),))),
        "test": test_html(tested),
        "test-hidden": test_html(hidden),
        "test-finished": test_html(done),
        "test-new": test_html(began),
        "test-planned": test_html(replace(began, plan=followed(name))),
        "test-as-planned": test_html(replace(began, plan=replace(followed(name), otherwise=()))),
        "judge": findings_html(FindingsPage(finished, 252, 252, 900, findings)),
        "judge-live": findings_html(FindingsPage(plain, 100, 252, 300, findings)),
        "judge-hidden": findings_html(FindingsPage(blind, 100, 252, 300, findings)),
        "judge-nothing": findings_html(FindingsPage(plain, 0, 252, 1, None, (fault,))),
        "compare": comparison_html(ComparisonPage(finished, "diameter", ("diameter", "mass"), 900, comparison)),
        "compare-hidden": comparison_html(ComparisonPage(blind, "diameter", ("diameter",), 300, comparison)),
        "compare-nothing": comparison_html(ComparisonPage(plain, "mass", ("mass",), 1, None, (fault,))),
        "corrections": corrections_html(CorrectionsPage(reads, history)),
        "corrections-none": corrections_html(CorrectionsPage(replace(reads, readings=(), questions=(), checks=()))),
        "library": library_html(LibraryPage(f"{name}harbour", lines, 9)),
        "library-none": library_html(LibraryPage("", (), 0)),
        "boxes": boxes_html(BoxesPage(box_lines(name))),
        "boxes-none": boxes_html(BoxesPage(())),
        "box": box_html(box_page(name)),
        "box-once": box_html(box_page(name, tests=1)),
        "quick": quick_html(quick_page()),
        "quick-result": quick_result_html(slip),
        **bench_aids(name, choices),
        **recorded_pages(name, choices, plain, blind, finished),
        **qualify_pages(name, plain, lines, named, box_lines(name), (DIAMETER, MASS)),
        **plan_pages(name, named, (DIAMETER, MASS)),
        "problem": problem_html(ProblemPage(404, "There is no such thing", (fault,))),
    }
