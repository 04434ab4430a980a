from __future__ import annotations

import re
from pathlib import Path

import pytest
from doc_pages import ROOT, pages

_LINK = re.compile(r"!?\[[^\]]*\]\(([^)\s]+)\)")
_FENCED = re.compile(r"^```.*?^```$", re.MULTILINE | re.DOTALL)


def prose(path: Path) -> str:
    """Text of a page without its blocks."""
    return _FENCED.sub("", path.read_text(encoding="utf-8"))


def anchors(path: Path) -> set[str]:
    """Anchors of a page's headings, as code hosts make them: lower case, blanks to hyphens, the rest dropped."""
    heads = re.findall(r"^#+ (.*)$", prose(path), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", head.lower()).replace(" ", "-") for head in heads}


@pytest.mark.parametrize("path", pages(), ids=lambda path: str(path.relative_to(ROOT)))
def test_links_lead_somewhere(path: Path) -> None:
    """Every link is relative and ends at a file of the checkout, and at a heading of it where it names one."""
    for link in _LINK.findall(prose(path)):
        assert ":" not in link, f"{link} leads outside"
        target, _, anchor = link.partition("#")
        file = (path.parent / target).resolve() if target else path
        assert file.is_relative_to(ROOT)
        assert file.exists(), f"{link} leads nowhere"
        assert not anchor or anchor in anchors(file), f"no heading for {link}"


@pytest.mark.parametrize("path", pages(), ids=lambda path: str(path.relative_to(ROOT)))
def test_no_page_holds_a_web_address(path: Path) -> None:
    """Nothing in the documentation needs a network: the only address is the bench's own, on this machine."""
    text = path.read_text(encoding="utf-8").replace("http://127.0.0.1:8475", "")
    assert re.findall(r"\bhttps?:|\bwww\.", text) == []


def test_the_index_leads_to_every_page() -> None:
    """No guide and no method page is left out of the index."""
    index = ROOT / "docs" / "index.md"
    led = {(index.parent / link).resolve() for link in _LINK.findall(prose(index))}
    assert {path for path in (ROOT / "docs").rglob("*.md") if path != index} <= led


def test_a_reader_of_the_readme_finds_every_guide() -> None:
    """The README's map names each guide, the index, the contributor's page and the changelog."""
    readme = ROOT / "README.md"
    led = {(ROOT / link).resolve() for link in _LINK.findall(prose(readme))}
    wanted = [*(ROOT / "docs" / "guides").glob("*.md"), ROOT / "docs" / "index.md"]
    assert {*wanted, ROOT / "CONTRIBUTING.md", ROOT / "CHANGELOG.md", ROOT / "LICENSE"} <= led
