"""Findings and comparisons of a test: the bytes that the command line gives for the test's own files."""

from __future__ import annotations

from typing import TYPE_CHECKING

from anyio import to_thread
from fastapi import APIRouter
from starlette.responses import Response

from ballbench.presentation.comparison_json import FORMAT as COMPARISON
from ballbench.presentation.comparison_json import comparison_to_json
from ballbench.presentation.findings_json import FORMAT as FINDINGS
from ballbench.presentation.findings_json import findings_to_json
from ballbench.web.api.acts import TestId, Word
from ballbench.web.api.answers import document, json_text, problems
from ballbench.web.bodies import JsonRoute
from ballbench.web.judging import Judging
from ballbench.workflows.judge_test import compare_notebook_test, judge_notebook_test
from ballbench.workflows.keep import revision_of

if TYPE_CHECKING:
    from ballbench.workflows.opening import Notebook

__all__ = ["judging_router"]


def judging_router(notebook: Notebook, judging: Judging) -> APIRouter:
    """Give the routes of results.

    Parameters
    ----------
    notebook : Notebook
        Open.
    judging : Judging
        Whose turn it is.
    """
    router = APIRouter(prefix="/api/tests/{t}", tags=["judging"], route_class=JsonRoute)

    @router.get("/findings", responses={**document(FINDINGS), **problems(404, 409)})
    async def findings(t: TestId) -> Response:
        """Judge a test by the rule, risk and seed of its set-up; what `ballbench judge --json -` says of its files."""
        key = ("findings", t, await to_thread.run_sync(revision_of, notebook, t))
        return json_text(await judging.once(key, lambda: findings_to_json(judge_notebook_test(notebook, t))))

    @router.get("/comparison", responses={**document(COMPARISON), **problems(404, 409)})
    async def comparison(t: TestId, quantity: Word) -> Response:
        """Compare its makes for one quantity; what `ballbench compare --json -` says of its files."""
        key = ("comparison", t, quantity, await to_thread.run_sync(revision_of, notebook, t))
        return json_text(
            await judging.once(key, lambda: comparison_to_json(compare_notebook_test(notebook, t, quantity)))
        )

    return router
