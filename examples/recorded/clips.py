"""Invented clips of a dropped ball with known truth: flight integrated numerically, drawn, filmed, coded.

The flight is an ordinary differential equation that scipy integrates (weight, buoyancy, carried air, quadratic drag);
at the plate the ball's lowest point dips below it for the contact time as half a sine. A pinhole camera looks at it,
from the front or from an angle, its rows read one after the other; each row is the mean of what its exposure saw.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

__all__ = ["Filmed", "Scene", "film", "motion_of", "nearer", "pictures", "write_clip"]

Array = NDArray[np.float64]
_TICKS = 90_000
"""Ticks a second of the time stamps, as phones write them (from memory)."""
_SLICES, _SLICE = 8, 1.5
"""Moments of an exposure that are averaged, at least; and how far apart they are where the ball is fastest, px."""


@dataclass(frozen=True, slots=True)
class Scene:
    """A drop and the camera in front of it; lengths in m, times in s, angles in degrees.

    Parameters
    ----------
    drop, restitution, bounces : float, float, int
        Height of the lowest point at the release; ratio of speeds at each impact; impacts.
    mass, diameter, drag, air_density, gravity, contact : float
        kg (true mass), m, drag coefficient, kg/m3, m/s2, s.
    drift, depth_drift, thrown : float
        Speed sideways, and towards the camera, after the first impact; towards the camera before it, m/s.
    held, tail : float
        Time before the release, and of the film after the last impact, s.
    distance, width, height, pixel : float, int, int, float
        Camera to the fall line; the picture, px; m a pixel at that distance, square on.
    pitch, roll, eye : float
        Looking down, turned about its axis; height above the plate of the point that the picture's middle shows.
    rate, exposure, readout : float
        Frames a second; share of a frame's time; time from the first row to the last, s.
    jitter : float
        SD of each frame's own time about the even pace, s; it is a true time, and written as such.
    stamp_noise : float
        SD of what is wrong with a written time, s.
    repeated : int
        Each so-manieth picture is the one before it once more; 0: none.
    slowed, ramp : float, tuple
        Factor of all written times; (time, factor): from that time on they run slower by it.
    ball, ground, texture, shading, noise, flicker : float
        Grey levels 0 to 255: ball, ground, SD of the ground's texture, how much darker the ball's foot is than its
        top, noise; and the relative swing of a lamp at 100 Hz.
    others : int
        Further things of the ball's size that move about.
    off_picture : float
        The middle of the picture is moved sideways, px.
    bend : float
        By what share of its distance from the middle the lens moves what stands at the upper edge outwards.
    slow_drag : float
        Power by which the drag coefficient rises as the ball gets slower; `drag` is that at three quarters of the speed
        of the first impact without air.
    """

    drop: float = 0.305
    restitution: float = 0.9
    bounces: int = 3
    mass: float = 0.00274
    diameter: float = 0.040
    drag: float = 0.45
    air_density: float = 1.2
    gravity: float = 9.80665
    contact: float = 0.001
    drift: float = 0.02
    depth_drift: float = 0.0
    held: float = 0.15
    tail: float = 0.05
    distance: float = 1.2
    width: int = 160
    height: int = 480
    pixel: float = 0.00085
    pitch: float = 0.0
    roll: float = 0.0
    eye: float = 0.17
    rate: float = 240.0
    exposure: float = 0.3
    readout: float = 0.0
    jitter: float = 0.0
    stamp_noise: float = 0.0
    repeated: int = 0
    slowed: float = 1.0
    ramp: tuple[float, float] = (math.inf, 1.0)
    ball: float = 215.0
    ground: float = 70.0
    texture: float = 8.0
    shading: float = 30.0
    noise: float = 2.0
    flicker: float = 0.0
    others: int = 0
    off_picture: float = 0.0
    bend: float = 0.0
    thrown: float = 0.0
    slow_drag: float = 0.0


@dataclass(frozen=True, slots=True)
class Filmed:
    """The truth of a clip.

    Parameters
    ----------
    rebound : float
        Lowest point of the ball at the top of its first rebound, above the plate, mm.
    drop : float
        As the scene has it, mm.
    restitution : tuple of float
        Launch over impact speed, impact by impact.
    impacts : tuple of float
        When it touches the plate, s after the first frame.
    scale : float
        mm a pixel at the plate, square on.
    frames : int
        How many were written.
    """

    rebound: float
    drop: float
    restitution: tuple[float, ...]
    impacts: tuple[float, ...]
    scale: float
    frames: int


def motion_of(scene: Scene) -> tuple[Callable[[Array], Array], Filmed, float]:
    """Integrate a drop.

    Returns
    -------
    tuple
        Height of the ball's lowest point above the plate, m, as a function of times, s; the truth, its frames not yet
        counted; and the time of the last impact.
    """
    displaced = scene.air_density * math.pi * scene.diameter**3 / 6.0
    inertia = scene.mass + displaced / 2.0
    pull = scene.gravity * (scene.mass - displaced) / inertia
    drag = scene.air_density * math.pi * scene.diameter**2 / 8.0 * scene.drag / inertia

    usual = 0.75 * math.sqrt(2.0 * scene.gravity * scene.drop)

    def forces(_: float, state: Array) -> list[float]:
        rising = (usual / max(abs(state[1]), 1e-3 * usual)) ** scene.slow_drag
        return [state[1], -pull - drag * rising * abs(state[1]) * state[1]]

    def floor(_: float, state: Array) -> float:
        return float(state[0])

    floor.terminal, floor.direction = True, -1  # type: ignore[attr-defined]
    pieces: list[tuple[float, float, Callable[[Array], Array]]] = []
    time, state = scene.held, [scene.drop, 0.0]
    impacts, ratios, tops = [], [], []
    for _ in range(scene.bounces + 1):
        flight = solve_ivp(forces, (0.0, 20.0), state, events=floor, dense_output=True, rtol=1e-10, atol=1e-12)
        end = float(flight.t_events[0][0])
        dense = flight.sol
        pieces.append((time, time + end, lambda t, dense=dense: dense(t)[0]))  # type: ignore[misc]
        moments = np.linspace(0.0, end, 20001)
        tops.append(float(dense(moments)[0].max()))
        speed = -float(flight.y_events[0][0][1])
        time += end
        impacts.append(time)
        dip = speed * scene.contact / math.pi
        length = max(scene.contact, 1e-9)
        pieces.append((time, time + length, lambda t, d=dip, n=length: -d * np.sin(math.pi * t / n)))  # type: ignore[misc]
        time += scene.contact
        ratios.append(scene.restitution)
        state = [1e-12, scene.restitution * speed]

    def height(times: Array) -> Array:
        found = np.where(times < scene.held, scene.drop, 0.0)
        for begin, end, piece in pieces:
            inside = (times >= begin) & (times < end)
            if inside.any():
                found[inside] = piece(times[inside] - begin)
        return found

    truth = Filmed(
        1e3 * tops[1], 1e3 * scene.drop, tuple(ratios[: scene.bounces]), tuple(impacts[: scene.bounces]),
        1e3 * scene.pixel, 0,
    )  # fmt: skip
    return height, truth, impacts[scene.bounces - 1] + (impacts[-1] - impacts[-2]) * (scene.tail > 0.0)


def pictures(scene: Scene, rng: np.random.Generator) -> Iterator[tuple[float, NDArray[np.uint8]]]:
    """Film a drop: the time that is written beside each picture, s, and the picture, (height, width) uint8."""
    height, _, end = motion_of(scene)
    count = int((end + scene.tail) * scene.rate)
    ground = _ground(scene, rng)
    others = _others(scene, rng)
    true = np.arange(count) / scene.rate + scene.jitter * rng.standard_normal(count)
    written = true + scene.stamp_noise * rng.standard_normal(count)
    written -= written[0]
    written = np.maximum.accumulate(written - 1e-4 * np.arange(count)) + 1e-4 * np.arange(count)  # times go on
    late = np.maximum(written - scene.ramp[0], 0.0)
    written = scene.slowed * (written + late * (scene.ramp[1] - 1.0))
    last: NDArray[np.uint8] | None = None
    for i, (time, stamp) in enumerate(zip(true, written, strict=True)):
        if last is None or not (scene.repeated and i % scene.repeated == scene.repeated - 1):
            last = _picture(scene, height, float(time), ground, others, rng)
        yield float(stamp), last


def film(path: Path, scene: Scene, rng: np.random.Generator, **coding: object) -> Filmed:
    """Film a drop into a file; give its truth. `coding` goes to `write_clip`."""
    _, truth, _ = motion_of(scene)
    count = write_clip(path, pictures(scene, rng), **coding)  # type: ignore[arg-type]
    return Filmed(truth.rebound, truth.drop, truth.restitution, truth.impacts, truth.scale, count)


def write_clip(
    path: Path,
    shown: Iterator[tuple[float, NDArray[np.uint8]]],
    *,
    codec: str = "libx264",
    options: dict[str, str] | None = None,
    bit_rate: int = 0,
    turned: int = 0,
    ticks: int = _TICKS,
    rate: int = 240,
    comment: str = "",
) -> int:
    """Write pictures with their times.

    Parameters
    ----------
    path : Path
        Its ending names the container.
    shown : iterator
        Times in s, and pictures of one size, both sides even.
    codec, options, bit_rate : str, dict, int
        As FFmpeg's libraries name them; bits a second, 0: as the coder chooses.
    turned : int
        Degrees by which the file asks to be turned when it is shown.
    ticks, rate : int
        Ticks a second of the time stamps; nominal frames a second.
    comment : str
        What the file says of itself.

    Returns
    -------
    int
        Frames written.
    """
    count = 0
    with av.open(str(path), "w") as container:
        if comment:
            container.metadata["comment"] = comment
        stream = container.add_stream(codec, rate=rate)
        stream.pix_fmt = "gray" if codec == "ffv1" else "yuv420p"
        stream.options = (
            {"crf": "20", "preset": "veryfast"} if options is None and codec == "libx264" else options or {}
        )
        if bit_rate:
            stream.bit_rate = bit_rate
        stream.codec_context.time_base = Fraction(1, ticks)
        for time, picture in shown:
            if not count:
                stream.height, stream.width = picture.shape
                if turned:
                    stream.set_display_rotation(turned)
            frame = av.VideoFrame.from_ndarray(picture, format="gray").reformat(format=stream.pix_fmt)
            frame.pts, frame.time_base = round(time * ticks), Fraction(1, ticks)
            for packet in stream.encode(frame):
                container.mux(packet)
            count += 1
        for packet in stream.encode(None):
            container.mux(packet)
    return count


def _ground(scene: Scene, rng: np.random.Generator) -> Array:
    """A wall with a soft texture, and a darker plate below it."""
    rough = rng.standard_normal((scene.height // 8 + 2, scene.width // 8 + 2))
    fine = np.kron(rough, np.ones((8, 8)))[: scene.height, : scene.width]
    wall = scene.ground + scene.texture * (0.7 * fine + 0.3 * rng.standard_normal((scene.height, scene.width)))
    _, y, _ = _project(scene, np.array([0.0]), np.array([0.0]), np.array([0.0]))
    wall[int(np.clip(y[0], 0, scene.height)) :] *= 0.6
    return wall


def _others(scene: Scene, rng: np.random.Generator) -> Array:
    """Start and speed of further things, px and px/s: rows of x, y, vx, vy."""
    where = rng.uniform(0.2, 0.8, (scene.others, 2)) * (scene.width, scene.height)
    return np.hstack([where, rng.uniform(-0.4, 0.4, (scene.others, 2)) * scene.height])


def _project(scene: Scene, x: Array, y: Array, z: Array) -> tuple[Array, Array, Array]:
    """Give where points are seen, px, and the pixels a metre there; y up from the plate, z towards the camera, m."""
    pitch, roll = math.radians(scene.pitch), math.radians(scene.roll)
    up, out = y - scene.eye, z
    depth = scene.distance - (up * math.sin(pitch) + out * math.cos(pitch))
    focal = scene.distance / scene.pixel
    a, b = focal * x / depth, focal * (up * math.cos(pitch) - out * math.sin(pitch)) / depth
    across, above = a * math.cos(roll) - b * math.sin(roll), a * math.sin(roll) + b * math.cos(roll)
    bent = 1.0 + scene.bend * (across**2 + above**2) / (scene.height / 2.0) ** 2
    return scene.width / 2.0 + scene.off_picture + across * bent, scene.height / 2.0 - above * bent, focal / depth


def nearer(scene: Scene, moment: Array) -> Array:
    """Give how much nearer to the camera than at the first impact the ball is, m."""
    since = moment - scene.held - math.sqrt(2.0 * scene.drop / scene.gravity)
    falls = np.clip(since, -math.sqrt(2.0 * scene.drop / scene.gravity), 0.0)  # from the release to the impact
    return np.asarray(scene.thrown * falls + scene.depth_drift * np.maximum(since, 0.0))


def _picture(
    scene: Scene, height: Callable[[Array], Array], time: float, ground: Array, others: Array, rng: np.random.Generator
) -> NDArray[np.uint8]:
    first = scene.held + math.sqrt(2.0 * scene.drop / scene.gravity)
    seen = ground.copy()
    smear = math.sqrt(2.0 * scene.gravity * scene.drop) * scene.exposure / scene.rate / scene.pixel
    slices = max(_SLICES, math.ceil(smear / _SLICE))
    parts = (np.arange(slices) + 0.5) / slices * scene.exposure / scene.rate

    def place(moment: Array) -> tuple[Array, Array, Array]:
        x, y, size = _project(
            scene, scene.drift * np.maximum(moment - first, 0.0), height(moment) + scene.diameter / 2.0,
            nearer(scene, moment),
        )  # fmt: skip
        return x, y, size * scene.diameter / 2.0

    for ox, oy, vx, vy in others:
        x, y = ox + vx * time, oy + vy * time
        radius = scene.diameter / scene.pixel / 2.0
        _paint(seen, [(np.full(scene.height, x), np.full(scene.height, y), np.full(scene.height, radius))], scene)
    rows = np.arange(scene.height) + 0.5
    _paint(seen, [place(time + part + scene.readout * rows / scene.height) for part in parts], scene)
    seen *= 1.0 + scene.flicker * math.sin(2.0 * math.pi * 100.0 * time)
    seen += scene.noise * rng.standard_normal(seen.shape, dtype=np.float32)
    return np.clip(np.rint(seen), 0, 255).astype(np.uint8)


def _paint(seen: Array, places: list[tuple[Array, Array, Array]], scene: Scene) -> None:
    """Draw a ball, the mean over its places; a place has x, y and radius for each row of the picture."""
    high, wide = seen.shape
    rows, columns = np.arange(high) + 0.5, np.arange(wide) + 0.5
    touched = np.any([np.abs(rows - y) < radius + 1.0 for _, y, radius in places], axis=0)
    if not touched.any():
        return
    left = int(np.clip(min(float((x - r)[touched].min()) for x, _, r in places) - 2, 0, wide))
    right = int(np.clip(max(float((x + r)[touched].max()) for x, _, r in places) + 3, 0, wide))
    r, c = np.flatnonzero(touched), np.arange(left, right)
    if not c.size:
        return
    cover, light = np.zeros((r.size, c.size)), np.zeros((r.size, c.size))
    for x, y, radius in places:
        inside = _disc(rows[r], columns[c], x[r], y[r], radius[r])
        cover += inside
        light += inside * (scene.ball - 0.5 * scene.shading * np.clip((rows - y)[r] / radius[r], -1, 1))[:, None]
    part = np.ix_(r, c)
    seen[part] = light / len(places) + seen[part] * (1.0 - cover / len(places))


def _disc(rows: Array, columns: Array, x: Array, y: Array, radius: Array) -> Array:
    """Share of each pixel that a disc covers; its place may change from row to row."""
    away = np.hypot(columns[None, :] - x[:, None], (rows - y)[:, None])
    return np.clip(radius[:, None] - away + 0.5, 0.0, 1.0)
