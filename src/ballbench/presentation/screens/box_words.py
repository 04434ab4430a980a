"""The words of a box: what it is called, and where it comes from."""

from __future__ import annotations

from ballbench.presentation.screens.moments import day_words
from ballbench.records.ball_test import Box

__all__ = ["bought_words", "box_name"]


def box_name(box: Box) -> str:
    """Name a box by its make and its label, ``"Curlew, C-1"``; one that came with a file may have no label."""
    return f"{box.make}, {box.label}" if box.label else f"{box.make}, box without a name"


def bought_words(box: Box) -> str:
    """Say when and where a box was bought and for how much, or who gave it."""
    if box.given_by:
        return f"given by {box.given_by}"
    parts = (
        f"bought {day_words(box.bought)}" if box.bought else "", f"at {box.where}" if box.where else "",
        f"for {box.price}" if box.price else "",
    )  # fmt: skip
    return ", ".join(part for part in parts if part) or "not said when and where it was bought"
