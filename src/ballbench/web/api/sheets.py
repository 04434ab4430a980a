"""Paper of a test: its bench sheet, labels of its balls, strips for their cups."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

from fastapi import APIRouter, Query
from starlette.responses import Response

from ballbench.presentation.sheets.label_format import CupStrip, LabelFormat
from ballbench.web.api.acts import TestId, Word
from ballbench.web.api.answers import problems
from ballbench.workflows.sheets import ball_labels, bench_sheet, cup_strips

if TYPE_CHECKING:
    from ballbench.workflows.opening import Notebook

__all__ = ["sheets_router"]

_PDF: dict[int | str, dict[str, Any]] = {200: {"description": "A PDF.", "content": {"application/pdf": {}}}}
_USUAL, _STRIP = LabelFormat(), CupStrip()
_Mm = Annotated[float, Query(allow_inf_nan=False, description="Millimetres.")]


def sheets_router(notebook: Notebook) -> APIRouter:
    """Give the routes of paper."""
    router = APIRouter(prefix="/api/tests/{t}", tags=["sheets"], default_response_class=Response)

    @router.get("/bench-sheet.pdf", response_class=Response, responses={**_PDF, **problems(404, 409)})
    def sheet(t: TestId, paper: Word = _USUAL.paper) -> Response:
        """Give the sheet to write readings on, in the order in which it is typed in; `paper` is a4 or letter."""
        return _pdf(bench_sheet(notebook, t, paper), f"test-{t}-bench-sheet.pdf")

    @router.get("/labels.pdf", response_class=Response, responses={**_PDF, **problems(404)})
    def labels(
        t: TestId,
        paper: Word = _USUAL.paper,
        columns: int = _USUAL.columns,
        rows: int = _USUAL.rows,
        width: _Mm = _USUAL.width,
        height: _Mm = _USUAL.height,
        left: _Mm = _USUAL.left,
        top: _Mm = _USUAL.top,
        gap_across: _Mm = _USUAL.gap_across,
        gap_down: _Mm = _USUAL.gap_down,
        first: int = _USUAL.first,
    ) -> Response:
        """Give labels with the balls' numbers, laid out as the sheet of labels was measured."""
        wanted = LabelFormat(paper, columns, rows, width, height, left, top, gap_across, gap_down, first)
        return _pdf(ball_labels(notebook, t, wanted), f"test-{t}-labels.pdf")

    @router.get("/cup-strips.pdf", response_class=Response, responses={**_PDF, **problems(404)})
    def strips(t: TestId, paper: Word = _STRIP.paper, pitch: _Mm = _STRIP.pitch) -> Response:
        """Give strips to cut out and lay under ball cups that stand `pitch` mm apart."""
        return _pdf(cup_strips(notebook, t, CupStrip(paper, pitch)), f"test-{t}-cup-strips.pdf")

    return router


def _pdf(content: bytes, name: str) -> Response:
    """Answer with a PDF that a browser shows."""
    headers = {"Content-Disposition": f'inline; filename="{name}"'}
    return Response(content, headers=headers, media_type="application/pdf")
