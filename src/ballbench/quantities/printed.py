"""Numbers and counts as sentences have them: a true minus sign, a sign where it tells something, a noun that agrees."""

from __future__ import annotations

from ballbench.quantities.rounding import format_value

__all__ = ["number", "plural", "span_words", "with_sign"]


def number(value: float, decimals: int) -> str:
    """Print a number with a true minus sign; see `format_value` for NaN, infinities and negative decimals."""
    return format_value(value, decimals).replace("-", "−")


def with_sign(value: float, decimals: int) -> str:
    """Print a number with its sign, ``"+0.03"``; one that rounds to nothing has none."""
    text = number(value, decimals)
    return f"+{text}" if value > 0.0 and text.strip("0.") else text


def span_words(low: float, high: float, decimals: int) -> str:
    """Print two ends, ``"−0.02 to 0.05"``."""
    return f"{number(low, decimals)} to {number(high, decimals)}"


def plural(count: int, one: str, many: str | None = None) -> str:
    """Print a count with its noun, ``"1 ball"``, ``"24 balls"``."""
    return f"{count} {one if count == 1 else (many or one + 's')}"
