"""Photographs of a ball whose outline is known exactly, as a camera would take them. Nothing here was ever measured.

A ball is a lobed outline seen along an axis: a ray at the angle theta about the axis touches it when it makes the angle
asin(r(theta)/L) with the axis. Those rays are sent through the lens into the picture, the share of every pixel that the
ball covers is worked out by area, and then come blur, light, noise and the file's coding, in the order in which a
camera has them. This module shares no code with the one that looks for the edge.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy import ndimage

__all__ = ["Ball", "Lens", "Lobe", "Scene", "coded", "light_of", "photographed", "saved", "true_pixels", "true_radius"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Lobe:
    """One harmonic of a ball's radius: ``amplitude cos(n theta + phase)``, mm and radians."""

    n: int
    amplitude: float
    phase: float


@dataclass(frozen=True, slots=True)
class Lens:
    """A camera: focal length and middle in pixels, radial bends for distances in focal lengths."""

    focal: float
    cx: float
    cy: float
    k1: float = 0.0
    k2: float = 0.0


@dataclass(frozen=True, slots=True)
class Ball:
    """A ball: radius in mm, lobes, and where its centre is: mm from the camera, degrees off its axis and about it."""

    radius: float = 20.0
    lobes: tuple[Lobe, ...] = ()
    distance: float = 1000.0
    off_axis: float = 0.0
    towards: float = 0.0


@dataclass(frozen=True, slots=True)
class Scene:
    """A photograph to be taken.

    Parameters
    ----------
    wide, high : int
        Of the picture, pixels.
    lens : Lens
        The camera.
    balls : tuple of Ball
        The first is the one that is meant.
    inside, outside : float
        Light of the ball and of what lies behind it, 0 to 1.
    blur : float
        SD of a Gaussian blur, pixels.
    smear, smear_towards : float
        Way that the picture moves while the shutter is open, pixels, and its direction, degrees.
    shot, read : float
        Noise: variance ``shot * light + read^2``.
    gradient : float
        Change of the light behind the ball from one side of the picture to the other.
    shadow : float
        Light that a soft shadow on the lower right takes.
    shading : float
        0: the ball is as light at its limb as in its middle; 1: its light falls as the cosine.
    seam, print_bar : float
        Light of a seam that runs to the limb, and of a printed bar that reaches it; NaN for none.
    speck : float
        Diameter of a dark speck that sticks to the limb, pixels; 0 for none.
    stand, stand_light : float
        Width of a post under the ball, of its diameter, 0 for none; and its light, NaN for half-way.
    piece : float
        Side of a square scale piece beside the ball, mm; 0 for none.
    clutter : int
        How many bars, boxes and lines of any light lie behind the ball, none of them round.
    exposure : float
        Factor on all light before the file's white cuts it off.
    """

    wide: int
    high: int
    lens: Lens
    balls: tuple[Ball, ...] = field(default=(Ball(),))
    inside: float = 0.10
    outside: float = 0.75
    blur: float = 1.0
    smear: float = 0.0
    smear_towards: float = 0.0
    shot: float = 1e-4
    read: float = 0.004
    gradient: float = 0.0
    shadow: float = 0.0
    shading: float = 0.0
    seam: float = math.nan
    print_bar: float = math.nan
    speck: float = 0.0
    stand: float = 0.0
    stand_light: float = math.nan
    piece: float = 0.0
    clutter: int = 0
    exposure: float = 1.0


def true_radius(ball: Ball, theta: Floats) -> Floats:
    """Give the radius of the outline in mm at angles counter-clockwise from the right."""
    return ball.radius + sum((lobe.amplitude * np.cos(lobe.n * theta + lobe.phase) for lobe in ball.lobes), 0.0 * theta)


def true_pixels(scene: Scene, theta: Floats) -> Floats:
    """Give the same in pixels of the plane at the depth of the ball's centre, square to the camera's axis."""
    ball = scene.balls[0]
    return true_radius(ball, theta) * scene.lens.focal / (ball.distance * math.cos(math.radians(ball.off_axis)))


def photographed(scene: Scene, generator: np.random.Generator) -> NDArray[np.uint8]:
    """Take the photograph: light, noise, the curve of sRGB, eight bits."""
    light = scene.exposure * light_of(scene)
    light = np.maximum(light, 0.0)
    noisy = light + np.sqrt(scene.shot * light + scene.read**2) * generator.standard_normal(light.shape)
    return coded(noisy)


def coded(light: Floats) -> NDArray[np.uint8]:
    """Code light as IEC 61966-2-1 does (from memory; the tests hold it against scikit-image)."""
    cut = np.clip(light, 0.0, 1.0)
    level = np.where(cut <= 0.0031308, 12.92 * cut, 1.055 * np.maximum(cut, 0.0031308) ** (1.0 / 2.4) - 0.055)
    return np.rint(255.0 * level).astype(np.uint8)


def saved(levels: NDArray[np.uint8], path: Path, quality: int = 92, *, equivalent: int = 0) -> Path:
    """Write a photograph of the kind that the name says; with an equivalent focal length in mm as a phone writes it.

    (h, w) levels become a gray picture, (h, w, 3) levels one in colours.
    """
    picture = Image.fromarray(levels)
    exif = Image.Exif()
    if equivalent:
        exif[0x010F], exif[0x0110] = "Invented", "Invented pocket camera"
        exif.get_ifd(0x8769).update({0xA405: equivalent, 0xA002: picture.width, 0xA003: picture.height})
    picture.save(path, quality=quality, exif=exif)
    return path


def light_of(scene: Scene) -> Floats:
    """Give the light that falls on every pixel, without noise."""
    x, y = np.meshgrid(np.arange(scene.wide, dtype=float), np.arange(scene.high, dtype=float))
    behind = _behind(scene, x, y)
    steps = max(1, math.ceil(3 * scene.smear)) if scene.smear else 1
    total = np.zeros_like(behind)
    for way in (np.arange(steps) + 0.5) / steps - 0.5:
        move = scene.smear * way
        right, down = (
            move * math.cos(math.radians(scene.smear_towards)),
            -move * math.sin(math.radians(scene.smear_towards)),
        )
        light = behind
        for ball in scene.balls:
            light = _with_ball(scene, ball, light, x - right, y - down)
        total += light
    return np.asarray(ndimage.gaussian_filter(total / steps, scene.blur, mode="nearest", truncate=5.0))


def _behind(scene: Scene, x: Floats, y: Floats) -> Floats:
    """Light behind the ball, with a post under it and a scale piece beside it."""
    light = scene.outside + scene.gradient * (x / scene.wide - 0.5 + 0.4 * (y / scene.high - 0.5))
    if scene.shadow:
        far = np.hypot((x / scene.wide - 0.8) / 0.25, (y / scene.high - 0.85) / 0.2)
        light = light - scene.shadow * np.exp(-0.5 * far**2)
    ball = scene.balls[0]
    middle, radius, across = _middle(scene, ball)
    for k in range(scene.clutter):
        light = _with_box(scene, np.random.default_rng(k), light, x, y)
    if scene.piece:
        side = scene.piece * scene.lens.focal / ball.distance
        left, top = middle[0] + 1.15 * across, middle[1] - side / 2.0
        light = np.where((x > left) & (x < left + side) & (y > top) & (y < top + side), scene.inside, light)
    if scene.stand:
        post = (np.abs(x - middle[0]) < scene.stand * radius) & (y > middle[1] + 0.8 * radius)
        between = 0.5 * (scene.inside + scene.outside)
        light = np.where(post, between if math.isnan(scene.stand_light) else scene.stand_light, light)
    if scene.speck:
        at = (middle[0] + radius * math.cos(2.2), middle[1] - radius * math.sin(2.2))
        light = np.where(np.hypot(x - at[0], y - at[1]) < scene.speck / 2.0, 0.5 * scene.inside, light)
    return light


def _with_box(scene: Scene, generator: np.random.Generator, light: Floats, x: Floats, y: Floats) -> Floats:
    """Lay a box of any place, turn, shape and light over the light."""
    turn = generator.uniform(0.0, math.pi)
    across = (x - generator.uniform(0, scene.wide)) * math.cos(turn) + (
        y - generator.uniform(0, scene.high)
    ) * math.sin(turn)
    along = -(x - scene.wide / 2) * math.sin(turn) + (y - generator.uniform(0, scene.high)) * math.cos(turn)
    wide, long = np.exp(generator.uniform(math.log(4.0), math.log(scene.high), 2))
    return np.where((np.abs(across) < wide / 2) & (np.abs(along) < long / 2), generator.uniform(0.3, 0.9), light)


def _middle(scene: Scene, ball: Ball) -> tuple[tuple[float, float], float, float]:
    """Middle of the ball's image, its mean radius and its largest, pixels."""
    x, y = _limb(scene, ball)
    middle = (float(x.mean()), float(y.mean()))
    away = np.hypot(x - middle[0], y - middle[1])
    return middle, float(away.mean()), float(away.max())


def _limb(scene: Scene, ball: Ball, count: int = 8192) -> tuple[Floats, Floats]:
    """Send the touching rays through the lens: x and y (down) of the outline, pixels."""
    theta = np.arange(count) * (2.0 * math.pi / count)
    sine = true_radius(ball, theta) / ball.distance
    touching = np.stack([sine * np.cos(theta), sine * np.sin(theta), np.sqrt(1.0 - sine**2)])
    tilt, about = math.radians(ball.off_axis), math.radians(ball.towards)
    # turned by `tilt` about the line square to the direction `about`: the camera's axis goes to the ball's
    line = np.array([-math.sin(about), math.cos(about), 0.0])
    cross = np.stack([
        line[1] * touching[2], -line[0] * touching[2], line[0] * touching[1] - line[1] * touching[0],
    ])  # fmt: skip
    ray = (
        touching * math.cos(tilt)
        + cross * math.sin(tilt)
        + line[:, None] * (line @ touching)[None, :] * (1.0 - math.cos(tilt))
    )
    across, up = ray[0] / ray[2], ray[1] / ray[2]
    square = across**2 + up**2
    bend = 1.0 + scene.lens.k1 * square + scene.lens.k2 * square**2
    return scene.lens.cx + scene.lens.focal * bend * across, scene.lens.cy - scene.lens.focal * bend * up


def _with_ball(scene: Scene, ball: Ball, light: Floats, x: Floats, y: Floats) -> Floats:
    """Lay the ball over the light, each pixel by the share that it covers."""
    limb_x, limb_y = _limb(scene, ball)
    middle = (float(limb_x.mean()), float(limb_y.mean()))
    turn = np.unwrap(np.arctan2(middle[1] - limb_y, limb_x - middle[0]))
    away = np.hypot(limb_x - middle[0], limb_y - middle[1])
    reach = float(away.max()) + 3.0
    rows, columns = _around(middle, reach, light.shape)
    if rows.stop <= rows.start or columns.stop <= columns.start:
        return light
    dx, dy = x[rows, columns] - middle[0], middle[1] - y[rows, columns]
    rho, psi = np.hypot(dx, dy), np.arctan2(dy, dx)
    radius = np.interp(psi, turn, away, period=2.0 * math.pi)
    change = np.gradient(away, turn)
    slant = np.arctan(np.interp(psi, turn, change, period=2.0 * math.pi) / radius)
    # the edge bends away inside the pixel: over all pixels by 1/(24 R) of a pixel's side
    share = _covered((radius - rho) * np.cos(slant) - 1.0 / (24.0 * radius), psi - slant)
    inside = _on_ball(scene, dx, dy, rho / radius)
    result = light.copy()
    result[rows, columns] = (1.0 - share) * light[rows, columns] + share * inside
    return result


def _around(middle: tuple[float, float], reach: float, shape: tuple[int, ...]) -> tuple[slice, slice]:
    low = [max(0, math.floor(middle[k] - reach)) for k in (1, 0)]
    high = [min(shape[k], math.ceil(middle[1 - k] + reach) + 1) for k in (0, 1)]
    return slice(low[0], high[0]), slice(low[1], high[1])


def _covered(depth: Floats, normal: Floats) -> Floats:
    """Give the share of a pixel on the inner side of a straight edge that lies `depth` pixels beyond its middle.

    Exact: the distance of a point of the pixel from a line through its middle is the sum of two uniform variables,
    whose distribution is a trapezium.
    """
    a, b = np.abs(np.cos(normal)), np.abs(np.sin(normal))
    long, short = np.maximum(a, b), np.maximum(np.minimum(a, b), 1e-12)
    outer, inner = (long + short) / 2.0, (long - short) / 2.0
    size = np.abs(depth)
    beyond = np.where(size <= inner, size / long, 0.5 - (outer - np.minimum(size, outer)) ** 2 / (2.0 * long * short))
    return 0.5 + np.sign(depth) * beyond


def _on_ball(scene: Scene, dx: Floats, dy: Floats, share: Floats) -> Floats:
    """Light of the ball: shading, a seam and a printed bar, both of which reach the limb."""
    light = np.full(dx.shape, scene.inside)
    cosine = np.sqrt(np.maximum(1.0 - np.minimum(share, 1.0) ** 2, 0.0))
    light = light * (1.0 - scene.shading + scene.shading * cosine)
    radius = float(np.max(np.abs(dy))) or 1.0
    if not math.isnan(scene.seam):
        wave = 0.35 * radius * np.sin(2.2 * dy / radius)
        light = np.where(np.abs(dx - wave) < 0.006 * radius + 1.0, scene.seam, light)
    if not math.isnan(scene.print_bar):
        bar = (dx > 0.4 * radius) & (np.abs(dy - 0.25 * radius) < 0.05 * radius)
        light = np.where(bar, scene.print_bar, light)
    return light
