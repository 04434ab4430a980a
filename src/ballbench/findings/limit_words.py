"""The limits of a clause in words, as every sentence about one has them."""

from __future__ import annotations

from ballbench.specs import Limit

__all__ = ["allowed_words"]


def allowed_words(lower: Limit | None, upper: Limit | None) -> str:
    """Say between what a value must lie, ``"at least 240 mm and at most 260 mm"``; empty where there is no limit."""
    return " and ".join(
        f"{side} {limit.text} {limit.unit}".removesuffix(" 1").replace("-", "−")
        for side, limit in (("at least", lower), ("at most", upper))
        if limit is not None
    )
