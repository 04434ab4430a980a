"""The decision marks: a ball against a limit line, as numbers, as SVG and as characters.

Wholly inside the line is met, on the line is undecided, beyond it is not met; a hollow dashed ball was not tested. The
word always stands beside the mark; the mark alone is never all that is said.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["HEIGHT", "LINE_X", "MARKS", "WIDTH", "Mark", "mark_characters", "mark_of", "mark_svg"]

WIDTH, HEIGHT, LINE_X, MIDDLE = 44.0, 28.0, 26.0, 14.0


@dataclass(frozen=True, slots=True)
class Mark:
    """One mark in a box of 44 by 28.

    Parameters
    ----------
    ball_x, radius : float
        Where the ball's centre stands, and its radius; the limit line stands at 26.
    filled : bool
        False: a hollow, dashed ball without a line.
    unicode, ascii : str
        Five characters with the line in the middle.
    """

    ball_x: float
    radius: float
    filled: bool
    unicode: str
    ascii: str


MARKS: dict[str, Mark] = {
    "met": Mark(13.0, 7.0, filled=True, unicode="● │  ", ascii="o |  "),
    "undecided": Mark(26.0, 7.0, filled=True, unicode="  ◐  ", ascii=" (|) "),
    "not met": Mark(35.5, 7.0, filled=True, unicode="  │ ●", ascii="  | o"),
    "not tested": Mark(22.0, 7.0, filled=False, unicode="  ◌  ", ascii=" ( ) "),
}


def mark_of(decision: str) -> Mark:
    """Give the mark of a clause's or a product's decision; ``met as far as tested`` has the mark of ``met``."""
    return MARKS["met" if decision.startswith("met") else decision]


def mark_characters(decision: str, *, plain: bool = False) -> str:
    """Give the mark as five characters, in ASCII where the terminal knows no others."""
    mark = mark_of(decision)
    return mark.ascii if plain else mark.unicode


def mark_svg(decision: str, palette: dict[str, str] | None = None) -> str:
    """Draw a mark as SVG without text.

    Parameters
    ----------
    decision : str
        A clause's or a product's decision.
    palette : dict or None
        Colours by token; None: CSS variables, for a page that carries the tokens.
    """
    mark = mark_of(decision)

    def colour(token: str) -> str:
        return palette[token] if palette else f"var(--{token})"

    parts = []
    if mark.filled:
        parts.append(f'<rect x="0" y="3" width="{LINE_X:g}" height="22" rx="3" fill="{colour("band")}"/>')
        parts.append(f'<path d="M{LINE_X:g} 0v{HEIGHT:g}" stroke="{colour("limit")}" stroke-width="2.5"/>')
        parts.append(
            f'<circle cx="{mark.ball_x:g}" cy="{MIDDLE:g}" r="{mark.radius:g}" fill="{colour("ink")}" '
            f'stroke="{colour("card")}" stroke-width="1.5"/>'
        )
    else:
        parts.append(
            f'<circle cx="{mark.ball_x:g}" cy="{MIDDLE:g}" r="{mark.radius:g}" fill="none" stroke="{colour("ink")}" '
            'stroke-width="1.8" stroke-dasharray="3.4 2.6"/>'
        )
    head = f'<svg class="mark" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" width="{WIDTH:g}" height="{HEIGHT:g}"'
    namespace = ' xmlns="http://www.w3.org/2000/svg"' if palette else ""
    return f'{head}{namespace} aria-hidden="true">{"".join(parts)}</svg>'
