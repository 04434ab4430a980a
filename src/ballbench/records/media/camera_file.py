"""A camera's lens: where its middle is, how long its focus, how it bends straight lines; from a file or a photo."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

from ballbench.errors import BadRecording, Fault
from ballbench.records.fault_list import FaultList
from ballbench.records.media.photo_file import Photo
from ballbench.records.toml_fields import Fields, load_toml

__all__ = ["Camera", "camera_of", "read_camera"]

_KEYS = ("focal_px", "focal_relative_sd", "cx", "cy", "k1", "k2", "k_relative_sd")
_DIAGONAL = math.hypot(36.0, 24.0)
"""Diagonal of the frame to which equivalent focal lengths refer, mm; that makers go by the diagonal is common practice,
no source."""
_FOCAL_SD = 0.05  # of an equivalent focal length: whole millimetres, and breathing when focused near (own choice)
_OWN_SD = 0.005  # of a focal length from a calibration whose file says nothing (own choice)
_BEND_SD = 0.1  # the same of k1 and k2
_LEAST_FOCAL, _MOST_FOCAL = 50.0, 1e6  # pixels


@dataclass(frozen=True, slots=True)
class Camera:
    """A lens.

    Parameters
    ----------
    focal : float
        Focal length, pixels.
    cx, cy : float
        Where its axis meets the picture, pixels: columns to the right, rows down, 0 in the middle of the first pixel.
    k1, k2 : float
        Radial distortion: a point at the distance r off the axis, in focal lengths, is shown at
        r (1 + k1 r^2 + k2 r^4).
    focal_sd : float
        Standard uncertainty of `focal`, relative.
    bend_sd : float
        Standard uncertainty of `k1` and `k2`, relative.
    bend_known : bool
        Whether k1 and k2 were calibrated; otherwise they are 0 and only bounded.
    source : str
        ``"file"`` or ``"photo"``.
    """

    focal: float
    cx: float
    cy: float
    k1: float = 0.0
    k2: float = 0.0
    focal_sd: float = 0.0
    bend_sd: float = 0.0
    bend_known: bool = True
    source: str = "file"


def read_camera(path: Path) -> Camera:
    """Read a camera file.

    Parameters
    ----------
    path : Path
        TOML with ``focal_px``, ``cx``, ``cy`` and, as far as known, ``k1``, ``k2``, ``focal_relative_sd``,
        ``k_relative_sd``; all in pixels of the picture as it is looked at, upright.

    Returns
    -------
    Camera
        The lens.

    Raises
    ------
    BadRecording
        All faults at once.
    """
    name, content = load_toml(path, BadRecording)
    faults = FaultList()
    fields = Fields(name, "", content, faults)
    fields.known(_KEYS)
    fields.missing(("focal_px", "cx", "cy"))
    focal = fields.number("focal_px", least=_LEAST_FOCAL)
    if focal is not None and focal > _MOST_FOCAL:
        fields.fault("focal_px", f"{focal:g}", f"at most {_MOST_FOCAL:g}", "give the focal length in pixels")
    cx, cy = fields.number("cx", least=0.0), fields.number("cy", least=0.0)
    bends = [fields.number(key) for key in ("k1", "k2")]
    for key, bend in zip(("k1", "k2"), bends, strict=True):
        if bend is not None and abs(bend) > 2.0:
            fields.fault(key, f"{bend:g}", "between -2 and 2", "give it for distances in focal lengths, not in pixels")
    sd, bend_sd = fields.number("focal_relative_sd", least=0.0), fields.number("k_relative_sd", least=0.0)
    faults.raise_if_any(BadRecording)
    if focal is None or cx is None or cy is None:  # each has its fault above; said again for the type
        raise BadRecording(Fault(name, "no whole lens", "focal_px, cx and cy", "write all three"))
    known = any(bend is not None for bend in bends)
    return Camera(
        focal, cx, cy, bends[0] or 0.0, bends[1] or 0.0, _OWN_SD if sd is None else sd,
        _BEND_SD if bend_sd is None else bend_sd, known,
    )  # fmt: skip


def camera_of(photo: Photo) -> Camera | None:
    """Give the lens as far as the photograph itself tells it; None where it does not.

    Parameters
    ----------
    photo : Photo
        A whole picture, neither cut nor made smaller, whose camera wrote its equivalent focal length.

    Returns
    -------
    Camera or None
        Axis in the middle of the picture, no distortion: only bounded. Focal length in pixels = equivalent focal length
        times the picture's diagonal in pixels over 43.27 mm.
    """
    if not photo.lens.whole or math.isnan(photo.lens.equivalent):
        return None
    high, wide = photo.coded.shape
    focal = photo.lens.equivalent * math.hypot(high, wide) / _DIAGONAL
    if not _LEAST_FOCAL <= focal <= _MOST_FOCAL:
        return None
    return Camera(focal, (wide - 1) / 2.0, (high - 1) / 2.0, focal_sd=_FOCAL_SD, bend_known=False, source="photo")
