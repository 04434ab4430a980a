"""The pages: each asks one workflow for its data and hands them to its screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from anyio import to_thread
from fastapi import APIRouter
from starlette.responses import HTMLResponse

from ballbench.presentation.screens.comparison_page import comparison_html
from ballbench.presentation.screens.corrections_page import corrections_html
from ballbench.presentation.screens.findings_page import findings_html
from ballbench.presentation.screens.home import home_html
from ballbench.presentation.screens.library import library_html
from ballbench.presentation.screens.measure import MeasurePage, measure_html
from ballbench.presentation.screens.numbers_page import numbers_html
from ballbench.presentation.screens.quick import quick_html
from ballbench.presentation.screens.quick_result import quick_result_html
from ballbench.presentation.screens.set_up import choose_html, set_up_html
from ballbench.presentation.screens.test_page import test_html
from ballbench.web.api.acts import QuickId, TestId, Word
from ballbench.web.judging import Judging
from ballbench.workflows.correct import corrections
from ballbench.workflows.forms import choose_page, quick_page, set_up_page
from ballbench.workflows.judge_test import comparison_page, findings_page
from ballbench.workflows.keep import home, library, numbers, one_test, revision_of
from ballbench.workflows.quick_check import quick_result

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
    return router


def _starting(router: APIRouter, notebook: Notebook) -> None:
    @router.get("/")
    def first() -> str:
        return home_html(home(notebook))

    @router.get("/tests")
    def past(search: Word = "") -> str:
        return library_html(library(notebook, search))

    @router.get("/tests/new")
    def new(requirement: Word = "") -> str:
        if not requirement:
            return choose_html(choose_page())
        return set_up_html(set_up_page(notebook, requirement))

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
