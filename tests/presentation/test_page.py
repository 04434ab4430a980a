from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from ballbench.findings.comparisons import Comparison
from ballbench.findings.results import Findings
from ballbench.presentation.document import Figure, walk
from ballbench.presentation.page import page_html
from ballbench.presentation.report import comparison_document, findings_document
from ballbench.presentation.tokens import contrast


@pytest.fixture(scope="module")
def page(findings: Findings) -> str:
    return page_html(findings_document(findings))


class _Tree(HTMLParser):
    """Collects tags with their attributes, and complains of tags closed out of order."""

    void = frozenset({"meta", "br", "img", "path", "rect", "circle", "line"})

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in self.void:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        if tag not in self.void:
            assert self.open.pop() == tag


def _parse(page: str) -> _Tree:
    tree = _Tree()
    tree.feed(page)
    assert tree.open == []
    return tree


def test_page_loads_nothing(page: str, comparison: Comparison) -> None:
    """There is no address, no script, no link to a file and no import in the page."""
    for text in (page, page_html(comparison_document(comparison))):
        assert "http:" not in text
        assert "https:" not in text
        assert "//" not in text
        assert "url(" not in text
        assert "@import" not in text
        tags = {tag for tag, _ in _parse(text).tags}
        assert not tags & {"script", "link", "img", "iframe", "object", "embed", "base", "use"}


def test_links_lead_to_places_on_the_page(page: str) -> None:
    """Every link leads to an anchor that exists, once."""
    tags = _parse(page).tags
    anchors = [attrs["id"] for _, attrs in tags if "id" in attrs]
    links = [attrs["href"] for tag, attrs in tags if tag == "a"]
    assert links == ["#product-1", "#product-2", "#product-3"]
    assert len(anchors) == len(set(anchors))
    assert {f"#{anchor}" for anchor in anchors} >= set(links)


def test_every_picture_on_the_page_has_words_and_a_table(page: str, findings: Findings) -> None:
    """Each figure's SVG is an image with a label, and its numbers stand in a table with heads."""
    figures = walk(findings_document(findings), Figure)
    tags = _parse(page).tags
    images = [attrs for tag, attrs in tags if tag == "svg" and attrs.get("role") == "img"]
    assert len(images) == len(figures)
    assert all(image["aria-label"] for image in images)
    assert all(attrs.get("aria-hidden") == "true" for tag, attrs in tags if tag == "svg" and attrs.get("role") != "img")
    tables = sum(tag == "table" for tag, _ in tags)
    assert tables >= len(figures)
    assert sum(tag == "caption" for tag, _ in tags) == tables


def test_headings_go_down_one_level_at_a_time(page: str) -> None:
    """One heading of level 1, and none skips a level (WCAG 2.2, 1.3.1)."""
    levels = [int(tag[1]) for tag, _ in _parse(page).tags if re.fullmatch(r"h[1-6]", tag)]
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))


def test_names_are_never_markup(findings: Findings, example: ModuleType) -> None:
    """A product called <script> and worse is shown, not run."""
    name = "<script>alert(1)</script>\" onload='x' {{ 7*7 }} & co"
    odd = replace(
        findings,
        products=(example.product(name, "not met"), example.product(name)),
        requirement=replace(findings.requirement, title="<img src=x>"),
    )
    text = page_html(findings_document(odd))
    tags = _parse(text).tags
    assert not {tag for tag, _ in tags} & {"script", "img"}
    assert not any("onload" in attrs for _, attrs in tags)
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in text
    assert "{{ 7*7 }}" in text


def test_invented_data_are_called_so_on_the_page(page: str, findings: Findings) -> None:
    """The line stands on the page where data are invented, and nowhere where they are not."""
    assert page.count("Invented data, for demonstration") > 20
    real = page_html(findings_document(replace(findings, footing=replace(findings.footing, invented=False))))
    assert "Invented data" not in real


def test_numbers_keep_their_units_on_the_line(page: str) -> None:
    """A blank that does not break stands between a number and its unit."""
    assert "40.22\u00a0mm" in page
    assert "78\u00a0%" in page


# In a browser -----------------------------------------------------------------------------------------------------


_OPEN = "document.querySelectorAll('details').forEach(d => d.open = true)"
_SIDEWAYS = """() => {
  const wide = document.documentElement.clientWidth;
  const out = [...document.querySelectorAll('body *')].filter(e => {
    const box = e.getBoundingClientRect();
    return box.width > 1 && box.right > wide + 1 && !e.closest('thead');
  });
  return [document.documentElement.scrollWidth - wide, out.slice(0, 5).map(e => e.outerHTML.slice(0, 90))];
}"""
_COLOURS = """() => {
  const ground = e => {
    for (; e; e = e.parentElement) {
      const c = getComputedStyle(e).backgroundColor;
      if (c !== 'rgba(0, 0, 0, 0)') return c;
    }
    return 'rgb(255, 255, 255)';
  };
  const pairs = new Set();
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const e = walker.currentNode.parentElement;
    if (!walker.currentNode.data.trim() || !e.getClientRects().length) continue;
    const style = getComputedStyle(e);
    const behind = ground(e), ink = getComputedStyle(document.body).color;
    const text = e.closest('svg') ? style.fill : style.color;
    pairs.add(text + '|' + (e.closest('svg') && text === behind ? ink : behind));  // a number on a filled ball
  }
  return [...pairs];
}"""
_COVERED = """() => [...document.querySelectorAll('.decision')].filter(block => {
  const boxes = [...block.children].filter(e => e.tagName !== 'svg').map(e => e.getBoundingClientRect());
  return boxes.some((a, i) => boxes.slice(i + 1).some(b =>
    Math.min(a.right, b.right) - Math.max(a.left, b.left) > 1
    && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 1));
}).length"""
_SMALLEST = """() => Math.min(...[...document.querySelectorAll('svg.chart text')].filter(t => t.getClientRects().length)
  .map(t => parseFloat(getComputedStyle(t).fontSize) * t.getScreenCTM().a))"""


def _hex(colour: str) -> str:
    return "#" + "".join(f"{int(part):02x}" for part in re.findall(r"\d+", colour)[:3])


@pytest.fixture(scope="module")
def written(findings: Findings, comparison: Comparison, example: ModuleType) -> dict[str, str]:
    odd = replace(findings, products=(*findings.products, example.product("Unbreakablename" * 12)))
    documents = {"judged": findings_document(odd), "compared": comparison_document(comparison)}
    return {name: page_html(document) for name, document in documents.items()}


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1440])
def test_page_in_a_browser(browser: Any, tmp_path: Path, written: dict[str, str], scheme: str, width: int) -> None:
    """At 390 and 1440 px nothing scrolls sideways or covers other parts, chart text is 11 px up, contrast is AA."""
    for name, page in written.items():
        file = tmp_path / f"{name}.html"
        file.write_text(page, encoding="utf-8")
        tab = browser.new_page(viewport={"width": width, "height": 800}, color_scheme=scheme)
        asked: list[str] = []
        tab.on("request", lambda request, asked=asked: asked.append(request.url))
        faults: list[str] = []
        tab.on("console", lambda message, faults=faults: faults.append(message.text))
        tab.goto(file.as_uri())
        assert tab.evaluate(_COVERED) == 0
        tab.evaluate(_OPEN)
        assert tab.evaluate(_COVERED) == 0
        assert tab.evaluate(_SIDEWAYS) == [0, []]
        assert tab.evaluate(_SMALLEST) >= 11.0
        pairs = [pair.split("|") for pair in tab.evaluate(_COLOURS)]
        assert len(pairs) >= 4
        for text, ground in pairs:
            assert contrast(_hex(text), _hex(ground)) >= 4.5, (text, ground)
        assert asked == [file.as_uri()]
        assert faults == []
        tab.close()
