from __future__ import annotations

import io
import struct
import zlib
from pathlib import Path

import numpy as np
import pillow_heif
import pytest
from numpy.typing import NDArray
from PIL import Image, ImageOps
from skimage import color

from ballbench.errors import BadRecording
from ballbench.records.media import photo_file
from ballbench.records.media.photo_file import linear_light, read_photo

ORIENTATION = 0x0112


def scene() -> NDArray[np.uint8]:
    """A picture that no turn or mirror leaves as it is, in blocks that no compression blurs."""
    small = np.zeros((20, 30), dtype=np.uint8)
    small[:5, :5], small[:5, 15:], small[12:, 20:] = 255, 128, 60
    return np.kron(small, np.ones((8, 8), dtype=np.uint8))


def upright(levels: NDArray[np.uint8], orientation: int) -> NDArray[np.uint8]:
    """Turn by Pillow's own table of orientations."""
    picture = Image.fromarray(levels)
    picture.getexif()[ORIENTATION] = orientation
    return np.asarray(ImageOps.exif_transpose(picture))


def written(folder: Path, kind: str, orientation: int) -> Path:
    """Write the scene with an orientation, as the kind's own writer does."""
    picture, exif = Image.fromarray(scene()).convert("RGB"), Image.Exif()
    exif[ORIENTATION] = orientation
    file = folder / f"{orientation}.{kind}"
    if kind == "HEIC":
        heic = pillow_heif.from_pillow(picture)
        heic.info["exif"] = exif.tobytes()
        heic.save(file, quality=95)
    else:
        picture.save(file, kind, exif=exif, quality=98)
    return file


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF", "WEBP", "HEIC"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_orientation_is_applied_exactly_once(tmp_path: Path, kind: str, orientation: int) -> None:
    """All eight orientations of CIPA DC-008 come out upright, as Pillow's own table turns them; HEIC by its own box."""
    file = written(tmp_path, kind, orientation)
    if kind == "HEIC":
        assert (b"irot" in file.read_bytes() or b"imir" in file.read_bytes()) == (orientation > 1)
    wanted = upright(scene(), orientation)
    read = read_photo(file).coded
    assert read.shape == wanted.shape
    assert np.abs(read.astype(float) - wanted).mean() < 3.0  # compression's ripples at the blocks' edges


def test_a_heic_that_turns_itself_is_not_turned_again(tmp_path: Path) -> None:
    """ISO/IEC 23008-12 (from memory): a HEIC is turned by its own box; an EXIF orientation beside it turns nothing."""
    boxed, plain = written(tmp_path, "HEIC", 6), written(tmp_path, "HEIC", 1)
    assert read_photo(boxed).coded.shape == (240, 160)
    data = plain.read_bytes()
    for order in ("<", ">"):
        tag = struct.pack(f"{order}HHI", ORIENTATION, 3, 1)
        data = data.replace(tag + struct.pack(f"{order}H", 1), tag + struct.pack(f"{order}H", 6))
    assert data != plain.read_bytes()
    plain.write_bytes(data)
    assert read_photo(plain).coded.shape == (160, 240)


def test_steps_are_those_of_the_table_for_the_luma(tmp_path: Path) -> None:
    """A JPEG written with steps of 7 of 255 for the luma and of 50 for colours: 7/255, in gray and in colours.

    By the table of ITU-T T.81 (K.1, whose 64 numbers add to 3688, from memory) at quality 50: 57.6/255.
    """
    picture, tables = Image.fromarray(scene()).convert("RGB"), {0: [7] * 64, 1: [50] * 64}
    for name, made in (("gray", picture.convert("L")), ("colours", picture)):
        made.save(tmp_path / f"{name}.jpg", qtables=tables if made.mode == "RGB" else {0: tables[0]})
        assert read_photo(tmp_path / f"{name}.jpg").steps == pytest.approx(7 / 255)
    picture.save(tmp_path / "half.jpg", quality=50, progressive=True)
    assert read_photo(tmp_path / "half.jpg").steps == pytest.approx(3688 / 64 / 255)


@pytest.mark.parametrize("kind", ["PNG", "BMP", "TIFF", "TIFF by JPEG", "WEBP", "HEIC", "AVIF"])
def test_steps_are_none_without_loss_and_not_known_where_nothing_tells_them(tmp_path: Path, kind: str) -> None:
    """PNG, BMP and plain TIFF lose nothing (their standards); what TIFF, WEBP, HEIC and AVIF lose is not told."""
    if kind == "HEIC":
        file = written(tmp_path, kind, 1)
    else:
        file = tmp_path / "picture"
        more = {"compression": "jpeg"} if kind == "TIFF by JPEG" else {}
        Image.fromarray(scene()).convert("RGB").save(file, kind.split(maxsplit=1)[0], **more)
    steps = read_photo(file).steps
    assert steps == 0.0 if kind in {"PNG", "BMP", "TIFF"} else np.isnan(steps)


def test_light_is_that_of_the_srgb_curve() -> None:
    """scikit-image's conversion of gray to luminance (IEC 61966-2-1) gives the same light for all 256 levels, to 1e-4.

    Its luminance weights add to 1 within 1e-7; float32 keeps seven digits.
    """
    levels = np.arange(256, dtype=np.uint8)
    gray = np.repeat(levels[None, :, None], 3, axis=2)
    assert linear_light(levels) == pytest.approx(color.rgb2xyz(gray)[0, :, 1], abs=1e-4)
    assert linear_light(np.array([0, 65535], dtype=np.uint16)).tolist() == [0.0, 1.0]


@pytest.mark.parametrize(("mode", "kind"), [
    ("L", "JPEG"), ("RGB", "JPEG"), ("CMYK", "JPEG"), ("L", "PNG"), ("RGB", "PNG"), ("RGBA", "PNG"), ("LA", "PNG"),
    ("P", "PNG"), ("RGB", "BMP"), ("RGB", "WEBP"), ("CMYK", "TIFF"), ("I;16", "PNG"), ("I;16", "TIFF"),
])  # fmt: skip
def test_every_way_of_coding_gives_the_same_gray_levels(tmp_path: Path, mode: str, kind: str) -> None:
    """The same scene by Pillow in each mode and kind: gray levels within what compression and inks change."""
    levels = scene()
    if mode == "I;16":
        picture = Image.fromarray(levels.astype(np.uint16) * 257)
    elif mode == "CMYK":
        picture = Image.fromarray(levels).convert("RGB").convert("CMYK")
    else:
        picture = Image.fromarray(levels).convert(mode)
    file = tmp_path / "ball"
    picture.save(file, kind, quality=98)
    photo = read_photo(file)
    assert photo.bits == (16 if mode == "I;16" else 8)
    assert np.abs(photo.gray - linear_light(levels)).mean() < 0.01
    assert photo.gray.dtype == np.float32
    assert any("palette" in note for note in photo.notes) == (mode == "P")
    assert any("inks" in note for note in photo.notes) == (mode == "CMYK")


def jpeg(size: tuple[int, int] = (60, 40)) -> bytes:
    """A JPEG of noise, some kilobytes long."""
    levels = np.random.default_rng(5).integers(0, 256, (size[1], size[0], 3), dtype=np.uint8)
    out = io.BytesIO()
    Image.fromarray(levels).save(out, "JPEG")
    return out.getvalue()


def test_what_cannot_be_decoded_is_refused_in_one_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Cut off, garbled, another kind, several pictures, see-through, two levels, too many pixels: one fault each."""
    noise = Image.fromarray(np.random.default_rng(6).integers(0, 256, (40, 60, 3), dtype=np.uint8))
    heic = tmp_path / "whole.heic"
    pillow_heif.from_pillow(noise).save(heic)
    gif, film, cut_out, two = io.BytesIO(), io.BytesIO(), io.BytesIO(), io.BytesIO()
    noise.save(gif, "GIF")
    noise.save(film, "WEBP", save_all=True, append_images=[noise.rotate(90, expand=False)])
    faded = noise.convert("RGBA")
    faded.putpixel((3, 3), (1, 2, 3, 0))
    faded.save(cut_out, "PNG")
    noise.convert("1").save(two, "PNG")
    cases = {
        "cut.jpg": (jpeg()[:2000], "cannot be decoded"), "cut.heic": (heic.read_bytes()[:900], "cannot be decoded"),
        "garbled.png": (b"\x89PNG\r\n\x1a\n" + bytes(range(200)), "cannot be decoded"),
        "head.jpg": (b"\xff\xd8\xff\xe0", "cannot be decoded"), "ball.gif": (gif.getvalue(), "GIF"),
        "film.webp": (film.getvalue(), "2 pictures in one file"), "cut-out.png": (cut_out.getvalue(), "see-through"),
        "two.png": (two.getvalue(), "two levels"), "sound.jpg": (b"RIFF\x00\x00\x00\x00WAVEfmt ", "a sound (WAV)"),
        "words.jpg": (b"no photograph", "no known kind"),
    }  # fmt: skip
    for name, (data, words) in cases.items():
        file = tmp_path / name
        file.write_bytes(data)
        with pytest.raises(BadRecording) as told:
            read_photo(file)
        assert len(told.value.faults) == 1
        assert words in str(told.value)
        assert name in told.value.faults[0].where
        assert str(tmp_path) not in str(told.value)
    monkeypatch.setattr(photo_file, "LARGEST_PHOTO", 2399)
    whole = tmp_path / "whole.jpg"
    whole.write_bytes(jpeg())
    with pytest.raises(BadRecording, match="60 by 40 pixels"):
        read_photo(whole)


def test_a_file_that_claims_to_be_huge_is_refused_before_it_is_decoded(tmp_path: Path) -> None:
    """A PNG head of 60,000 by 60,000 pixels, 3.6 thousand million, in a file of some bytes: refused by its head."""
    out = io.BytesIO()
    Image.new("L", (4, 4)).save(out, "PNG")
    data = bytearray(out.getvalue())
    data[16:24] = struct.pack(">II", 60_000, 60_000)
    data[29:33] = struct.pack(">I", zlib.crc32(bytes(data[12:29])))
    file = tmp_path / "bomb.png"
    file.write_bytes(bytes(data))
    with pytest.raises(BadRecording):
        read_photo(file)


@pytest.mark.parametrize("stop", [200, 900, 1800, 3000])
@pytest.mark.parametrize("seed", range(6))
def test_damaged_bytes_never_give_anything_but_a_photo_or_a_fault(tmp_path: Path, seed: int, stop: int) -> None:
    """Bytes changed at random places: either it decodes, or BadRecording says so."""
    generator = np.random.default_rng(seed)
    data = np.frombuffer(jpeg(), dtype=np.uint8).copy()
    data[generator.integers(20, min(stop, data.size), 12)] = generator.integers(0, 256, 12, dtype=np.uint8)
    file = tmp_path / "ball.jpg"
    file.write_bytes(data.tobytes())
    faults = 0
    try:
        read = read_photo(file).coded.ndim == 2
    except BadRecording as told:
        read, faults = False, len(told.faults)
    assert read or faults == 1


def test_what_the_camera_wrote_is_read(tmp_path: Path) -> None:
    """Equivalent focal length, zoom and size of CIPA DC-008; a picture that was made smaller is told by its size."""
    exif = Image.Exif()
    exif[0x010F] = "Invented"
    exif.get_ifd(0x8769).update({0xA405: 26, 0x920A: 5.4, 0xA404: 2.0, 0xA002: 2400, 0xA003: 1800})
    picture = Image.new("L", (2400, 1800), 90)
    file = tmp_path / "whole.jpg"
    picture.save(file, exif=exif)
    whole = read_photo(file)
    assert (whole.lens.equivalent, whole.lens.focal, whole.lens.zoom) == (26.0, 5.4, 2.0)
    assert whole.lens.whole
    assert any("zoomed 2 times" in note for note in whole.notes)
    picture.resize((1200, 900)).save(file, exif=exif)
    smaller = read_photo(file)
    assert not smaller.lens.whole
    assert any("made smaller or cut" in note for note in smaller.notes)
    picture.save(file)
    assert not read_photo(file).lens.camera
    assert any("no camera facts" in note for note in read_photo(file).notes)
