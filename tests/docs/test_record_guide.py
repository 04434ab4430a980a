from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import pytest
from doc_pages import flat, page

from ballbench.presentation.screens.recorded_page import recorded_html, recordings_html
from ballbench.presentation.screens.static_files import static_file
from ballbench.web.decoding import _AT_ONCE, _PATIENCE_S
from ballbench.web.settings import Settings
from ballbench.workflows.opening import Notebook, open_notebook
from ballbench.workflows.recorded.pages import recorded_page, recordings_page
from ballbench.workflows.recording_list import WORKED_OUT
from ballbench.workflows.set_up import BoxPlan, InstrumentPlan, MakePlan, QuantityPlan, SetUp, set_up_test

GUIDE = page("docs/guides/record.md")


@pytest.fixture
def notebook(tmp_path: Path) -> Iterator[Notebook]:
    """A notebook with a test that reads rebound and the form of the outline."""
    opened = open_notebook(tmp_path)
    request = SetUp(
        "k", "c", "E", "2026-11-28T10:00:00+00:00", "golf", (MakePlan("Curlew", (BoxPlan("C-1", 2),)),),
        (QuantityPlan("rebound", (), 1, "phone"), QuantityPlan("outline_form", (), 1, "camera")),
        (InstrumentPlan("phone", "rebound", "mm", 1.0), InstrumentPlan("camera", "outline_form", "mm", 0.001)),
        invented=True,
    )  # fmt: skip
    set_up_test(opened, request)
    yield opened
    opened.close()


def test_the_guide_names_what_stands_on_the_pages(notebook: Notebook) -> None:
    """Each word in bold is on a page of recordings, in its scripts, on the first page, or at the bench."""
    root = Path(__file__).parents[2] / "src" / "ballbench" / "presentation" / "screens"
    pages = [recordings_html(recordings_page(notebook, 1)), recorded_html(recorded_page("listen"))]
    scripts = [static_file(f"recorded/{name}.js") for name in ("pick_editor", "of_test")]
    templates = [(root / "templates" / f"{name}.html.j2").read_text("utf-8") for name in ("home", "measure")]
    text = " ".join([*pages, *(one.content.decode() for one in scripts if one is not None), *templates])
    said = " ".join(unescape(text).split())
    words = {word for word in re.findall(r"\*\*([^*]+)\*\*", flat(GUIDE)) if word != "Caution."}
    assert len(words) > 12
    assert {word for word in words if word not in said} == set()


def test_the_guide_names_the_keys_of_the_editor() -> None:
    """Each key of its table is one that the script listens to, and each step in time is the script's."""
    script = static_file("recorded/picks.js")
    editor = static_file("recorded/pick_editor.js")
    assert script is not None
    assert editor is not None
    text = script.content.decode() + editor.content.decode()
    for words, key in (("arrow keys", "ArrowLeft"), ("Page Up", "PageUp"), ("Home, End", '"Home"'), ("| A |", '"a"')):
        assert words in GUIDE
        assert key in text
    assert "FINE_S = 0.0001" in text
    assert "COARSE_S = 0.001" in text
    assert "LEAP_S = 0.01;" in text
    assert "0.1 ms earlier or later; with shift 1 ms" in GUIDE


def test_the_guide_names_the_bounds_and_the_columns() -> None:
    """Two at a time, 90 s, 64 MiB on the page too, and the columns that say how a reading came out of a recording."""
    sending = static_file("recorded/sending.js")
    assert sending is not None
    assert Settings(frozenset()).upload_bytes == 64 * 1024**2
    assert "MOST_BYTES = 64 * 1024 * 1024 - 8192" in sending.content.decode()
    assert "Up to 64 MiB" in GUIDE
    assert (_AT_ONCE, _PATIENCE_S) == (2, 90.0)
    assert "Two recordings are read at a time, each for 90 s at most" in flat(GUIDE)
    for column in WORKED_OUT:
        assert f"`{column}`" in GUIDE
