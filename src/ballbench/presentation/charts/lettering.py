"""How wide text is in the pictures' one typeface, so that labels can be placed before anything is drawn.

The typeface is the sans that the renderer carries with it, on every machine the same; it has the advance widths of the
Adobe core font Helvetica (its published font metrics, in thousandths of the size), which are tabulated here.
"""

from __future__ import annotations

import unicodedata

__all__ = ["FONT", "FONT_STACK", "shorten", "text_width", "tidy"]

FONT = "Liberation Sans"
FONT_STACK = "'Liberation Sans', Arial, Helvetica, sans-serif"

_WIDTHS: dict[str, int] = {}
for _width, _letters in {
    222: "ijl", 191: "'", 260: "|", 278: " !,./:;I[\\]ft", 333: "()-`r", 334: "{}", 355: '"', 389: "*", 469: "^",
    500: "Jckstvxyz", 556: "#$0123456789?L_abdeghnopqu", 584: "+<=>~−", 611: "FTZ", 667: "&ABEKPSVXY",
    722: "CDHNRUw", 778: "GOQ", 833: "Mm", 889: "%", 944: "W", 1000: "…", 1015: "@",
}.items():  # fmt: skip
    _WIDTHS.update(dict.fromkeys(_letters, _width))


def text_width(text: str, size: float) -> float:
    """Give the width of a line of text, px.

    Parameters
    ----------
    text : str
        One line.
    size : float
        Type size, px.

    Returns
    -------
    float
        Exact for printable ASCII; letters outside it count as 0.67 of the size, wide East Asian ones and pictographs
        as 1.2, combining marks as 0.
    """
    return size * sum(_WIDTHS.get(letter, 0) or _outside(letter) for letter in text) / 1000.0


def _outside(letter: str) -> int:
    if unicodedata.combining(letter) or unicodedata.category(letter) in {"Cf", "Cc"}:
        return 0
    return 1200 if unicodedata.east_asian_width(letter) in {"W", "F"} else 667


def tidy(text: str) -> str:
    """Turn line breaks and control characters into single blanks: one line of text."""
    return " ".join("".join(" " if unicodedata.category(c) == "Cc" else c for c in text).split())


def shorten(text: str, size: float, width: float) -> str:
    """Cut a line with an ellipsis so that it is no wider than `width` px; tidied first."""
    line = tidy(text)
    if text_width(line, size) <= width:
        return line
    while line and text_width(line + "…", size) > width:
        line = line[:-1]
    return line.rstrip() + "…"
