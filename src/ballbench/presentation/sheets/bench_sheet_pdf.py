"""The bench sheet on paper."""

from __future__ import annotations

from ballbench.presentation.numbers import with_unit
from ballbench.presentation.sheets.bench_sheet import MARGIN, ROW, BenchSheet, SheetPage, SheetRow
from ballbench.presentation.sheets.paper import printed, shortened
from ballbench.presentation.typst_text import typst_string
from ballbench.presentation.wording import INVENTED, plural

__all__ = ["bench_sheet_pdf"]

_LONGEST_TITLE, _LONGEST_NAME = 110, 60


def bench_sheet_pdf(sheet: BenchSheet) -> bytes:
    """Write a bench sheet as PDF.

    Parameters
    ----------
    sheet : BenchSheet
        At least one page.

    Returns
    -------
    bytes
        As many pages as it has.
    """
    paper = sheet.paper
    calls = [f"#show: sheet.with({paper.width}mm, {paper.height}mm, {MARGIN}mm, {typst_string(sheet.title)})"]
    calls += [_leaf(sheet, page, number) for number, page in enumerate(sheet.pages, 1)]
    return printed("bench_sheet.typ", "\n".join(calls))


def _leaf(sheet: BenchSheet, page: SheetPage, number: int) -> str:
    left_out = f"{plural(sheet.done, 'reading')} already taken, left out" if sheet.done else ""
    asides = [
        sheet.mark,
        "blind" if sheet.blind else "",
        left_out,
        INVENTED[:1].lower() + INVENTED[1:] if sheet.invented else "",
    ]
    heading = {
        "title": typst_string(shortened(sheet.title, _LONGEST_TITLE)),
        "aside": typst_string(", ".join(text for text in asides if text)),
        "count": typst_string(f"page {number} of {len(sheet.pages)}"),
        "what": typst_string(_capital(shortened(page.words, _LONGEST_NAME))),
        "tool": typst_string(_tool_words(page)),
        "unit": typst_string("yes or no" if page.yes_no else with_unit("reading", page.unit).replace(" ", " in ")),
    }
    shape = f"yes-no: {_flag(page.yes_no)}, signed: {_flag(page.signed)}, decimals: {page.decimals}, row: {ROW}mm"
    rows = "".join(_row(row) for row in page.rows)
    foot = "".join(f"{typst_string(line)}, " for line in sheet.foot_of(page))
    named = ", ".join(f"{name}: {value}" for name, value in heading.items())
    return f"#leaf({named}, {shape}, foot: ({foot}), foot-height: {sheet.foot_height(page):.1f}mm, rows: ({rows}))"


def _row(row: SheetRow) -> str:
    place = f"check, {row.place}" if row.kind == "piece" else row.place
    texts = (row.who, shortened(place, _LONGEST_NAME), row.repeat)
    return f'({row.number}, "{row.kind}", {_flag(row.new)}, {", ".join(typst_string(text) for text in texts)}), '


def _tool_words(page: SheetPage) -> str:
    if page.yes_no:
        return page.instrument or "seen, not measured"
    return (
        f"{shortened(page.instrument, _LONGEST_NAME) or 'instrument'}, shows steps of {with_unit(page.step, page.unit)}"
    )


def _flag(value: bool) -> str:
    return "true" if value else "false"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
