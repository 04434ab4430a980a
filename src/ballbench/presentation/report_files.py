"""A report on disk: the page and the PDF of one document, side by side."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from ballbench.presentation.document import Document
from ballbench.presentation.whole_files import write_whole

if TYPE_CHECKING:
    from ballbench.presentation.charts.rendering import Picture

__all__ = ["ReportFiles", "write_report"]


@dataclass(frozen=True, slots=True)
class ReportFiles:
    """Where a report was written."""

    page: Path
    pdf: Path


def write_report(document: Document, folder: Path, name: str) -> ReportFiles:
    """Write a document as a page and as a PDF, both or none; every picture is drawn once for both.

    Parameters
    ----------
    document : Document
        The report.
    folder : Path
        Made when it is missing.
    name : str
        File name without ending; files of that name are replaced.

    Returns
    -------
    ReportFiles
        ``name.html`` and ``name.pdf`` in `folder`.
    """
    from ballbench.presentation.page import page_html  # noqa: PLC0415  (templates are loaded when a page is written)
    from ballbench.presentation.pdf import pdf_bytes  # noqa: PLC0415  (the typesetter likewise)

    pictures: dict[int, Picture] = {}
    files = ReportFiles(folder / f"{name}.html", folder / f"{name}.pdf")
    contents = {
        files.page: page_html(document, pictures).encode(errors="backslashreplace"),
        files.pdf: pdf_bytes(document, pictures),
    }
    folder.mkdir(parents=True, exist_ok=True)
    write_whole(contents)
    return files
