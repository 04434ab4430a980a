"""A photograph from its file to the ball's outline, beside what its decoder alone takes."""

from __future__ import annotations

import math
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

from benchmarks.measuring import Line, Spent, in_own_process, spent

__all__ = ["photo_speed"]

WIDE, HIGH, PIXELS, EQUIVALENT = 4000, 3000, 1000.0, 29
REPEATS = 7
LOBES, AMPLITUDE = 3, 0.03
SEED = 20261128


def photo_speed() -> Iterator[Line]:
    """One JPEG of 12 million pixels in colours, as large as a phone's, file to outline; aim: 3 bare decodes."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "ball.jpg"
        in_own_process(photographed_to, str(path))
        what = f"12 million pixels, JPEG of {path.stat().st_size / 1e6:.1f} MB"
        costs = in_own_process(traced, str(path))
    yield Line("loading everything that tracing needs, in a fresh interpreter", costs["loading"])
    yield Line(f"{what}: gray levels read", costs["read"], costs["decode"], "a bare decode")
    yield Line(f"{what}: file to outline of 1440 points", costs["trace"], costs["decode"], "a bare decode")


def photographed_to(path: str) -> dict[str, Spent]:
    """Take a photograph with noise, seam, print and shadow, and colour it a little as a sensor does."""
    from examples.recorded.photos import Ball, Lens, Lobe, Scene, photographed, saved  # noqa: PLC0415 - scipy is heavy

    focal = EQUIVALENT * math.hypot(WIDE, HIGH) / math.hypot(36.0, 24.0)
    lens = Lens(focal, (WIDE - 1) / 2, (HIGH - 1) / 2)
    ball = Ball(20.0, (Lobe(LOBES, AMPLITUDE, 1.0),), focal * 20.0 / PIXELS, 0.5, 40.0)
    scene = Scene(
        WIDE, HIGH, lens, (ball,), inside=0.1, outside=0.6, gradient=0.2, shadow=0.1, print_bar=0.3, seam=0.05,
        blur=1.3, shot=1e-3, read=0.003,
    )  # fmt: skip
    generator = np.random.default_rng(SEED)
    with spent() as cost:
        gray = photographed(scene, generator)[:, :, None].astype(np.int16)
        colours = gray + generator.integers(-3, 4, (HIGH, WIDE, 3), dtype=np.int16)
        saved(np.clip(colours, 0, 255).astype(np.uint8), Path(path), 92, equivalent=EQUIVALENT)
    return {"made": cost}


def traced(path: str) -> dict[str, Spent]:
    """Decode, read and trace by turns, and give the median of each."""
    with spent() as loading:
        from PIL import Image  # noqa: PLC0415 - what loading takes is measured by itself

        from ballbench.images.finding import outline_of  # noqa: PLC0415 - the same
        from ballbench.records.media.camera_file import camera_of  # noqa: PLC0415 - the same
        from ballbench.records.media.photo_file import read_photo  # noqa: PLC0415 - the same

    def decode() -> None:
        with Image.open(path) as picture:
            picture.load()

    def trace() -> None:
        photo = read_photo(Path(path))
        outline = outline_of(photo.coded, camera=camera_of(photo))
        assert not outline.refused
        lobe = 2.0 * abs(np.fft.rfft(outline.radius)[LOBES]) / outline.radius.size
        assert abs(lobe - PIXELS * AMPLITUDE / 20.0) < 0.1, "three lobes of 1.5 pixels, to a tenth"

    work: dict[str, Callable[[], object]] = {"decode": decode, "read": lambda: read_photo(Path(path)), "trace": trace}
    costs: dict[str, list[Spent]] = {name: [] for name in work}
    for _ in range(REPEATS):
        for name, do in work.items():
            with spent() as cost:
                do()
            costs[name].append(cost)
    medians = {name: sorted(every, key=lambda cost: cost.wall)[REPEATS // 2] for name, every in costs.items()}
    return {"loading": loading, **medians}
