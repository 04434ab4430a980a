"""The pages of the documentation, taken apart into their blocks, tables and links."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

__all__ = ["ROOT", "Block", "blocks", "flat", "page", "pages", "quoted_words", "section"]

ROOT = Path(__file__).resolve().parents[2]
_BLOCK = re.compile(r"^```(?P<info>[^`\n]*)\n(?P<text>.*?)^```$", re.MULTILINE | re.DOTALL)


@dataclass(frozen=True, slots=True)
class Block:
    """A fenced block: its language, its further marks such as ``file=box.csv``, its text."""

    language: str
    marks: dict[str, str]
    text: str


def pages() -> list[Path]:
    """Every page that a reader may open, README first."""
    top = [ROOT / name for name in ("README.md", "CHANGELOG.md", "CONTRIBUTING.md")]
    return [*top, *sorted((ROOT / "docs").rglob("*.md"))]


def page(name: str) -> str:
    """Give the text of a page by its path from the root."""
    return (ROOT / name).read_text(encoding="utf-8")


def flat(text: str) -> str:
    """Give a text with its line breaks and runs of blanks as single blanks."""
    return " ".join(text.split())


def blocks(text: str) -> list[Block]:
    """Give the fenced blocks of a page in order."""
    found = []
    for match in _BLOCK.finditer(text):
        language, *marks = match["info"].split()
        pairs = (mark.partition("=") for mark in marks)
        found.append(Block(language, {key: value for key, _, value in pairs}, match["text"]))
    return found


def section(text: str, heading: str) -> str:
    """Give what stands under a heading of the second level, its lower headings included."""
    _, found, rest = text.partition(f"\n## {heading}\n")
    assert found, f"no heading {heading}"
    return rest.partition("\n## ")[0]


def quoted_words(text: str) -> set[str]:
    """Give what stands between backticks in the rows of tables."""
    rows = [line for line in text.splitlines() if line.startswith("|")]
    return set(re.findall(r"`([^`]+)`", "\n".join(rows)))
