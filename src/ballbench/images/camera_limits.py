"""What an unknown or half-known lens may do to an outline, and when that is too much."""

from __future__ import annotations

import math

from ballbench.images.refusals import MOST_GUESSED_ANGLE
from ballbench.images.view import View

__all__ = ["BEND", "SHORTEST", "camera_notes", "oval_left"]

BEND = 0.01
"""Largest displacement in the picture's corner that a phone's picture keeps, of the distance (own choice)."""
SHORTEST = 0.6
"""Shortest focal length of an unknown camera, in diagonals of the picture: 26 mm equivalent (own choice)."""
_FAR_ENOUGH = 20.0  # radii: nearer, the limb is not the equator that a caliper reads (own choice)
_WORTH_SAYING = 0.1  # pixels


def oval_left(view: View, radius: float, shape: tuple[int, ...]) -> tuple[float, str]:
    """Bound the oval that lens and perspective leave in the outline.

    Parameters
    ----------
    view : View
        About the ball.
    radius : float
        Its radius, pixels.
    shape : tuple of int
        Rows and columns of the picture.

    Returns
    -------
    u : float
        Standard uncertainty of the amplitude of two lobes, pixels.
    refused : str
        Why it is too much, and what to do; else empty.

    Notes
    -----
    Off the axis by phi a ball looks longer by 1/cos(phi) along the way to the middle: two lobes of radius phi^2/4. A
    lens that shifts points by k r^2 of their distance r stretches it three times as much along as across: two lobes of
    radius k r^2. Bounds count as rectangles, half-width over the root of 3 (JCGM 100:2008, 4.3.7).
    """
    diagonal = math.hypot(*shape)
    camera = view.camera
    if camera is None:
        away = math.hypot(view.x - (shape[1] - 1) / 2.0, view.y - (shape[0] - 1) / 2.0)
        angle = math.atan(away / (SHORTEST * diagonal))
        lens = radius * BEND * (2.0 * away / diagonal) ** 2
        u = math.hypot(radius * angle**2 / 4.0, lens) / math.sqrt(3.0)
        if math.degrees(angle) > MOST_GUESSED_ANGLE:
            return u, (
                "The ball stands far from the middle of the picture, and nothing tells what the lens does there: put "
                "it in the middle, hand over the picture as the phone took it, or give a camera file."
            )
        return u, ""
    away = math.hypot(view.x - camera.cx, view.y - camera.cy)
    angle = math.radians(view.axis_angle)
    perspective = radius * angle**2 / 2.0 * camera.focal_sd
    if camera.bend_known:
        square = (away / camera.focal) ** 2
        lens = radius * square * (abs(camera.k1) + 2.0 * abs(camera.k2) * square) * camera.bend_sd
    else:
        lens = radius * BEND * (2.0 * away / diagonal) ** 2 / math.sqrt(3.0)
    return math.hypot(perspective, lens), ""


def camera_notes(view: View, radius: float, shape: tuple[int, ...]) -> tuple[str, ...]:
    """Say what is not known of the lens, and whether the ball is too near for a caliper's diameters.

    Parameters
    ----------
    view : View
        About the ball.
    radius : float
        Its radius, pixels.
    shape : tuple of int
        Rows and columns of the picture.

    Returns
    -------
    tuple of str
        Sentences.
    """
    notes = []
    oval, _ = oval_left(view, radius, shape)
    camera = view.camera
    if camera is None:
        notes.append("The lens is not known: neither its bend nor the oval of a ball beside its axis is taken out.")
    elif not camera.bend_known:
        notes.append("The lens's bend is not known, only bounded; a camera file takes it out.")
    if oval > _WORTH_SAYING:
        notes.append(
            f"Lens and perspective may leave an oval of {oval:.2f} pixels (standard uncertainty of two lobes): put the "
            "ball nearer to the middle of the picture."
        )
    if camera is not None:
        distance = camera.focal / (radius * float(view.axis[2]))
        if distance < _FAR_ENOUGH:
            notes.append(
                f"The camera is {distance:.0f} radii from the ball: nearer than {_FAR_ENOUGH:g} it sees a section "
                "before the equator. Move away and zoom with the lens to hold it against caliper diameters."
            )
    return tuple(notes)
