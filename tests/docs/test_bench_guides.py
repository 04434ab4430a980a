from __future__ import annotations

import re
from pathlib import Path

import pytest
from doc_pages import ROOT, flat, page, quoted_words, section
from platformdirs.macos import MacOS
from platformdirs.unix import Unix

from ballbench.findings.settling import MINUTES_A_READING
from ballbench.store.opening import FILE
from ballbench.web.addresses import FIRST_PORT
from ballbench.web.pairing import LINK_S
from ballbench.web.settings import Settings
from ballbench.workflows.exchange import FILES
from ballbench.workflows.measure import SPOILED_REASONS
from ballbench.workflows.set_up_check import MOST_BALLS

SET_UP, MEASURE, KEEP = (page(f"docs/guides/{name}.md") for name in ("set-up", "measure", "keep"))
SOURCE = ROOT / "src" / "ballbench"

SHOWN = {
    "set-up": ("Set up a test", "The data are invented", "Bought or given", "Blind", "Open", "Set it up"),
    "measure": (
        "Measure", "Go on measuring", "Bench", "kept", "This box so far", "Take back", "Later", "Zeroed", "Spoiled",
        "Read a ball once more", "Instrument check now", "Air and balls", "Which ball is this?", "from a paper sheet",
        "typed from a paper sheet", "not listening: tap here", "This device", "Finish the test", "Share", "Corrections",
    ),
    "correct": (
        "Corrections, exclusions and history", "In doubt after a failed instrument check", "Asked about and still open",
        "Every reading", "History", "Change", "Keep as read",
    ),
    "judge": ("Judge", "Corrections"),
    "compare": ("Compare",),
    "quick-check": ("Quick check", "Requirement", "Which ball", "Display step", "Readings", "Note", "Decide"),
    "keep": ("Past tests", "Home", "Take in a readings file", "Try the invented winter league"),
}  # fmt: skip
"""Words of the screens that a guide prints in bold."""


@pytest.fixture(scope="module")
def screens() -> str:
    """All text of the pages: templates, scripts and what writes them, without tags."""
    folders = [SOURCE / "presentation" / "screens", SOURCE / "web"]
    files = [path for folder in folders for path in folder.rglob("*") if path.suffix in {".py", ".js", ".j2"}]
    return flat(re.sub(r"<[^>]+>", "", " ".join(path.read_text(encoding="utf-8") for path in files)))


@pytest.mark.parametrize("guide", SHOWN)
def test_words_of_the_screens_stand_on_the_screens(guide: str, screens: str) -> None:
    """What a guide prints in bold as a word of a page is a word of a page."""
    bold = {flat(words) for words in re.findall(r"\*\*(.+?)\*\*", page(f"docs/guides/{guide}.md"), re.DOTALL)}
    for words in SHOWN[guide]:
        assert words in bold
        assert words in screens


def test_the_guide_gives_every_reason_for_a_spoiled_attempt() -> None:
    """In the order in which the bench numbers them."""
    assert f"The reasons are: {', '.join(SPOILED_REASONS)}." in flat(MEASURE)


def test_the_guide_lists_every_file_and_no_other() -> None:
    """Its table of files is what the page of a test offers."""
    rows = re.findall(r"^\| `([\w.]+)` \|", section(KEEP, "Files to take away"), re.MULTILINE)
    assert tuple(rows) == FILES


def test_the_guide_names_the_folders_of_the_notebook() -> None:
    """On Linux and macOS as platformdirs gives them for a home without settings of its own."""
    words = quoted_words(section(KEEP, "Where it is"))
    for system in (Unix, MacOS):
        folder = Path(system("ballbench", appauthor=False).user_data_dir) / "notebook"
        shown = {str(Path(word).expanduser()) for word in words if word.startswith("~")}
        assert str(folder) in shown, folder
    assert f"`{FILE}`" in KEEP


def test_numbers_of_the_guides_are_those_of_the_program() -> None:
    """Balls of a test, seconds of a reading, port, minutes of a link, seconds until others see it."""
    assert f"A test takes up to {MOST_BALLS} balls." in flat(SET_UP)
    assert f"at {60 * MINUTES_A_READING:.0f} s a reading (own choice)" in flat(SET_UP)
    assert f"the first free one from {FIRST_PORT} up" in flat(KEEP)
    assert LINK_S == 600.0
    assert "once, within ten minutes" in flat(MEASURE)
    assert Settings(frozenset()).poll_s == 5.0
    assert "within five seconds" in flat(KEEP)
