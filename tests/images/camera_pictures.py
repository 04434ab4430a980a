"""What the tests of the outline share: balls taken at random, and form by a linear program."""

from __future__ import annotations

import io
import math

import numpy as np
from examples.recorded.photos import Ball, Lens, Lobe, Scene
from numpy.typing import NDArray
from PIL import Image
from scipy import optimize

from ballbench.records.media.camera_file import Camera

Floats = NDArray[np.float64]

WIDE, HIGH = 1000, 900


def any_scene(generator: np.random.Generator, **changes: object) -> Scene:
    """Take a ball of 40 mm at random: lobes of 2 to 12 a turn and 0.005 to 0.1 mm, lens, light, blur, noise."""
    pixels, focal = generator.uniform(280, 400), generator.uniform(2500, 6000)
    kinds = generator.choice(np.arange(2, 13), size=3, replace=False)
    lobes = tuple(
        Lobe(
            int(n), float(np.exp(generator.uniform(np.log(0.005), np.log(top)))), generator.uniform(0.0, 2.0 * math.pi)
        )
        for n, top in zip(kinds, (0.1, 0.03, 0.01), strict=True)
    )
    lens = Lens(
        focal, (WIDE - 1) / 2 + generator.uniform(-5, 5), (HIGH - 1) / 2 + generator.uniform(-5, 5),
        generator.uniform(-0.2, 0.2), generator.uniform(-0.1, 0.1),
    )  # fmt: skip
    off = math.degrees(math.atan(generator.uniform(0.0, 40.0) / focal))
    ball = Ball(20.0, lobes, focal * 20.0 / pixels, off, generator.uniform(0.0, 360.0))
    dark = generator.random() < 0.6
    settings: dict[str, object] = {
        "inside": 0.1 if dark else 0.7, "outside": 0.7 if dark else 0.15, "blur": generator.uniform(0.6, 2.5),
        "shot": generator.uniform(0.0, 3e-4), "read": generator.uniform(0.001, 0.01),
        "gradient": generator.uniform(-0.1, 0.1), "shading": generator.uniform(0.0, 0.2),
    }  # fmt: skip
    return Scene(WIDE, HIGH, lens, (ball,), **{**settings, **changes})  # type: ignore[arg-type]


def camera_of_scene(scene: Scene) -> Camera:
    """Give the scene's lens as a person would who calibrated it."""
    lens = scene.lens
    return Camera(lens.focal, lens.cx, lens.cy, lens.k1, lens.k2)


def through_jpeg(levels: NDArray[np.uint8], quality: int) -> NDArray[np.uint8]:
    """Code and decode by Pillow."""
    file = io.BytesIO()
    Image.fromarray(levels).save(file, "JPEG", quality=quality)
    return np.asarray(Image.open(file))


def smoothed(radius: Floats, undulations: float = 50.0) -> Floats:
    """Pass an outline through the Gaussian filter: half of `undulations` a turn comes through (ISO 12181-2).

    exp(-pi (alpha n/cutoff)^2), alpha = sqrt(ln 2/pi); the standard from memory.
    """
    parts = np.fft.rfft(radius)
    n = np.arange(parts.size)
    return np.fft.irfft(parts * np.exp(-math.log(2.0) * (n / undulations) ** 2), n=radius.size)


def zone_width(theta: Floats, radius: Floats) -> float:
    """Give the width of the narrowest ring of two circles about one centre, by a linear program.

    A centre moved by e changes a radius by its part along e, to e^2/(2 R): 1e-4 pixels for half a pixel.
    """
    one, none = np.ones_like(theta), np.zeros_like(theta)
    cosine, sine = np.cos(theta), np.sin(theta)
    below = np.column_stack([cosine, sine, one, none])
    above = -np.column_stack([cosine, sine, none, one])
    found = optimize.linprog(
        [0.0, 0.0, -1.0, 1.0], np.vstack([below, above]), np.concatenate([radius, -radius]), bounds=[(None, None)] * 4
    )
    assert found.success
    return float(found.fun)


def centred(theta: Floats, values: Floats) -> Floats:
    """Take mean and first harmonic out, which the choice of the centre makes."""
    turn = np.exp(1j * theta)
    first = 2.0 * np.mean(values * np.conj(turn))
    return values - values.mean() - np.real(first * turn)
