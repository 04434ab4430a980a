"""Form of rendered photographs with known outline: within a tenth of a pixel, or the stated interval."""

from __future__ import annotations

import io
import math

import numpy as np
import pytest
from examples.recorded.photos import Ball, Lens, Lobe, Scene, photographed, true_pixels
from PIL import Image

from ballbench.findings.tracing.forms import SizeKnown, coded_part, photo_outline
from ballbench.findings.tracing.results import refused_photo
from ballbench.form.form_interval import FormFound
from ballbench.form.reference_circles import minimum_zone, points_of
from ballbench.form.roundness_filter import filtered
from ballbench.images.finding import outline_of
from ballbench.records.media.camera_file import Camera

THETA = np.arange(1440) * 2 * math.pi / 1440


NEAR_ROUND: dict[str, dict[int, float]] = {
    "round": {}, "0.01": {2: 0.005}, "0.02": {3: 0.010}, "oval of 0.03": {2: 0.015}, "0.03": {2: 0.010, 5: 0.008},
    "0.1": {3: 0.040, 7: 0.014},
}  # fmt: skip
"""Lobes, amplitudes in pixels, of balls whose form is about what their names say, pixels."""


def scene_of(rng: np.random.Generator, pixels: dict[int, float] | None = None) -> Scene:
    """A ball of 2 to 12 lobes, 0.005 to 0.1 mm, or a round one; blur, noise, lens, off the axis, dark or light.

    Or one with lobes of stated amplitudes in pixels.
    """
    radius = rng.uniform(150, 420)
    side = int(2.5 * radius) + 40
    distance = rng.uniform(600, 2000)
    lens = Lens(
        radius * distance / 20.0, (side - 1) / 2 + rng.uniform(-4, 4), (side - 1) / 2 + rng.uniform(-4, 4),
        rng.uniform(-0.2, 0.2), rng.uniform(-0.1, 0.1),
    )  # fmt: skip
    numbers = rng.choice(np.arange(2, 13), rng.integers(1, 4), replace=False) if rng.random() < 0.85 else []
    lobes = tuple(
        Lobe(int(n), float(np.exp(rng.uniform(math.log(0.005), math.log(0.1)))), rng.uniform(-3, 3)) for n in numbers
    )
    if pixels is not None:
        lobes = tuple(Lobe(n, a * 20.0 / radius, rng.uniform(-3, 3)) for n, a in pixels.items())
    inside, outside = (0.08, 0.8) if rng.random() < 0.6 else (0.6, 0.06)
    return Scene(
        side, side, lens, (Ball(20.0, lobes, distance, rng.uniform(0, 0.15), rng.uniform(0, 360)),), inside, outside,
        blur=rng.uniform(0.7, 2.0), shot=10 ** rng.uniform(-5, -3.3), read=rng.uniform(0.001, 0.008),
    )  # fmt: skip


def as_jpeg(levels: np.ndarray, quality: int) -> tuple[np.ndarray, float]:
    """Code and decode by Pillow; with the mean step of the table that it wrote, of white."""
    held = io.BytesIO()
    Image.fromarray(levels).save(held, "JPEG", quality=quality)
    picture = Image.open(held)
    return np.asarray(picture), float(np.mean(picture.quantization[0])) / 255.0


def errors(photographs: int, seed: int) -> tuple[list[float], list[bool]]:
    """Error of the minimum-zone form, pixels, and whether its interval holds the truth, photograph by photograph."""
    off, held = [], []
    for k in range(photographs):
        rng = np.random.default_rng([seed, k])
        scene = scene_of(rng)
        levels, steps = photographed(scene, rng), 0.0
        if rng.random() < 0.4:
            levels, steps = as_jpeg(levels, int(rng.integers(75, 96)))
        zone, exact = zone_of(scene, levels, steps, rng)
        off.append(zone.value - exact)
        held.append(zone.low <= exact <= zone.high)
    return off, held


def zone_of(scene: Scene, levels: np.ndarray, steps: float, rng: np.random.Generator) -> tuple[FormFound, float]:
    """Trace a photograph, coded by such steps: its form by the minimum zone, and that of the true outline, pixels."""
    lens = scene.lens
    outline = outline_of(levels, camera=Camera(lens.focal, lens.cx, lens.cy, lens.k1, lens.k2))
    assert not outline.refused, outline.refused
    found = photo_outline(refused_photo("", "", ""), outline, SizeKnown(), 50.0, rng, steps=steps)
    zone = next(form for form in found.forms if form.kind == "minimum zone")
    true = filtered(true_pixels(scene, THETA), 50.0)
    exact = float(np.ptp(true)) if np.ptp(true) < 1e-9 else minimum_zone(points_of(THETA, true)).form
    return zone, exact


def sharp_scene(rng: np.random.Generator, height: float) -> Scene:
    """A sharp ball with four lobes of such a height, pixels, along rows and columns, dark or light."""
    radius, distance = rng.uniform(150, 420), 1200.0
    side = int(2.3 * radius) + 40
    middle = (side - 1) / 2 + rng.uniform(-4, 4, 2)
    lens = Lens(radius * distance / 20.0, *map(float, middle))
    lobes = (Lobe(4, height * 20.0 / radius, math.pi * float(rng.integers(0, 2))),) if height else ()
    inside, outside = ((0.08, 0.8), (0.02, 0.85), (0.6, 0.06), (0.8, 0.04))[rng.integers(0, 4)]
    return Scene(
        side, side, lens, (Ball(20.0, lobes, distance),), inside, outside, blur=rng.uniform(0.7, 1.2),
        shot=10 ** rng.uniform(-5, -4), read=0.002,
    )  # fmt: skip


def test_what_coding_leaves_of_a_round_ball_is_as_large_as_is_said() -> None:
    """Six round balls through JPEG 75: the cosine of four lobes is off by 0.4 to 1.6 stated u on average.

    Slanting edges lie nearer to the lighter side: less than 0 for a dark ball, more for a light one (known outline).
    """
    off = []
    for k in range(6):
        rng = np.random.default_rng([75, k])
        scene = sharp_scene(rng, 0.0)
        levels, steps = as_jpeg(photographed(scene, rng), 75)
        outline = outline_of(levels, camera=Camera(scene.lens.focal, scene.lens.cx, scene.lens.cy))
        part = float(np.fft.rfft(outline.radius)[4].real) * 2.0 / outline.radius.size
        off.append((1.0 if scene.inside > scene.outside else -1.0) * part / coded_part(outline.edge_width, steps))
    assert 0.4 < np.mean(off) < 1.6
    assert max(off) < 3.0


def test_form_of_a_few_rendered_photographs() -> None:
    """Six photographs: the form within a tenth of a pixel, or in its interval (renders with known outline)."""
    off, held = errors(6, 1)
    assert all(abs(error) < 0.1 or inside for error, inside in zip(off, held, strict=True))
    assert sum(held) >= 4


@pytest.mark.slow
def test_form_of_two_hundred_rendered_photographs() -> None:
    """210 photographs: each within a tenth of a pixel or in its interval; 92 % of the intervals hold the form."""
    off, held = errors(210, 2)
    print(f"largest error {max(map(abs, off)):.3f} px, root mean square {np.std(off):.4f} px, held {np.mean(held):.3f}")
    assert all(abs(error) < 0.1 or inside for error, inside in zip(off, held, strict=True))
    assert np.mean(held) >= 0.92


@pytest.mark.slow
@pytest.mark.parametrize("quality", [75, 85, 95])
def test_form_of_near_round_balls_through_compression(quality: int) -> None:
    """60 photographs each of six shapes: no shape under 88 % (90 % less one of 60), all together 92 % or more.

    Forms from 0.03 pixel on 92 to 99 % (98 % and one and a half standard errors of 180); smaller ones are held by
    rule, for no bound is below 0.03 pixel.
    """
    held: dict[str, list[bool]] = {}
    for name, lobes in NEAR_ROUND.items():
        for k in range(60):
            rng = np.random.default_rng([quality, k, len(held)])
            scene = scene_of(rng, lobes)
            zone, exact = zone_of(scene, *as_jpeg(photographed(scene, rng), quality), rng)
            held.setdefault(name, []).append(zone.low <= exact <= zone.high + 1e-9)
    print({name: float(np.mean(each)) for name, each in held.items()})
    assert min(np.mean(each) for each in held.values()) >= 0.88
    assert np.mean([one for each in held.values() for one in each]) >= 0.92
    assert 0.92 <= np.mean([one for name in ("oval of 0.03", "0.03", "0.1") for one in held[name]]) <= 0.99


@pytest.mark.slow
@pytest.mark.parametrize("quality", [60, 75, 85, 95, 0])
def test_form_of_four_lobes_along_rows_and_columns(quality: int) -> None:
    """50 sharp photographs, quality 0 without loss: each within a tenth of a pixel, 70 % of the intervals hold it.

    It is the worst case, of which the page says what was measured: 80 to 98 %.
    """
    held, off = [], []
    for k in range(50):
        rng = np.random.default_rng([4, k])
        scene = sharp_scene(rng, rng.uniform(0.02, 0.1))
        levels, steps = photographed(scene, rng), 0.0
        if quality:
            levels, steps = as_jpeg(levels, quality)
        zone, exact = zone_of(scene, levels, steps, rng)
        held.append(zone.low <= exact <= zone.high)
        off.append(abs(zone.value - exact))
    print(f"quality {quality}: held {np.mean(held):.2f}, largest error {max(off):.3f} px")
    assert np.mean(held) >= 0.7
    assert max(off) < 0.1
