"""From pixels to angles about a ball's axis and back: lens and perspective taken out where the camera is known.

A ball is seen as a cone: the rays that touch it make the angle asin(R/L) with the ray to its centre. With the cone's
axis c and a ray d, R = L sin(angle(d, c)) exactly, wherever the ball stands in the picture; the ellipse that the
picture shows is the cone cut by the picture's plane.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ballbench.records.media.camera_file import Camera

__all__ = ["View", "angles", "bent", "straightened", "view_of"]

Floats = NDArray[np.float64]
_ROUNDS = (
    8  # Newton's steps for the lens: quadratic, settled after four for any lens with straight-line bends below 20 %
)


@dataclass(frozen=True, slots=True)
class View:
    """Polar coordinates about a place in the picture.

    Parameters
    ----------
    x, y : float
        The place, pixels: the image of the ball's axis.
    camera : Camera or None
        The lens; without one the coordinates are those of the picture.
    axis : (3,) float array
        Unit vector to the right, up, away from the camera: the ray through the place; along the camera's axis when the
        camera is not known.
    right, up : (3,) float array
        Unit vectors square to `axis`.
    """

    x: float
    y: float
    camera: Camera | None
    axis: Floats
    right: Floats
    up: Floats

    @property
    def axis_angle(self) -> float:
        """Between the ball and the camera's axis, degrees; NaN where the camera is not known."""
        return math.nan if self.camera is None else math.degrees(math.acos(min(1.0, float(self.axis[2]))))

    def about(self, x: Floats, y: Floats) -> tuple[Floats, Floats]:
        """Turn pixels into polar coordinates.

        Parameters
        ----------
        x, y : (n,) float array
            Pixels, y down.

        Returns
        -------
        theta : (n,) float array
            Radians, 0 to 2 pi, counter-clockwise, 0 to the right.
        rho : (n,) float array
            Pixels at the depth of the ball's centre: f sin(angle(ray, axis))/cos(axis off the camera's axis).
        """
        if self.camera is None:
            across, up = x - self.x, self.y - y
            return np.arctan2(up, across) % (2.0 * math.pi), np.hypot(across, up)
        across, up = straightened(self.camera, x, y)
        length = np.sqrt(across**2 + up**2 + 1.0)
        first = (across * self.right[0] + up * self.right[1] + self.right[2]) / length
        second = (across * self.up[0] + up * self.up[1] + self.up[2]) / length
        scale = self.camera.focal / float(self.axis[2])
        return np.arctan2(second, first) % (2.0 * math.pi), scale * np.hypot(first, second)

    def shown(self, theta: Floats, rho: Floats) -> tuple[Floats, Floats]:
        """Turn polar coordinates back into pixels; the inverse of `about`."""
        if self.camera is None:
            return self.x + rho * np.cos(theta), self.y - rho * np.sin(theta)
        sine = rho * float(self.axis[2]) / self.camera.focal
        cosine = np.sqrt(1.0 - sine**2)
        ray = [
            cosine * self.axis[k] + sine * (np.cos(theta) * self.right[k] + np.sin(theta) * self.up[k])
            for k in range(3)
        ]
        return bent(self.camera, ray[0] / ray[2], ray[1] / ray[2])

    def moved(self, right: float, up: float) -> View:
        """Give the view about a place that lies so many pixels to the right and up, at the depth of the ball."""
        rho, theta = np.array([math.hypot(right, up)]), np.array([math.atan2(up, right)])
        x, y = self.shown(theta, rho)
        return view_of(float(x[0]), float(y[0]), self.camera)


def view_of(x: float, y: float, camera: Camera | None) -> View:
    """Give the view about a pixel."""
    if camera is None:
        return View(x, y, None, np.array([0.0, 0.0, 1.0]), np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0]))
    across, up = straightened(camera, np.array([x]), np.array([y]))
    axis = np.array([across[0], up[0], 1.0])
    axis /= np.linalg.norm(axis)
    # the picture's right and up, turned with the camera's axis to the ball's by the shortest turn
    lean = axis[:2] / (1.0 + axis[2])
    right = np.array([1.0 - axis[0] * lean[0], -axis[0] * lean[1], -axis[0]])
    upward = np.array([-axis[1] * lean[0], 1.0 - axis[1] * lean[1], -axis[1]])
    return View(x, y, camera, axis, right, upward)


def angles(count: int) -> Floats:
    """Give so many equal steps over a turn from 0, radians, (count,)."""
    return np.arange(count, dtype=np.float64) * (2.0 * math.pi / count)


def straightened(camera: Camera, x: ArrayLike, y: ArrayLike) -> tuple[Floats, Floats]:
    """Take the lens out.

    Parameters
    ----------
    camera : Camera
        The lens.
    x, y : (n,) array_like of float
        Pixels, y down.

    Returns
    -------
    across, up : (n,) float array
        Tangents of the ray's angles to the right and up; NaN where no ray through this lens comes out there.

    Notes
    -----
    Radial polynomial of the lens (photogrammetry's usual one), turned round by Newton's method: r_shown = r (1 + k1 r^2
    + k2 r^4).
    """
    across = (np.asarray(x, dtype=np.float64) - camera.cx) / camera.focal
    up = (camera.cy - np.asarray(y, dtype=np.float64)) / camera.focal
    if camera.k1 == 0.0 and camera.k2 == 0.0:
        return across, up
    shown = np.hypot(across, up)
    true = shown.copy()
    for _ in range(_ROUNDS):
        square = true * true
        value = true * (1.0 + square * (camera.k1 + square * camera.k2)) - shown
        slope = 1.0 + square * (3.0 * camera.k1 + 5.0 * square * camera.k2)
        true -= value / np.where(slope > 0.1, slope, np.nan)
    factor = np.ones_like(true)
    np.divide(true, shown, out=factor, where=shown > 0.0)
    return across * factor, up * factor


def bent(camera: Camera, across: Floats, up: Floats) -> tuple[Floats, Floats]:
    """Put the lens in: pixels, (n,) each, of rays whose tangents to the right and up, (n,), are given."""
    square = across**2 + up**2
    factor = camera.focal * (1.0 + square * (camera.k1 + square * camera.k2))
    return camera.cx + factor * across, camera.cy - factor * up
