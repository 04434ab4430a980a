"""Trays in a row: one quantity of a box over its tests, every ball a dot in each, laid out but not yet drawn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ballbench.presentation.charts.layout import stack_specks
from ballbench.presentation.charts.value_axis import span_axis

__all__ = ["BoxPicture", "Tray", "TrayDot", "TrayTick", "box_picture"]

MOST_TRAYS = 5
"""Beyond that dates no longer fit beside each other; the latest are shown (own choice)."""

_WIDE, _TOP, _BOTTOM = 336.0, 20.0, 210.0
_LEFT, _GAP, _DOT = 58.0, 8.0, 4.2
_MOST_BESIDE = 4  # dots of almost the same value stand beside each other up to here, then on each other (own choice)


@dataclass(frozen=True, slots=True)
class TrayDot:
    """A ball in one test: its number in the notebook, its value, and its place in the picture."""

    ball: int
    value: float
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class TrayTick:
    """A printed value, and its height in the picture."""

    text: str
    y: float


@dataclass(frozen=True, slots=True)
class Tray:
    """One test.

    Parameters
    ----------
    left, wide, middle : float
        Of its tray in the picture.
    dots : tuple of TrayDot
        Its balls.
    level : float
        Height of their mean.
    mean : float
        In the base unit.
    """

    left: float
    wide: float
    middle: float
    dots: tuple[TrayDot, ...]
    level: float
    mean: float


@dataclass(frozen=True, slots=True)
class BoxPicture:
    """A picture of width 336.

    Parameters
    ----------
    trays : tuple of Tray
        From the oldest test to the latest.
    threads : tuple of str
        SVG paths, each from a ball in one tray to the same ball in the next tray that has it.
    ticks : tuple of TrayTick
        Of the values.
    top, bottom : float
        Between what the trays stand.
    left_out : int
        Earlier tests that are not shown.
    """

    trays: tuple[Tray, ...]
    threads: tuple[str, ...]
    ticks: tuple[TrayTick, ...]
    top: float
    bottom: float
    left_out: int


def box_picture(tests: Sequence[Sequence[tuple[int, float]]], unit: str) -> BoxPicture | None:
    """Lay out the trays.

    Parameters
    ----------
    tests : sequence of sequences of (int, float)
        For each test, oldest first, the balls that it read, with the mean of each in `unit`; none of them empty.
    unit : str
        Of the values.

    Returns
    -------
    BoxPicture or None
        None without tests.
    """
    shown = list(tests)[-MOST_TRAYS:]
    if not shown:
        return None
    axis = span_axis("", unit, [value for test in shown for _, value in test], ticked=True)

    def height(value: float) -> float:
        return _BOTTOM - (value - axis.low) / (axis.high - axis.low) * (_BOTTOM - _TOP)

    wide = min((_WIDE - _LEFT - _GAP * (len(shown) - 1)) / len(shown), 120.0)
    trays = []
    for number, test in enumerate(shown):
        left = _LEFT + number * (wide + _GAP)
        middle = left + wide / 2.0
        heights = [height(value) for _, value in test]
        across = [_beside(level, wide) for level in stack_specks(heights, 2.0 * _DOT)]
        dots = tuple(
            TrayDot(ball, value, middle + x, y) for (ball, value), x, y in zip(test, across, heights, strict=True)
        )
        mean = sum(value for _, value in test) / len(test)
        trays.append(Tray(left, wide, middle, dots, height(mean), mean))
    ticks = tuple(TrayTick(tick.text, height(tick.value)) for tick in axis.ticks)
    return BoxPicture(tuple(trays), _threads(trays), ticks, _TOP - 8.0, _BOTTOM + 8.0, len(tests) - len(shown))


def _beside(level: int, wide: float) -> float:
    """Give how far right of the middle the dot of a level stands: 0, then to both sides in turn."""
    step = min(2.0 * _DOT, (wide / 2.0 - _DOT - 3.0) * 2.0 / _MOST_BESIDE)
    place = level % (_MOST_BESIDE + 1)
    return step * ((place + 1) // 2) * (1.0 if place % 2 else -1.0)


def _threads(trays: Sequence[Tray]) -> tuple[str, ...]:
    last: dict[int, TrayDot] = {}
    threads = []
    for tray in trays:
        for dot in tray.dots:
            before = last.get(dot.ball)
            if before is not None:
                threads.append(f"M{before.x:.1f} {before.y:.1f}L{dot.x:.1f} {dot.y:.1f}")
            last[dot.ball] = dot
    return tuple(threads)
