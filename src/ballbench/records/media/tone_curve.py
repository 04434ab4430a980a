"""How a photograph codes light in levels, where that is another way than the curve of sRGB.

A blurred edge lies where the light is half-way between its two sides; with a wrong curve it lies beside. Phones write
sRGB, or the same curve with wider colours, in an ICC profile; developed raw photographs may be linear or follow a
power, and photographs for bright screens the curves of ITU-R BT.2100.
"""

from __future__ import annotations

import struct
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ballbench.records.media.recording_file import RecordingFile

__all__ = ["as_srgb", "curve_of", "srgb_light"]

Floats = NDArray[np.float64]
Curve = Callable[[Floats], Floats]

_SAME = 3e-3
"""Light, of 1, by which a curve may be off that of sRGB and is taken for it (own choice)."""
_USUAL = 0.005  # of a gAMA about 1/2.2 (own choice)
_PQ, _HLG, _LINEAR = 16, 18, 8
_BOX_HEAD = 256 * 1024  # bytes of an AVIF in which its colour box is looked for


def srgb_light(level: Floats) -> Floats:
    """Turn levels to light by the curve of sRGB.

    Parameters
    ----------
    level : (...) float64 array, any shape
        0 to 1.

    Returns
    -------
    (...) float64 array
        Light, 0 to 1; IEC 61966-2-1, from memory.
    """
    return np.where(level <= 0.04045, level / 12.92, ((level + 0.055) / 1.055) ** 2.4)


def _srgb_level(light: Floats) -> Floats:
    return np.where(light <= 0.04045 / 12.92, light * 12.92, 1.055 * light ** (1.0 / 2.4) - 0.055)


def curve_of(file: RecordingFile, picture: Any) -> Curve | None:
    """Give the curve by which a photograph codes light; None for that of sRGB, or where nothing is said.

    Parameters
    ----------
    file : RecordingFile
        Where it lies.
    picture : PIL.Image.Image
        Opened.

    Returns
    -------
    callable or None
        Levels 0 to 1 to light, 0 to 1 of the lightest level.

    Notes
    -----
    What counts is, in turn: the colour of ITU-T H.273 that a HEIC, AVIF or PNG names, where it is linear or one for
    bright screens; an ICC profile; a PNG's gAMA where no sRGB chunk stands beside it, and 1/2.2 is what is usually
    written beside sRGB.
    """
    profile = picture.info.get("icc_profile") or b""
    curve = _by_number(_transfer(file, picture, profile))
    if curve is None and profile:
        curve = _of_profile(profile)
    elif curve is None and "gamma" in picture.info and "srgb" not in picture.info:
        power = float(picture.info["gamma"])
        usual = abs(power - 1.0 / 2.2) < _USUAL
        curve = _power(1.0 / power) if 0.1 < power < 10.0 and not usual else None
    if curve is None:
        return None
    level = np.linspace(0.0, 1.0, 257)
    light = curve(level)
    usable = bool(np.isfinite(light).all()) and light[-1] > 0.0 and bool(np.all(np.diff(light) >= 0.0))
    return curve if usable and np.abs(light - srgb_light(level)).max() > _SAME else None


def as_srgb(coded: NDArray[Any], curve: Curve) -> NDArray[np.uint16]:
    """Code gray levels anew by the curve of sRGB.

    Parameters
    ----------
    coded : (h, w) uint8 or uint16 array
        As the file has them.
    curve : callable
        Levels 0 to 1 to light.

    Returns
    -------
    (h, w) uint16 array
        The lightest level of the picture keeps its place: only how light is shared out below it changes.
    """
    largest = np.iinfo(coded.dtype).max
    light = np.clip(curve(np.arange(largest + 1) / largest), 0.0, None)
    top = int(coded.max()) if coded.size else 0
    if light[top] <= 0.0:
        return coded.astype(np.uint16) * np.uint16(65535 // largest)
    scale = float(srgb_light(np.array(top / largest))) / light[top]
    table = np.round(65535.0 * _srgb_level(np.clip(light * scale, 0.0, 1.0))).astype(np.uint16)
    anew: NDArray[np.uint16] = np.take(table, coded)
    return anew


def _transfer(file: RecordingFile, picture: Any, profile: bytes) -> int:
    """Number of the transfer characteristics (ITU-T H.273, from memory) that a file names; 0 where it names none."""
    if file.kind == "PNG":
        return _of_png(file)
    if profile:
        return 0
    if file.kind == "HEIC":
        return int((picture.info.get("nclx_profile") or {}).get("transfer_characteristics", 0))
    if file.kind == "AVIF":
        with file.path.open("rb") as opened:
            head = opened.read(_BOX_HEAD)
        at = head.find(b"colrnclx")
        return int.from_bytes(head[at + 10 : at + 12], "big") if at >= 0 and b"tmap" not in head else 0
    return 0


def _of_png(file: RecordingFile) -> int:
    """Look for the chunk cICP before the picture itself; PNG, third edition, 11.3.2.6, from memory."""
    with file.path.open("rb") as opened:
        at = 8
        for _ in range(200):
            opened.seek(at)
            head = opened.read(12)
            if len(head) < 12 or head[4:8] == b"IDAT":
                return 0
            if head[4:8] == b"cICP":
                return head[9]
            at += 12 + int.from_bytes(head[:4], "big")
    return 0


def _by_number(transfer: int) -> Curve | None:
    if transfer == _LINEAR:
        return _power(1.0)
    return {_PQ: _pq, _HLG: _hlg}.get(transfer)


def _pq(level: Floats) -> Floats:
    """Light of SMPTE ST 2084 (ITU-R BT.2100, table 4), 1 for 10 000 cd/m2; from memory."""
    m1, m2, c1, c2, c3 = 2610 / 16384, 2523 / 32, 3424 / 4096, 2413 / 128, 2392 / 128
    root = level ** (1.0 / m2)
    return (np.maximum(root - c1, 0.0) / (c2 - c3 * root)) ** (1.0 / m1)


def _hlg(level: Floats) -> Floats:
    """Light before the camera by hybrid log-gamma (ITU-R BT.2100, table 5); from memory."""
    a = 0.17883277
    b, c = 1.0 - 4.0 * a, 0.5 - a * np.log(4.0 * a)
    return np.where(level <= 0.5, level**2 / 3.0, (np.exp((level - c) / a) + b) / 12.0)


def _power(gamma: float) -> Curve:
    return lambda level: level**gamma


def _of_profile(profile: bytes) -> Curve | None:
    """Read the tone curve of gray or green out of an ICC profile (ICC.1, 10.6 and 10.18, from memory)."""
    try:
        if profile[16:20] not in {b"RGB ", b"GRAY"}:
            return None
        count = min(struct.unpack_from(">I", profile, 128)[0], 200)
        tags = [struct.unpack_from(">4sII", profile, 132 + 12 * number) for number in range(count)]
        place = {name: (start, long) for name, start, long in tags}
        start, long = place.get(b"kTRC") or place[b"gTRC"]
        return _of_tag(profile[start : start + long])
    except (struct.error, LookupError, ValueError, ArithmeticError):
        return None


def _of_tag(tag: bytes) -> Curve | None:
    if tag[:4] == b"curv":
        count = struct.unpack_from(">I", tag, 8)[0]
        if count == 0:
            return _power(1.0)
        if count == 1:
            return _power(struct.unpack_from(">H", tag, 12)[0] / 256.0)
        table = np.frombuffer(tag, ">u2", count, 12) / 65535.0
        return lambda level: np.interp(level, np.linspace(0.0, 1.0, count), table)
    if tag[:4] == b"para":
        kind = struct.unpack_from(">H", tag, 8)[0]
        numbers = np.frombuffer(tag, ">i4", (1, 3, 4, 5, 7)[kind], 12) / 65536.0
        return _parametric(kind, [float(number) for number in numbers])
    return None


def _parametric(kind: int, numbers: list[float]) -> Curve:
    """Give one of the five curves of ICC.1, table of function types: a power, with an offset and a straight foot."""
    g, a, b, c, d, e, f = (*numbers, *(0.0,) * (7 - len(numbers)))
    if kind == 0:
        return _power(g)
    if kind in {1, 2}:
        d, e, f, c = -b / a, (c if kind == 2 else 0.0), (c if kind == 2 else 0.0), 0.0
    return lambda level: np.where(level >= d, np.maximum(a * level + b, 0.0) ** g + e, c * level + f)
