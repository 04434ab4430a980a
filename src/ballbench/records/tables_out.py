"""Tables that leave the house, as CSV text and as a workbook."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime

import xlsxwriter

__all__ = ["csv_text", "workbook_bytes"]


def csv_text(columns: Sequence[str], rows: Iterable[Sequence[str]], above: str = "") -> str:
    """Write rows as CSV (RFC 4180, lines ended by a line feed), a line of text above the header where there is one."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    if above:
        writer.writerow([above])
    writer.writerow(columns)
    writer.writerows(rows)
    return text.getvalue()


def workbook_bytes(
    sheet: str, columns: Sequence[str], rows: Iterable[Sequence[str]], numbers: Sequence[str], above: str = ""
) -> bytes:
    """Write rows as an XLSX workbook of one sheet.

    Parameters
    ----------
    sheet : str
        Its name.
    columns : sequence of str
        The header.
    rows : iterable of sequence of str
        Cells as text; no text becomes a formula or a link.
    numbers : sequence of str
        Columns whose cells are written as numbers, shown with the decimals they have; what is no number stays text.
    above : str
        A line above the header; empty: none.
    """
    out = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    with xlsxwriter.Workbook(out, options) as book:
        book.set_properties({"created": datetime(1980, 1, 1, tzinfo=UTC)})  # the same rows give the same bytes
        page = book.add_worksheet(sheet)
        formats: dict[int, object] = {}
        top = 0
        if above:
            page.write_string(0, 0, above)
            top = 1
        for column, name in enumerate(columns):
            page.write_string(top, column, name)
        for line, row in enumerate(rows, top + 1):
            for column, (name, cell) in enumerate(zip(columns, row, strict=True)):
                value = _number(cell) if name in numbers else None
                if value is None:
                    page.write_string(line, column, cell) if cell else None
                    continue
                decimals = len(cell.partition(".")[2])
                shown = formats.setdefault(decimals, book.add_format({"num_format": _format(decimals)}))
                page.write_number(line, column, value, shown)
    return out.getvalue()


def _number(cell: str) -> float | None:
    try:
        return float(cell)
    except ValueError:
        return None


def _format(decimals: int) -> str:
    return "0." + "0" * decimals if decimals else "0"
