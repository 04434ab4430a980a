"""Read a printed sheet back with other programs: words where they stand, pixels, and the codes of balls."""

from __future__ import annotations

import re
import shutil
import subprocess
from dataclasses import dataclass
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import numpy.typing as npt
import pytest

__all__ = ["MM", "Word", "code_read", "pixels_of", "text_of", "words_of"]

MM = 72.0 / 25.4
"""Points a millimetre."""

_MASKS = (
    lambda i, j: (i + j) % 2 == 0, lambda i, _: i % 2 == 0, lambda _, j: j % 3 == 0, lambda i, j: (i + j) % 3 == 0,
    lambda i, j: (i // 2 + j // 3) % 2 == 0, lambda i, j: i * j % 2 + i * j % 3 == 0,
    lambda i, j: (i * j % 2 + i * j % 3) % 2 == 0, lambda i, j: ((i + j) % 2 + i * j % 3) % 2 == 0,
)  # fmt: skip
"""ISO/IEC 18004, the table of data mask patterns."""


@dataclass(frozen=True, slots=True)
class Word:
    """A word of a page, in millimetres from the page's upper left corner."""

    page: int
    text: str
    left: float
    top: float
    right: float
    bottom: float


def _run(name: str, *options: str) -> bytes:
    if shutil.which(name) is None:
        pytest.skip(f"LEFT OUT: no {name} (poppler-utils) on this machine, so the printed sheet was not read back")
    return subprocess.run([name, *options], capture_output=True, check=True).stdout


def text_of(pdf: bytes, folder: Path) -> list[str]:
    """The text of each page as it is laid out."""
    (folder / "made.pdf").write_bytes(pdf)
    text = _run("pdftotext", "-layout", str(folder / "made.pdf"), "-").decode("utf-8")
    return text.replace("\u200b", "").split("\f")[:-1]


def words_of(pdf: bytes, folder: Path) -> list[Word]:
    """Every word and where it stands."""
    (folder / "made.pdf").write_bytes(pdf)
    told = _run("pdftotext", "-bbox", str(folder / "made.pdf"), "-").decode("utf-8")
    pages = ET.fromstring(re.sub(r' xmlns="[^"]*"', "", told)).iter("page")  # noqa: S314 - made here
    return [
        Word(number, str(word.text), *(float(word.attrib[side]) / MM for side in ("xMin", "yMin", "xMax", "yMax")))
        for number, page in enumerate(pages)
        for word in page.iter("word")
    ]


def pixels_of(pdf: bytes, folder: Path, page: int, dpi: int) -> npt.NDArray[np.uint8]:
    """A page as grey values, rows from the top."""
    (folder / "made.pdf").write_bytes(pdf)
    at = str(page + 1)
    raw = _run("pdftoppm", "-gray", "-r", str(dpi), "-f", at, "-l", at, str(folder / "made.pdf"))
    head = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", raw)
    assert head is not None
    return np.frombuffer(raw[head.end() :], dtype=np.uint8).reshape(int(head[2]), int(head[1]))


def code_read(picture: npt.NDArray[np.uint8]) -> str:
    """The text of a code of 21 by 21 modules in byte mode (ISO/IEC 18004), damage not mended."""
    dark = picture < 128
    rows, columns = (np.flatnonzero(dark.any(axis=axis)) for axis in (1, 0))
    tall, wide = rows[-1] + 1 - rows[0], columns[-1] + 1 - columns[0]
    down = rows[0] + ((np.arange(21) + 0.5) * tall / 21).astype(int)
    across = columns[0] + ((np.arange(21) + 0.5) * wide / 21).astype(int)
    modules = dark[np.ix_(down, across)]
    finder = np.pad(np.ones((3, 3), bool), 1)
    finder = np.pad(np.pad(finder, 0), 1, constant_values=True)
    for corner in (modules[:7, :7], modules[:7, 14:], modules[14:, :7]):
        assert (corner == finder).all()
    bits = [*(modules[8, j] for j in (0, 1, 2, 3, 4, 5, 7, 8)), *(modules[i, 8] for i in (7, 5, 4, 3, 2, 1, 0))]
    told = int("".join(str(int(bit)) for bit in bits), 2) ^ 0b101010000010010
    return _text(modules, _MASKS[told >> 10 & 7])


def _text(modules: npt.NDArray[np.bool_], masked: object) -> str:
    """Unmask, read up and down in pairs of columns from the right, and take mode, count and letters off the front."""
    stream = []
    upward = True
    for right in (20, 18, 16, 14, 12, 10, 8, 5, 3, 1):
        for i in range(20, -1, -1) if upward else range(21):
            for j in (right, right - 1):
                if (i <= 8 and (j <= 8 or j >= 13)) or (i >= 13 and j <= 8) or i == 6 or j == 6:
                    continue
                stream.append(str(int(modules[i, j] ^ masked(i, j))))  # type: ignore[operator]
        upward = not upward
    bits = "".join(stream)
    assert bits[:4] == "0100", "byte mode"
    count = int(bits[4:12], 2)
    return bytes(int(bits[at : at + 8], 2) for at in range(12, 12 + 8 * count, 8)).decode("latin-1")
