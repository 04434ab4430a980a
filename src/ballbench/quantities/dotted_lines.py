"""Lines with so many dots that a TOML file would take all memory: a table is nested for every dot of a key."""

from __future__ import annotations

__all__ = ["MOST_DOTS", "dotted_line"]

MOST_DOTS = 200
"""In one line; a requirement or a bench nests three tables (own choice)."""


def dotted_line(text: str) -> int | None:
    """Give the first line of a TOML text that has more than `MOST_DOTS` dots, from 1; None: there is none.

    Lines end as TOML has them, at a line feed (TOML 1.0.0, "Spec"): a quoted key may hold any other separator.
    """
    return next((number for number, line in enumerate(text.split("\n"), 1) if line.count(".") > MOST_DOTS), None)
