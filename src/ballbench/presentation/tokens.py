"""The colours of the house: one ink, one accent, one band, each on light and on dark paper.

Every pair of text and ground keeps a contrast of at least 4.5 to 1, every line that carries meaning at least 3 to 1
(WCAG 2.2, success criteria 1.4.3 and 1.4.11); a test computes both.
"""

from __future__ import annotations

__all__ = ["DARK", "LIGHT", "contrast", "css_tokens"]

LIGHT: dict[str, str] = {
    "paper": "#f7f4ee",
    "card": "#fffdf8",
    "ink": "#1d2530",
    "soft": "#56606d",
    "line": "#d9d3c6",
    "limit": "#4f5a66",
    "accent": "#0b6e6e",
    "band": "#dbe7e1",
    "warn": "#8a4b00",
}
"""Ground, raised ground, text, quiet text, hairline, limit line, the bar of what the balls are, what is
allowed, and what asks to be looked at again."""

DARK: dict[str, str] = {
    "paper": "#14181d",
    "card": "#1b2027",
    "ink": "#ece7dc",
    "soft": "#a9b0b9",
    "line": "#353d47",
    "limit": "#98a1ac",
    "accent": "#5cc9c0",
    "band": "#22372f",
    "warn": "#f0b35e",
}


def css_tokens(palette: dict[str, str]) -> str:
    """Give a palette as CSS custom properties, ``--ink:#1d2530;...``."""
    return "".join(f"--{name}:{colour};" for name, colour in palette.items())


def _luminance(colour: str) -> float:
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Give the contrast ratio of two colours, 1 to 21.

    Parameters
    ----------
    one, other : str
        ``#rrggbb``.

    Returns
    -------
    float
        Never NaN. WCAG 2.2, definitions "contrast ratio" and "relative luminance".
    """
    lighter, darker = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)
