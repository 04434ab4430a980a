"""The pages: each asks one workflow for its data and hands them to its screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from anyio import to_thread
from fastapi import APIRouter
from starlette.responses import HTMLResponse

from ballbench.presentation.screens.box_page import box_html
from ballbench.presentation.screens.boxes_page import boxes_html
from ballbench.presentation.screens.comparison_page import comparison_html
from ballbench.presentation.screens.corrections_page import corrections_html
from ballbench.presentation.screens.findings_page import findings_html
from ballbench.presentation.screens.home import home_html
from ballbench.presentation.screens.instruments_page import instruments_html
from ballbench.presentation.screens.library import library_html
from ballbench.presentation.screens.measure import MeasurePage, measure_html
from ballbench.presentation.screens.numbers_page import numbers_html
from ballbench.presentation.screens.plan_form import plan_form_html
from ballbench.presentation.screens.plan_page import plan_html
from ballbench.presentation.screens.press_page import press_html
from ballbench.presentation.screens.qualify_page import qualify_html
from ballbench.presentation.screens.quick import quick_html
from ballbench.presentation.screens.quick_result import quick_result_html
from ballbench.presentation.screens.recorded_page import recorded_html, recordings_html
from ballbench.presentation.screens.repeat_study import repeat_study_html
from ballbench.presentation.screens.roll_page import roll_html
from ballbench.presentation.screens.set_up import choose_html, set_up_html
from ballbench.presentation.screens.test_page import test_html
from ballbench.presentation.screens.vee_page import vee_html
from ballbench.web.api.acts import QuickId, TestId, Word
from ballbench.web.api.boxes import BoxId
from ballbench.web.api.plans import PlanId, PlanQuery
from ballbench.web.judging import Judging
from ballbench.workflows.bench_aids import press_page, roll_page, vee_page
from ballbench.workflows.boxes import box_page, box_revision, boxes_page
from ballbench.workflows.correct import corrections
from ballbench.workflows.forms import choose_page, quick_page
from ballbench.workflows.judge_test import comparison_page, findings_page
from ballbench.workflows.keep import home, library, numbers, one_test, revision_of
from ballbench.workflows.plan_at_bench import plan_page
from ballbench.workflows.plan_forms import plan_form, planned_set_up_page
from ballbench.workflows.qualify_forms import instruments_page, repeat_study_page
from ballbench.workflows.qualify_test import qualify_page
from ballbench.workflows.quick_check import quick_result
from ballbench.workflows.recorded.pages import recorded_page, recordings_page

if TYPE_CHECKING:
    from ballbench.workflows.opening import Notebook

__all__ = ["pages_router"]


def pages_router(notebook: Notebook, judging: Judging) -> APIRouter:
    """Give the routes of all pages but those of pairing.

    Parameters
    ----------
    notebook : Notebook
        Open.
    judging : Judging
        Whose turn it is to be judged.
    """
    router = APIRouter(include_in_schema=False, default_response_class=HTMLResponse)
    _starting(router, notebook)
    _one_test(router, notebook)
    _results(router, notebook, judging)
    _boxes(router, notebook, judging)
    _qualify(router, notebook, judging)
    _plan(router, notebook, judging)
    _bench_aids(router)
    return router


def _starting(router: APIRouter, notebook: Notebook) -> None:
    @router.get("/")
    def first() -> str:
        return home_html(home(notebook))

    @router.get("/tests")
    def past(search: Word = "") -> str:
        return library_html(library(notebook, search))

    @router.get("/tests/new")
    def new(requirement: Word = "", plan: PlanQuery = None) -> str:
        if not requirement:
            return choose_html(choose_page())
        return set_up_html(planned_set_up_page(notebook, requirement, plan))

    @router.get("/quick")
    def quick() -> str:
        return quick_html(quick_page(notebook))


def _one_test(router: APIRouter, notebook: Notebook) -> None:
    @router.get("/tests/{t}")
    def one(t: TestId) -> str:
        return test_html(one_test(notebook, t))

    @router.get("/tests/{t}/numbers")
    def marks(t: TestId) -> str:
        return numbers_html(numbers(notebook, t))

    @router.get("/tests/{t}/measure")
    def measure(t: TestId) -> str:
        return measure_html(MeasurePage(one_test(notebook, t).progress.test))

    @router.get("/tests/{t}/recordings")
    def recorded(t: TestId) -> str:
        return recordings_html(recordings_page(notebook, t))

    @router.get("/tests/{t}/corrections")
    def said(t: TestId) -> str:
        return corrections_html(corrections(notebook, t))


def _results(router: APIRouter, notebook: Notebook, judging: Judging) -> None:
    @router.get("/tests/{t}/judge")
    async def judge(t: TestId) -> str:
        key = ("judge", t, await to_thread.run_sync(revision_of, notebook, t))
        return await judging.once(key, lambda: findings_html(findings_page(notebook, t)))

    @router.get("/tests/{t}/compare")
    async def compare(t: TestId, quantity: Word = "") -> str:
        key = ("compare", t, quantity, await to_thread.run_sync(revision_of, notebook, t))
        return await judging.once(key, lambda: comparison_html(comparison_page(notebook, t, quantity)))

    @router.get("/quick/{id}")
    async def slip(number: QuickId) -> str:
        return await judging.quick(lambda: quick_result_html(quick_result(notebook, number)))


def _boxes(router: APIRouter, notebook: Notebook, judging: Judging) -> None:
    @router.get("/boxes")
    def every_box() -> str:
        return boxes_html(boxes_page(notebook))

    @router.get("/boxes/{id}")
    async def one_box(number: BoxId, quantity: Word = "") -> str:
        key = ("box", number, quantity, await to_thread.run_sync(box_revision, notebook, number))
        return await judging.once(key, lambda: box_html(box_page(notebook, number, quantity)))


def _qualify(router: APIRouter, notebook: Notebook, judging: Judging) -> None:
    @router.get("/qualify")
    def every_instrument() -> str:
        return instruments_html(instruments_page(notebook))

    @router.get("/qualify/new")
    def new_study(requirement: Word = "") -> str:
        if not requirement:
            return choose_html(choose_page("qualify"))
        return repeat_study_html(repeat_study_page(notebook, requirement))

    @router.get("/tests/{t}/qualify")
    async def qualify(t: TestId) -> str:
        key = ("qualify", t, await to_thread.run_sync(revision_of, notebook, t))
        return await judging.once(key, lambda: qualify_html(qualify_page(notebook, t)))


def _plan(router: APIRouter, notebook: Notebook, judging: Judging) -> None:
    @router.get("/plan")
    async def ask(requirement: Word = "") -> str:
        if not requirement:
            return await to_thread.run_sync(lambda: choose_html(choose_page("plan")))
        return await judging.quick(lambda: plan_form_html(plan_form(notebook, requirement)))

    @router.get("/plans/{id}")
    async def one_plan(number: PlanId) -> str:
        return await judging.once(("plan", number), lambda: plan_html(plan_page(notebook, number)))


def _bench_aids(router: APIRouter) -> None:
    @router.get("/vee")
    def vee() -> str:
        return vee_html(vee_page())

    @router.get("/press")
    def press() -> str:
        return press_html(press_page())

    @router.get("/roll")
    def roll() -> str:
        return roll_html(roll_page())

    @router.get("/listen")
    def listen() -> str:
        return recorded_html(recorded_page("listen"))

    @router.get("/trace")
    def trace() -> str:
        return recorded_html(recorded_page("trace"))

    @router.get("/watch")
    def watch() -> str:
        return recorded_html(recorded_page("watch"))
