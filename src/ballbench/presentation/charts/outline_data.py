"""What the pictures of an outline show, as plain data: the magnified skin, and the edge that was picked."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Crest", "EdgeChart", "OutlineChart"]


@dataclass(frozen=True, slots=True)
class Crest:
    """A crest of some lobes: its name, such as ``"3"``, its direction, the rank of these lobes by height from 0."""

    name: str
    degrees: float
    rank: int


@dataclass(frozen=True, slots=True)
class OutlineChart:
    """The outline of a ball with a magnified skin.

    Parameters
    ----------
    label : str
        Which ball.
    degrees : tuple of float
        Directions, rising, counter-clockwise from the right.
    off : tuple of float or None
        How far the outline stands off the middle of its minimum zone there; None where the edge was not seen.
    points : tuple of (float, float)
        Directions and heights of edge points before the filter.
    outer, inner : float
        The two circles of the minimum zone.
    outside, inside : tuple of float
        Directions of its contacts.
    crests : tuple of Crest
        To be named.
    bar, bar_text : float, str
        Length of the scale bar, in the unit of `off`, and its text.
    height : float
        What fills the skin's room in the picture, in the unit of `off`; the zone's width or more.
    magnified : str
        By how much the skin is, as printed.
    form_lines : tuple of str
        The form, as printed, in two lines at most.
    n_text : str
        How many edge points stand behind it.
    """

    label: str
    degrees: tuple[float, ...]
    off: tuple[float | None, ...]
    points: tuple[tuple[float, float], ...]
    outer: float
    inner: float
    outside: tuple[float, ...]
    inside: tuple[float, ...]
    crests: tuple[Crest, ...]
    bar: float
    bar_text: str
    height: float
    magnified: str
    form_lines: tuple[str, ...]
    n_text: str


@dataclass(frozen=True, slots=True)
class EdgeChart:
    """A part of the photograph with the edge points on it.

    Parameters
    ----------
    label : str
        Which photograph.
    picture : bytes
        A JPEG.
    width, height : int
        Its size, pixels.
    points : tuple of (float, float, bool)
        Where the edge is on it, pixels from its upper left corner, and whether it was seen there.
    n_text : str
        How many edge points there are.
    """

    label: str
    picture: bytes
    width: int
    height: int
    points: tuple[tuple[float, float, bool], ...]
    n_text: str
