from __future__ import annotations

import shutil
from collections.abc import Iterator
from types import ModuleType
from typing import Any

import pytest

from ballbench.findings.comparisons import Comparison
from ballbench.findings.results import Findings
from ballbench.presentation.screens.progress import left_words, standing_sentences

ELSEWHERE = "--host-resolver-rules=MAP bench.example 127.0.0.1"
"""Another name for this machine, as a phone has one for the computer at the bench (RFC 2606 keeps the name free)."""


@pytest.fixture(scope="module")
def bench(
    bench_server: ModuleType, screens: ModuleType, findings: Findings, comparison: Comparison
) -> Iterator[Any]:  # fmt: skip
    """Made-up pages behind a server of their own."""
    pages = {f"/{name}": page for name, page in screens.every_page(findings, comparison).items()}
    with bench_server.serving(bench_server.Bench(pages)) as running:
        yield running


@pytest.mark.parametrize("width", [1440, 768, 390])
def test_letters_of_a_slips_pictures_are_as_large_as_its_words(browser: Any, bench: Any, width: int) -> None:
    """On every width the largest letters of a picture stay below 1.25 times those of the page's own words."""
    page = browser.new_page(viewport={"width": width, "height": 900})
    page.goto(f"{bench.address}/quick-result")
    words = page.locator(".slip-clause .value").first.bounding_box()["height"]
    lines = page.locator(".slip-clause .value").first.evaluate("e => Math.round(e.getClientRects()[0].height / 24)")
    tallest = page.locator(".slip-clause figure svg text").evaluate_all(
        "all => Math.max(...all.map(one => one.getBoundingClientRect().height))"
    )
    assert tallest <= 1.25 * words / max(lines, 1)
    page.close()


def test_the_way_to_share_is_hidden_where_no_links_can_be_made(browser: Any, bench: Any) -> None:
    """On the machine of the bench home leads to the page Share; under another name, as from a phone, it does not."""
    page = browser.new_page()
    page.goto(f"{bench.address}/home")
    assert page.get_by_role("link", name="Share").is_visible()
    page.close()
    port = bench.address.rpartition(":")[2]
    arguments = ["--no-sandbox", "--disable-gpu", ELSEWHERE]
    other = browser.browser_type.launch(executable_path=shutil.which("chromium"), args=arguments)
    page = other.new_page()
    page.goto(f"http://bench.example:{port}/home")
    assert page.get_by_role("heading", level=1).is_visible()
    assert not page.get_by_role("link", name="Share").is_visible()
    other.close()


def test_readings_and_checks_are_counted_apart(screens: ModuleType) -> None:
    """Reference pieces are no readings of balls, and what is left names both; a test without pieces names none."""
    test = screens.ball_test()
    with_pieces = screens.progress(test, 35, checks_read=2, checks_planned=3)
    assert standing_sentences(with_pieces)[0].startswith("35 of 252 readings, 2 of 3 instrument checks;")
    assert left_words(with_pieces) == "217 readings and 1 instrument check"
    without = screens.progress(test, 251)
    assert standing_sentences(without)[0].startswith("251 of 252 readings;")
    assert left_words(without) == "1 reading"
    assert left_words(screens.progress(test, 252)) == ""
