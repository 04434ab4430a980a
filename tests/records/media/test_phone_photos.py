from __future__ import annotations

import io
import math
import struct
import zlib
from pathlib import Path

import numpy as np
import pillow_heif
import pytest
from examples.recorded.photos import Ball, Lens, Scene, coded, light_of
from numpy.typing import NDArray
from PIL import Image, ImageOps
from tests.records.media.phone_files import exif_of, full_box, heic_of_tiles, png_with, profile_with, tiff

from ballbench.errors import BadRecording
from ballbench.images.finding import outline_of
from ballbench.records.media.camera_file import camera_of
from ballbench.records.media.photo_file import Photo, linear_light, read_photo
from ballbench.records.media.tone_curve import as_srgb

ORIENTATION = 0x0112


def scene() -> NDArray[np.uint8]:
    """A picture that no turn or mirror leaves as it is, in blocks that no compression blurs."""
    small = np.zeros((20, 30), dtype=np.uint8)
    small[:5, :5], small[:5, 15:], small[12:, 20:] = 255, 128, 60
    return np.kron(small, np.ones((8, 8), dtype=np.uint8))


PICTURE = Image.fromarray(scene()).convert("RGB")


def saved(picture: Image.Image, kind: str, **options: object) -> bytes:
    held = io.BytesIO()
    picture.save(held, kind, **options)
    return held.getvalue()


def read(path: Path, data: bytes) -> Photo:
    path.write_bytes(data)
    return read_photo(path)


def stands(photo: Photo, wanted: NDArray[np.uint8]) -> bool:
    """Whether the levels are those, as far as compression leaves them."""
    return photo.coded.shape == wanted.shape and float(np.abs(photo.coded.astype(float) - wanted).mean()) < 3.0


def refused(path: Path, data: bytes) -> str:
    with pytest.raises(BadRecording) as told:
        read(path, data)
    assert len(told.value.faults) == 1
    return str(told.value)


@pytest.mark.parametrize("quarters", range(4))
@pytest.mark.parametrize("mirrored", [None, 0, 1])
@pytest.mark.parametrize("orientation", [None, 1, 6])
def test_tiles_are_put_together_and_turned_once(
    tmp_path: Path, quarters: int, mirrored: int | None, orientation: int | None
) -> None:
    """A HEIC of 64 px tiles with thumbnail, gain map and depth: turned by its boxes, irot before imir, never by EXIF.

    ISO/IEC 23008-12, 6.5.10 and 6.5.12 (from memory): quarters counter-clockwise; axis 0 exchanges top and bottom, axis
    1 left and right.
    """
    data = heic_of_tiles(PICTURE, turned=quarters, mirrored=mirrored, orientation=orientation)
    wanted = np.rot90(scene(), quarters)
    wanted = wanted if mirrored is None else wanted[::-1] if mirrored == 0 else wanted[:, ::-1]
    photo = read(tmp_path / "a.heic", data)
    assert stands(photo, wanted)
    assert any("depth" in note for note in photo.notes)


def test_a_heic_under_other_brands(tmp_path: Path) -> None:
    """Major brands that phones write are photographs; without depth beside it no note."""
    data = heic_of_tiles(PICTURE, 128, beside=False)
    for brand in (b"mif1", b"heix", b"hevc", b"msf1"):
        photo = read(tmp_path / "a.heic", data[:8] + brand + data[12:])
        assert stands(photo, scene())
        assert not any("depth" in note for note in photo.notes)


def test_a_burst_gives_its_main_picture_and_says_so(tmp_path: Path) -> None:
    """Three pictures on a level, the third the main one (libheif writes them)."""
    burst = pillow_heif.from_pillow(PICTURE)
    burst.add_from_pillow(PICTURE.rotate(180))
    burst.add_from_pillow(PICTURE.rotate(90, expand=True))
    held = io.BytesIO()
    burst.save(held, quality=95, primary_index=2)
    photo = read(tmp_path / "a.heic", held.getvalue())
    assert stands(photo, np.rot90(scene(), 1))
    assert any("3 pictures" in note for note in photo.notes)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_avif_is_turned_once(tmp_path: Path, orientation: int) -> None:
    """All eight orientations, as Pillow writes them into the boxes and its own table turns them."""
    exif = Image.Exif()
    exif[ORIENTATION] = orientation
    turned = Image.fromarray(scene())
    turned.getexif()[ORIENTATION] = orientation
    photo = read(tmp_path / "a.avif", saved(PICTURE, "AVIF", quality=95, exif=exif))
    assert photo.file.kind == "AVIF"
    assert stands(photo, np.asarray(ImageOps.exif_transpose(turned)))


def test_a_jpeg_with_a_second_picture_or_a_film_behind_it_is_itself(tmp_path: Path) -> None:
    """A gain map behind it (multi-picture format), turned by EXIF; a film appended; progressive; gray; of RGB."""
    exif = Image.Exif()
    exif[ORIENTATION] = 6
    gain = PICTURE.resize((60, 40))
    data = saved(PICTURE, "MPO", save_all=True, append_images=[gain], quality=98, exif=exif)
    assert stands(read(tmp_path / "a.jpg", data), np.rot90(scene(), 3))
    plain = saved(PICTURE, "JPEG", quality=98)
    for other in (
        plain + b"\0\0\0\x18ftypisom" + bytes(4000), saved(PICTURE, "JPEG", quality=98, progressive=True),
        saved(PICTURE.convert("L"), "JPEG", quality=98, progressive=True),
        saved(PICTURE.convert("CMYK"), "JPEG", quality=98), saved(PICTURE, "JPEG", quality=98, keep_rgb=True),
    ):  # fmt: skip
        assert stands(read(tmp_path / "b.jpg", other), scene())


def light() -> NDArray[np.float64]:
    """A dark ball before a light ground, blurred, 0 to 1: its edge depends on the curve."""
    lens = Lens(6500.0, 219.5, 219.5)
    return np.clip(light_of(Scene(440, 440, lens, (Ball(20.0, (), 1000.0),), outside=0.8, blur=2.0)), 0.0, 1.0)


def _curve_tag(kind: int, *numbers: float) -> bytes:
    fixed = b"".join(struct.pack(">i", round(number * 65536)) for number in numbers)
    return b"para" + bytes(4) + struct.pack(">Hxx", kind) + fixed


def _power_tag(gamma: float) -> bytes:
    return b"curv" + bytes(4) + struct.pack(">IH", 1, round(gamma * 256))


def _hlg(amount: NDArray[np.float64]) -> NDArray[np.float64]:
    """Coding side of hybrid log-gamma, ITU-R BT.2100, table 5 (from memory)."""
    a, b, c = 0.17883277, 0.28466892, 0.55991073
    return np.where(amount <= 1 / 12, np.sqrt(3 * amount), a * np.log(np.maximum(12 * amount - b, 1e-9)) + c)


def _pq(amount: NDArray[np.float64]) -> NDArray[np.float64]:
    """Coding side of SMPTE ST 2084, ITU-R BT.2100, table 4 (from memory); 1 is 1000 cd/m2 here."""
    y = (0.1 * amount) ** 0.1593017578125
    return ((0.8359375 + 18.8515625 * y) / (1.0 + 18.6875 * y)) ** 78.84375


def _bright_heic(levels: NDArray[np.float64], transfer: int) -> bytes:
    """A HEIC of 10 bits with this transfer characteristic (ITU-T H.273)."""
    wide = np.repeat(np.round(65535 * levels).astype(np.uint16)[:, :, None], 3, axis=2)
    image = pillow_heif.from_bytes(mode="RGB;16", size=levels.shape[::-1], data=wide.tobytes())
    held = io.BytesIO()
    image.save(
        held, quality=98, chroma=444, color_primaries=9, transfer_characteristics=transfer, matrix_coefficients=9,
        full_range_flag=1,
    )  # fmt: skip
    return held.getvalue()


def _eight(levels: NDArray[np.float64]) -> Image.Image:
    return Image.fromarray(np.round(255 * levels).astype(np.uint8)).convert("RGB")


def _sixteen(levels: NDArray[np.float64]) -> Image.Image:
    return Image.fromarray(np.round(65535 * levels).astype(np.uint16))


SRGB_TAG = _curve_tag(3, 2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045)
TABLE = b"curv" + bytes(4) + struct.pack(">I", 1025)
TABLE += b"".join(struct.pack(">H", round(65535 * (k / 1024) ** 1.8)) for k in range(1025))
CODINGS = {
    "sRGB": (lambda x: saved(Image.fromarray(coded(x)).convert("RGB"), "PNG"), False),
    "sRGB curve in a profile, as with wider colours": (
        lambda x: saved(Image.fromarray(coded(x)), "JPEG", quality=98, icc_profile=profile_with(SRGB_TAG)), False,
    ),
    "power 2.2 in a profile": (
        lambda x: saved(_eight(x ** (1 / 2.2)), "JPEG", quality=98, icc_profile=profile_with(_power_tag(2.2))), True,
    ),
    "power 1.8 in a table": (lambda x: saved(_eight(x ** (1 / 1.8)), "PNG", icc_profile=profile_with(TABLE)), True),
    "power 1.8, parametric": (
        lambda x: saved(_eight(x ** (1 / 1.8)), "TIFF", icc_profile=profile_with(_curve_tag(0, 1.8))), True,
    ),
    "linear in a profile": (
        lambda x: saved(_eight(x), "PNG", icc_profile=profile_with(b"curv" + bytes(8))), True,
    ),
    "linear by gAMA, 16 bits": (
        lambda x: png_with(saved(_sixteen(x), "PNG"), b"gAMA", struct.pack(">I", 100_000)), True,
    ),
    "power 1.8 by gAMA": (
        lambda x: png_with(saved(_eight(x ** (1 / 1.8)), "PNG"), b"gAMA", struct.pack(">I", 55_556)), True,
    ),
    "HLG by cICP": (lambda x: png_with(saved(_sixteen(_hlg(x)), "PNG"), b"cICP", bytes([9, 18, 0, 1])), True),
    "HLG, HEIC of 10 bits": (lambda x: _bright_heic(_hlg(x), 18), True),
    "PQ, HEIC of 10 bits": (lambda x: _bright_heic(_pq(x), 16), True),
}  # fmt: skip


@pytest.mark.parametrize("name", CODINGS)
def test_light_is_the_same_however_it_is_coded(tmp_path: Path, name: str) -> None:
    """The same light through eleven curves: its edge, half-way between dark and light, stays within 0.03 px.

    Taken for sRGB the linear one would lie 1 px off. Compression and 8 bits leave 0.02 px of the mean radius.
    """
    write, other = CODINGS[name]
    photo = read(tmp_path / "ball", write(light()))
    assert any("another curve" in note for note in photo.notes) == other
    edge = outline_of(photo.coded)
    assert not edge.refused
    true = outline_of((65535 * _levels(light())).astype(np.uint16))
    assert abs(float(edge.radius.mean()) - float(true.radius.mean())) < 0.03


def _levels(amount: NDArray[np.float64]) -> NDArray[np.float64]:
    """Levels of sRGB, IEC 61966-2-1 (from memory), without rounding to 8 bits."""
    return np.where(amount <= 0.0031308, 12.92 * amount, 1.055 * amount ** (1 / 2.4) - 0.055)


def test_curves_for_bright_screens_have_their_published_levels() -> None:
    """ITU-R BT.2408, table 1 (from memory): 203 cd/m2 is coded as 75 % in HLG (26.5 % light) and 58 % in PQ."""
    from ballbench.records.media import tone_curve  # noqa: PLC0415 - only here its inside is looked at

    assert float(tone_curve._hlg(np.array(0.75))) == pytest.approx(0.265, abs=5e-4)
    assert float(tone_curve._hlg(np.array(1.0))) == pytest.approx(1.0, abs=1e-6)
    assert 1e4 * float(tone_curve._pq(np.array(0.5806))) == pytest.approx(203.0, rel=5e-3)
    assert float(tone_curve._pq(np.array(1.0))) == pytest.approx(1.0, abs=1e-9)


def test_the_lightest_level_keeps_its_place() -> None:
    """Coding anew by the curve that it had already changes nothing; a picture without light stays dark."""
    levels = np.array([[0, 10, 128, 200]], dtype=np.uint8)
    same = as_srgb(levels, lambda level: np.where(level <= 0.04045, level / 12.92, ((level + 0.055) / 1.055) ** 2.4))
    assert np.abs(same / 257.0 - levels).max() < 0.01
    assert linear_light(as_srgb(levels, lambda level: level))[0, 3] == pytest.approx(
        linear_light(levels)[0, 3], abs=1e-4
    )
    assert as_srgb(np.zeros((2, 2), np.uint8), lambda level: level).max() == 0


@pytest.mark.parametrize(
    "profile",
    [
        b"not a profile at all", profile_with(_power_tag(1.8))[:200], profile_with(_curve_tag(9, 1.8)),
        profile_with(_curve_tag(1, 2.4, 0.0, 0.1)), profile_with(b"curv" + bytes(4) + struct.pack(">I", 2**31)),
        profile_with(_power_tag(1.8)).replace(b"RGB ", b"CMYK", 1),
    ],
    ids=["no profile", "cut off", "unknown sort", "slope 0", "endless table", "of inks"],
)  # fmt: skip
def test_a_profile_that_cannot_be_read_changes_nothing(tmp_path: Path, profile: bytes) -> None:
    """Levels stay as the file has them."""
    photo = read(tmp_path / "a.png", saved(PICTURE, "PNG", icc_profile=profile))
    assert photo.bits == 8
    assert np.array_equal(photo.coded, scene())


RAW = {
    "sensor levels first": tiff([(254, 4, 0), (256, 3, 4000), (257, 3, 3000), (262, 3, 32803), (50706, 4, 1025)]),
    "preview first": tiff([(254, 4, 1), (256, 3, 160), (257, 3, 120), (262, 3, 2), (330, 4, 99)]),
    "linear raw": tiff([(254, 4, 0), (262, 3, 34892)]),
    "CR": b"II*\0\x10\0\0\0CR\2\0" + bytes(100),
    "crx": struct.pack(">I", 24) + b"ftypcrx " + bytes(4) + b"crx isom" + bytes(100),
}


@pytest.mark.parametrize("what", RAW)
def test_raw_photographs_are_refused_with_what_to_do(tmp_path: Path, what: str) -> None:
    """DNG and others built as TIFF: what would be read is a preview or no picture."""
    words = refused(tmp_path / "a.dng", RAW[what])
    assert "a raw photograph" in words
    assert "export it as JPEG, PNG or TIFF" in words


def test_other_pictures_are_named(tmp_path: Path) -> None:
    """JPEG XL, JPEG 2000, GIF, and a film of pictures: what it is, what is read, what to do."""
    for name, data, found in (
        ("a.jxl", b"\xff\x0a" + bytes(50), "JPEG XL"), ("b.jxl", b"\0\0\0\x0cJXL \r\n\x87\n" + bytes(50), "JPEG XL"),
        ("a.jp2", saved(PICTURE, "JPEG2000"), "JPEG 2000"), ("a.gif", saved(PICTURE, "GIF"), "GIF"),
        ("a.avif", saved(PICTURE, "AVIF", save_all=True, append_images=[PICTURE.rotate(90)]), "2 pictures"),
        ("a.png", saved(PICTURE, "PNG", save_all=True, append_images=[PICTURE.rotate(90)]), "2 pictures"),
    ):  # fmt: skip
        assert found in refused(tmp_path / name, data)


def _png_of(wide: int, high: int) -> bytes:
    data = bytearray(saved(Image.new("L", (4, 4)), "PNG"))
    data[16:24] = struct.pack(">II", wide, high)
    data[29:33] = struct.pack(">I", zlib.crc32(bytes(data[12:29])))
    return bytes(data)


def _jpeg_of(wide: int, high: int) -> bytes:
    data = bytearray(saved(Image.new("L", (64, 64)), "JPEG"))
    at = data.index(b"\xff\xc0")
    data[at + 5 : at + 9] = struct.pack(">HH", high, wide)
    return bytes(data)


def _bmp_of(wide: int, high: int) -> bytes:
    data = bytearray(saved(Image.new("L", (4, 4)), "BMP"))
    data[18:26] = struct.pack("<ii", wide, high)
    return bytes(data)


def _heic_of(wide: int, high: int) -> bytes:
    return heic_of_tiles(PICTURE, 128, beside=False, size=(wide, high))


@pytest.mark.parametrize("make", [_png_of, _jpeg_of, _bmp_of, _heic_of], ids=["PNG", "JPEG", "BMP", "HEIC"])
@pytest.mark.parametrize(
    ("wide", "high", "millions"), [(12_000, 11_000, "132 million"), (60_000, 50_000, "3000 million")]
)
def test_a_picture_that_claims_to_be_huge_is_held_against_our_own_bound(
    tmp_path: Path, make: object, wide: int, high: int, millions: str
) -> None:
    """Below Pillow's own bound and above it the message is the same: its size, and what is allowed here."""
    words = refused(tmp_path / "a", make(wide, high))  # type: ignore[operator]
    assert f"{wide} by {high} pixels, {millions}; allowed: at most 120 million pixels" in words


@pytest.mark.parametrize(
    ("said", "used"), [(0, False), (1, False), (65535, False), (26, True), (13, True), (600, True)]
)
def test_a_focal_length_that_no_lens_has_is_not_believed(tmp_path: Path, said: int, used: bool) -> None:
    """EXIF says 0 for unknown (CIPA DC-008, 0xA405, from memory); 1 mm and 65 m are no lens either."""
    exif = Image.Exif()
    exif[0x010F] = "Invented"
    exif.get_ifd(0x8769).update({0xA405: said, 0xA002: 2400, 0xA003: 1800})
    photo = read(tmp_path / "a.jpg", saved(Image.new("L", (2400, 1800), 90), "JPEG", exif=exif))
    assert math.isnan(photo.lens.equivalent) == (not used)
    assert (camera_of(photo) is not None) == used


@pytest.mark.parametrize("order", ["<", ">"])
@pytest.mark.parametrize(
    ("orientation", "turned"),
    [((3, 6), True), ((4, 6), True), ((1, 6), True), ((3, 0), False), ((3, 9), False), ((2, 66), False)],
    ids=["short", "long", "byte", "0", "9", "a letter"],
)
def test_facts_of_a_camera_in_whatever_type_they_were_written(
    tmp_path: Path, order: str, orientation: tuple[int, int], turned: bool
) -> None:
    """An orientation as short, long or byte; a maker's name as UTF-8 of EXIF 3.0; a focal length of 0/0."""
    kind, number = orientation
    form = {1: "B", 2: "B", 3: "H", 4: "I"}[kind]
    exif = exif_of(
        [(0x010F, 129, "Invented é".encode()), (0x0112, kind, struct.pack(order + form, number))],
        [(0x920A, 5, bytes(8)), (0xA405, 3, struct.pack(f"{order}H", 26))],
        order,
    )
    data = saved(Image.new("L", (2400, 1800), 90), "JPEG")
    body = b"Exif\0\0" + exif
    photo = read(tmp_path / "a.jpg", data[:2] + b"\xff\xe1" + struct.pack(">H", len(body) + 2) + body + data[2:])
    assert photo.coded.shape == ((2400, 1800) if turned else (1800, 2400))
    assert (photo.lens.camera, photo.lens.whole, photo.lens.equivalent) == (True, True, 26.0)
    assert camera_of(photo) is not None


@pytest.mark.parametrize("seed", range(8))
def test_damaged_photographs_are_read_or_refused(tmp_path: Path, seed: int) -> None:
    """Bytes of boxes, profiles and chunks changed at random: a photograph, or one fault."""
    sources = (
        heic_of_tiles(PICTURE, 128), saved(PICTURE, "JPEG", icc_profile=profile_with(TABLE)),
        saved(PICTURE, "TIFF"), saved(PICTURE, "AVIF"),
    )  # fmt: skip
    generator = np.random.default_rng(seed)
    data = bytearray(sources[seed % 4])
    for place in generator.integers(8, min(len(data), 1500), 10):
        data[place] = generator.integers(256)
    shape, faults = 2, 1
    try:
        shape = read(tmp_path / "a", bytes(data)).gray.ndim
    except BadRecording as told:
        faults = len(told.faults)
    assert (shape, faults) == (2, 1)


def test_the_boxes_made_here_say_what_they_are() -> None:
    """A full box has a version and flags before its content (ISO/IEC 14496-12, 4.2)."""
    assert full_box(b"ispe", b"\1\2", 1, 2) == b"\0\0\0\x0eispe\1\0\0\2\1\2"
