"""A photograph as gray levels, upright once, with what the camera wrote about the lens."""

from __future__ import annotations

import math
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ballbench.errors import BadRecording, Fault
from ballbench.records.media.raw_photo import is_raw
from ballbench.records.media.recording_file import RecordingFile, take_in_recording
from ballbench.records.media.refusals import beyond_memory, other_kind, undecodable
from ballbench.records.media.tone_curve import as_srgb, curve_of, srgb_light

if TYPE_CHECKING:
    from PIL import Image

__all__ = ["LARGEST_PHOTO", "LensFacts", "Photo", "linear_light", "read_photo"]

LARGEST_PHOTO = 120_000_000
"""Most pixels that are decoded: above a phone's largest usual mode; half a gigabyte as float32 (own choice)."""

_WANTED = "a photograph (JPEG, PNG, HEIC, AVIF, TIFF, WEBP or BMP)"
_OPENERS = {
    "JPEG": ("JPEG", "MPO"), "PNG": ("PNG",), "HEIC": ("HEIF",), "AVIF": ("AVIF",), "TIFF": ("TIFF",),
    "WEBP": ("WEBP",), "BMP": ("BMP", "DIB"),
}  # fmt: skip
"""Pillow's names of what a kind may be opened as."""
_AGAIN = "copy it from the phone again, as the phone took it"
_TURNS = {2: (0, True), 3: (2, False), 4: (2, True), 5: (3, True), 6: (3, False), 7: (1, True), 8: (1, False)}
"""EXIF orientation to quarter turns counter-clockwise and whether left and right are exchanged afterwards
(CIPA DC-008, tag 274; the table of turns is held against Pillow's own in the tests)."""
_ORIENTATION, _EXIF, _MAKE, _MODEL = 0x0112, 0x8769, 0x010F, 0x0110
_FOCAL, _EQUIVALENT, _ZOOM, _WIDE, _HIGH, _EXPOSURE = 0x920A, 0xA405, 0xA404, 0xA002, 0xA003, 0x829A
"""CIPA DC-008, from memory."""
_EQUIVALENTS = (6.0, 3000.0)  # mm: from the widest fisheye to the longest lens; beyond, the tag is wrong (own choice)
_SMALL = 3_000_000  # pixels: under it no phone of the last ten years takes a photograph by itself (own choice)

_WITHOUT_LOSS = ("PNG", "BMP")
_TIFF_WITHOUT_LOSS = ("raw", "tiff_lzw", "tiff_adobe_deflate", "tiff_deflate", "packbits", "lzma", "zstd")
"""Pillow's names."""
_WHITE = 255.0  # in which a JPEG's steps are counted

_RESIZED = "This picture was made smaller or cut after it was taken: the lens's middle and focal length are not known."
_DEPTH = (
    "The camera kept depth beside the picture: a portrait mode blurs by reckoning and may touch the outline; if it was "
    "on, take it again without."
)
_OTHER_CURVE = "The file codes light by another curve than sRGB; it was followed."
_RAW = "set the phone to JPEG or HEIC, or develop the raw photograph and export it as JPEG, PNG or TIFF"
_NO_FACTS = "This picture carries no camera facts: it may have been sent by a messenger, made smaller or cut."


@dataclass(frozen=True, slots=True)
class LensFacts:
    """What the camera wrote about its lens; NaN where it wrote nothing.

    Parameters
    ----------
    focal : float
        Focal length, mm.
    equivalent : float
        Focal length that gives the same picture on 36 mm by 24 mm, mm.
    zoom : float
        Digital zoom, 1 for none.
    whole : bool
        Whether the picture is as large as the camera says that it took it, and nothing shows that it was cut.
    camera : bool
        Whether the file names a camera at all.
    """

    focal: float = math.nan
    equivalent: float = math.nan
    zoom: float = math.nan
    whole: bool = False
    camera: bool = False


@dataclass(frozen=True, slots=True)
class Photo:
    """A photograph.

    Parameters
    ----------
    coded : (h, w) uint8 or uint16 array
        Gray levels by the curve of sRGB, as nearly all files have them, upright: the orientation is applied exactly
        once. For colours the luma of ITU-R BT.601, which is what a JPEG keeps at full sharpness.
    bits : int
        Of `coded`, 8 or 16.
    file : RecordingFile
        Where it came from.
    lens : LensFacts
        What the camera wrote.
    notes : tuple of str
        What a reader must know.
    steps : float
        Mean of the steps by which the file's coding rounds the waves of light and dark in a block of pixels, as a share
        of white: 0.11 for a JPEG of quality 75. 0 for a file that is coded without loss, NaN where a file is coded with
        a loss that it does not tell.
    """

    coded: NDArray[np.uint8] | NDArray[np.uint16]
    bits: int
    file: RecordingFile
    lens: LensFacts
    notes: tuple[str, ...] = ()
    steps: float = math.nan

    @property
    def gray(self) -> NDArray[np.float32]:
        """Linear light, (h, w) float32, 0 black to 1 white; made anew at each call."""
        return linear_light(self.coded)


def linear_light(coded: NDArray[Any]) -> NDArray[np.float32]:
    """Turn coded gray levels to amounts of light.

    Parameters
    ----------
    coded : (...) uint8 or uint16 array, any shape
        Levels coded by the curve of sRGB.

    Returns
    -------
    (...) float32 array
        Light, 0 to 1.

    Notes
    -----
    IEC 61966-2-1, from memory: c/12.92 up to 0.04045, above it ((c + 0.055)/1.055)^2.4; held against scikit-image in
    the tests. A blurred edge is half as bright as its two sides in light, not in coded levels.
    """
    light: NDArray[np.float32] = np.take(_curve(np.iinfo(coded.dtype).max), coded)
    return light


@lru_cache(maxsize=2)
def _curve(largest: int) -> NDArray[np.float32]:
    """Light of every level."""
    light = srgb_light(np.arange(largest + 1) / largest).astype(np.float32)
    light.flags.writeable = False
    return light


def read_photo(path: Path) -> Photo:
    """Read a photograph.

    Parameters
    ----------
    path : Path
        JPEG, PNG, HEIC, AVIF, TIFF, WEBP or BMP, told by its bytes.

    Returns
    -------
    Photo
        Upright gray levels and what the camera wrote.

    Raises
    ------
    BadRecording
        No photograph, a raw one, cut off or damaged, several pictures in one, more than 120 million pixels, see-through
        parts, or two levels only.
    """
    file = take_in_recording(path, _WANTED)
    if file.family != "photograph":
        raise other_kind(file, _WANTED, "the photograph of the ball", _helps(file))
    try:
        _refuse_raw(file)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what Pillow warns of is either refused below or does not matter to gray
            with _opened(file) as picture:
                _refuse_what_is_too_large(file, picture)
                _refuse_several(file, picture)
                return _photo(file, picture)
    except BadRecording:
        raise
    except MemoryError as failure:
        raise beyond_memory(file, _WANTED, "make the camera's setting smaller") from failure
    except Exception as failure:  # decoders of damaged files raise whatever comes
        raise undecodable(file, _WANTED, "JPEG or PNG") from failure


def _opened(file: RecordingFile) -> Image.Image:
    """Open it far enough to know its size; a JPEG is asked for its luma only, which spares two thirds of the work."""
    from PIL import Image  # noqa: PLC0415 - heavy, and only a photograph needs it

    if file.kind == "HEIC":
        import pillow_heif  # noqa: PLC0415 - the same

        pillow_heif.register_heif_opener()
    formats = _OPENERS[file.kind]
    try:
        picture = Image.open(file.path, formats=formats)
    except Image.DecompressionBombError:  # Pillow's own bound lies above ours: say ours
        with file.path.open("rb") as opened, Image.OPEN[formats[0]][0](opened, file.name) as bare:
            _refuse_what_is_too_large(file, bare)
        raise
    if file.kind == "JPEG":
        picture.draft("L", None)
    return picture


def _refuse_what_is_too_large(file: RecordingFile, picture: Image.Image) -> None:
    pixels = picture.width * picture.height
    if pixels > LARGEST_PHOTO:
        found = f"{picture.width} by {picture.height} pixels, {pixels / 1e6:.0f} million"
        allowed = f"at most {LARGEST_PHOTO // 1_000_000} million pixels"
        raise BadRecording(Fault(file.name, found, allowed, "take it with the camera's usual setting, or cut it"))


def _refuse_raw(file: RecordingFile) -> None:
    if is_raw(file):
        raise BadRecording(Fault(file.name, "a raw photograph (DNG or the like)", _WANTED, _RAW))


def _refuse_several(file: RecordingFile, picture: Image.Image) -> None:
    """Films in a picture file; a JPEG or HEIC of a phone may hold further pictures behind the photograph."""
    count = getattr(picture, "n_frames", 1)
    if count > 1 and file.kind not in {"JPEG", "HEIC"}:
        raise BadRecording(Fault(file.name, f"{count} pictures in one file", "one photograph", "save one of them"))


def _photo(file: RecordingFile, picture: Image.Image) -> Photo:
    """Decode, make gray, turn upright."""
    exif = picture.getexif()
    # pillow-heif turns the picture itself and sets the tag to 1, Pillow does the same to a TIFF while it decodes
    turn = _turn(exif) if file.kind not in {"HEIC", "TIFF"} else 1
    lens, notes = _lens(exif, picture.size)
    coded, more = _gray(file, picture)
    curve = curve_of(file, picture) if picture.mode != "CMYK" else None
    if curve is not None:
        coded, more = as_srgb(coded, curve), (*more, _OTHER_CURVE)
    if file.kind == "HEIC":
        more = (*more, *_beside(picture))
    quarter, mirrored = _TURNS.get(turn, (0, False))
    upright = np.rot90(coded, quarter)
    upright = np.ascontiguousarray(upright[:, ::-1] if mirrored else upright)
    return Photo(upright, 8 * upright.itemsize, file, lens, (*notes, *more), _steps(file, picture))


def _steps(file: RecordingFile, picture: Image.Image) -> float:
    """Give the mean step of the coding: of a JPEG's first component, its luma (ITU-T T.81, from memory)."""
    if file.kind in _WITHOUT_LOSS:
        return 0.0
    if file.kind == "TIFF":
        return 0.0 if picture.info.get("compression") in _TIFF_WITHOUT_LOSS else math.nan
    tables, layers = getattr(picture, "quantization", None), getattr(picture, "layer", None)
    table = tables.get(layers[0][3]) if tables and layers else None
    return sum(table) / len(table) / _WHITE if table else math.nan


def _gray(file: RecordingFile, picture: Image.Image) -> tuple[NDArray[Any], tuple[str, ...]]:
    """Give the gray levels, and notes on how they came about."""
    mode = picture.mode
    if mode == "1":
        found = "a picture of two levels"
        raise BadRecording(Fault(file.name, found, "a photograph with shades of gray", _AGAIN))
    if mode == "F" or mode.startswith("I;32") or (mode == "I" and file.kind != "PNG"):
        found = f"levels of the sort {mode}, whose white is not known"
        raise BadRecording(Fault(file.name, found, "levels of 8 or 16 bits", "save it as PNG"))
    layered = mode in {"RGBA", "LA", "PA", "RGBa", "La"} or "transparency" in picture.info
    if layered and np.asarray(picture.convert("RGBA"))[:, :, 3].min() < 255:
        found = "see-through parts: a program cut out what is seen, and made the edge that would be measured"
        raise BadRecording(Fault(file.name, found, "a photograph without see-through parts", _AGAIN))
    if mode.startswith("I"):
        return np.asarray(picture).astype(np.uint16), ()
    notes: tuple[str, ...] = ()
    if mode == "P":
        notes = ("The file holds a palette: a few colours stand for all, which moves the edge.",)
    elif mode == "CMYK":
        notes = ("The file holds inks, not light: the edge may lie a little off.",)
    return np.asarray(picture if mode == "L" else picture.convert("L")), notes


def _turn(exif: Image.Exif) -> int:
    """Orientation as EXIF has it, whatever type it was written in; 1 where it is none."""
    written = exif.get(_ORIENTATION, 1)
    if isinstance(written, bytes):
        return written[0] if len(written) == 1 else 1
    number = _number(written)
    return 1 if math.isnan(number) else int(number)


def _beside(picture: Image.Image) -> Iterator[str]:
    """Say what else a HEIC holds that matters."""
    count = getattr(picture, "n_frames", 1)
    if count > 1:
        yield f"The file holds {count} pictures; the one that it names first is read."
    if picture.info.get("depth_images"):
        yield _DEPTH


def _lens(exif: Image.Exif, size: tuple[int, int]) -> tuple[LensFacts, tuple[str, ...]]:
    """Read what matters of the lens."""
    inner = exif.get_ifd(_EXIF)
    # since EXIF 3.0 names may be UTF-8 of a type of its own, which Pillow leaves out: numbers tell of a camera as well
    told = any(_number(inner.get(tag)) > 0.0 for tag in (_FOCAL, _EQUIVALENT, _EXPOSURE))
    camera = told or bool(exif.get(_MAKE) or exif.get(_MODEL))
    taken = sorted((_number(inner.get(_WIDE)), _number(inner.get(_HIGH))))
    known = not any(math.isnan(side) for side in taken)
    whole = camera and (not known or taken == sorted(map(float, size)))
    notes = []
    if not camera:
        notes.append(_NO_FACTS)
    elif not whole or size[0] * size[1] < _SMALL:
        notes.append(_RESIZED)
        whole = False
    zoom = _number(inner.get(_ZOOM))
    if zoom > 1.0:
        notes.append(f"The camera zoomed {zoom:.3g} times by cutting: fewer true pixels. Move nearer, or use the lens.")
    equivalent = _number(inner.get(_EQUIVALENT))
    least, most = _EQUIVALENTS
    equivalent = equivalent if least <= equivalent <= most else math.nan
    facts = LensFacts(_number(inner.get(_FOCAL)), equivalent, zoom, whole, camera)
    return facts, tuple(notes)


def _number(value: object) -> float:
    """Give a tag's number; NaN where it is none."""
    try:
        number = float(value)  # type: ignore[arg-type]
    except (TypeError, ValueError, ZeroDivisionError):
        return math.nan
    return number if math.isfinite(number) else math.nan


def _helps(file: RecordingFile) -> str:
    """Say how a photograph is made of a picture of another sort; empty: it is no picture."""
    if file.kind == "GIF":
        return "a GIF keeps 256 colours: hand over the photograph as the phone took it"
    if file.kind == "raw photograph":
        return _RAW
    return "export it as JPEG or PNG, without making it smaller" if file.family == "picture" else ""
