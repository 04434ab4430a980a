"""Labels and strips for cups on paper."""

from __future__ import annotations

from ballbench.presentation.sheets.ball_code import code_svg
from ballbench.presentation.sheets.ball_labels import BallLabel, LabelSheet
from ballbench.presentation.sheets.paper import printed, shortened
from ballbench.presentation.typst_text import typst_string

__all__ = ["ball_labels_pdf"]

_LONGEST_TITLE = 80


def ball_labels_pdf(sheet: LabelSheet) -> bytes:
    """Write labels, or strips for cups, as PDF.

    Parameters
    ----------
    sheet : LabelSheet
        At least one label.
    """
    pictures = {f"code-{at}.svg": code_svg(one.number) for at, one in enumerate(sheet.labels) if one.code}
    paper = sheet.paper
    calls = [f"#show: labels.with({paper.width}mm, {paper.height}mm, {typst_string(sheet.title)})"]
    for page in range(max(one.page for one in sheet.labels) + 1):
        drawn = "".join(_label(sheet, one, at) for at, one in enumerate(sheet.labels) if one.page == page)
        title = typst_string(f"{shortened(sheet.title, _LONGEST_TITLE)}, {sheet.mark}")
        calls.append(f"#leaf({title}, {typst_string(sheet.words)}, {'true' if sheet.cups else 'false'}, ({drawn}))")
    return printed("ball_labels.typ", "\n".join(calls), pictures)


def _label(sheet: LabelSheet, one: BallLabel, at: int) -> str:
    file = f'"code-{at}.svg"' if one.code else "none"
    kind = "cup" if sheet.cups else "label"
    measures = f"{one.left:.3f}mm, {one.top:.3f}mm, {sheet.width:.3f}mm, {sheet.height:.3f}mm, {one.code:.3f}mm"
    return f"{kind}({typst_string(one.number)}, {typst_string(sheet.mark)}, {file}, {measures}), "
