from __future__ import annotations

import math
from pathlib import Path

import pytest
from PIL import Image

from ballbench.errors import BadRecording
from ballbench.records.media.camera_file import camera_of, read_camera
from ballbench.records.media.photo_file import read_photo


def test_a_camera_file_is_read(tmp_path: Path) -> None:
    """What stands in the file is what comes out; bends that are left out are said not to be known."""
    file = tmp_path / "camera.toml"
    file.write_text("focal_px = 3000\ncx = 2000.5\ncy = 1500\nk1 = 0.05\nk2 = -0.01\nfocal_relative_sd = 0.002\n")
    camera = read_camera(file)
    assert (camera.focal, camera.cx, camera.cy, camera.k1, camera.k2) == (3000.0, 2000.5, 1500.0, 0.05, -0.01)
    assert (camera.focal_sd, camera.bend_known, camera.source) == (0.002, True, "file")
    file.write_text("focal_px = 3000\ncx = 2000\ncy = 1500\n")
    assert not read_camera(file).bend_known


def test_all_faults_of_a_camera_file_come_at_once(tmp_path: Path) -> None:
    """An unknown key, a text, a missing number and a bend in the wrong unit: four faults."""
    file = tmp_path / "camera.toml"
    file.write_text('focal = 3000\nfocal_px = "far"\ncx = 10\nk1 = 40.0\n')
    with pytest.raises(BadRecording) as told:
        read_camera(file)
    assert len(told.value.faults) == 4


def test_the_focal_length_comes_from_its_equivalent(tmp_path: Path) -> None:
    """26 mm on a frame of 36 mm by 24 mm whose diagonal is 5000 pixels: 26 * 5000/43.267 = 3004.7 pixels (algebra)."""
    exif = Image.Exif()
    exif[0x010F] = "Invented"
    exif.get_ifd(0x8769).update({0xA405: 26, 0xA002: 4000, 0xA003: 3000})
    file = tmp_path / "ball.jpg"
    Image.new("L", (4000, 3000), 90).save(file, exif=exif)
    camera = camera_of(read_photo(file))
    assert camera is not None
    assert camera.focal == pytest.approx(26 * 5000 / math.hypot(36, 24), rel=1e-12)
    assert (camera.cx, camera.cy, camera.bend_known, camera.source) == (1999.5, 1499.5, False, "photo")
    Image.new("L", (4000, 3000), 90).save(file)
    assert camera_of(read_photo(file)) is None
