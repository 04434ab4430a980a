"""The same trouble with a recording is said in the same words by `listen`, `trace` and `watch`."""

from __future__ import annotations

import io
import json
import os
import sys
import wave
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

Run = Callable[..., Any]
RECORDINGS = Path(__file__).parents[2] / "examples" / "winter-league" / "recordings"
LISTS = {"listen": "recordings", "trace": "photos", "watch": "clips"}
WANTED = {
    "listen": "a sound (WAV, FLAC, M4A, MP3 or Ogg) or a film with sound (MP4, MOV)",
    "trace": "a photograph (JPEG, PNG, HEIC, AVIF, TIFF, WEBP or BMP)",
    "watch": "a filmed clip (MP4, MOV, AVI, WebM)",
}
OWN = {"listen": "the recording of the drop", "trace": "the photograph of the ball", "watch": "the clip of the drop"}
"""What each command says of itself; everything else must be equal."""


def words(command: str, *files: str) -> list[str]:
    return [command, *files, *(() if command == "trace" else ("--ball", "40 mm, 2.7 g"))]


def refusals(run: Run, path: Path) -> list[str]:
    """What each of the three commands says of a file, status 2 each, without its own words."""
    told = []
    for command, name in LISTS.items():
        ran = run(*words(command, str(path)), "--json", "-")
        assert (ran.status, ran.err) == (2, ""), ran.err
        one = json.loads(ran.out)[name][0]
        assert one["file"] == path.name
        told.append(one["refused"].replace(WANTED[command], "WANTED").replace(OWN[command], "OWN").rstrip("."))
    return told


def jpeg() -> bytes:
    out = io.BytesIO()
    Image.fromarray(np.random.default_rng(1).integers(0, 256, (40, 60, 3), dtype=np.uint8)).save(out, "JPEG")
    return out.getvalue()


BYTES: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "an empty file (allowed: WANTED); copy it from the phone again"),
    "table": (b"product,ball\nCurlew,1\n", "a file of no known kind (allowed: WANTED); choose OWN"),
    "UTF-16 table": (
        "product,ball\nCurlew,1\n".encode("utf-16"), "a file of no known kind (allowed: WANTED); choose OWN",
    ),
    "random bytes": (np.random.default_rng(2).bytes(3000), "a file of no known kind (allowed: WANTED); choose OWN"),
    "PDF": (b"%PDF-1.4\n" + bytes(200), "a PDF (allowed: WANTED); choose OWN"),
    "zip": (b"PK\x03\x04" + bytes(200), "a zip archive (allowed: WANTED); choose OWN"),
    "GIF": (b"GIF89a" + bytes(200), "a picture (GIF) (allowed: WANTED); choose OWN"),
}  # fmt: skip


@pytest.mark.parametrize("kind", BYTES)
def test_what_none_of_them_reads_is_refused_alike(ballbench: Run, tmp_path: Path, kind: str) -> None:
    """Empty, a table, random bytes, a PDF: the marks of the formats say what it is, one sentence for all three."""
    path = tmp_path / "Curlew_07"
    path.write_bytes(BYTES[kind][0])
    for told in refusals(ballbench, path):
        assert told.startswith(BYTES[kind][1])


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="the system has no named pipes")
def test_what_is_no_file_is_refused_alike_and_nothing_hangs(ballbench: Run, tmp_path: Path) -> None:
    """Not there, a folder, a named pipe that nobody writes to, a file of 3 GiB (sparse): the same words from each."""
    (tmp_path / "folder").mkdir()
    os.mkfifo(tmp_path / "pipe")
    with (tmp_path / "large").open("wb") as file:
        file.truncate(3 * 1024**3)
    for name, said in (
        ("none", "no such file (allowed: an existing file); check the name and the folder"),
        ("folder", "a folder (allowed: WANTED); name the file inside the folder"),
        ("pipe", "something that is not a regular file (allowed: WANTED); copy it to a file"),
        ("large", "a file of 3.0 GiB (allowed: at most 2 GiB); cut out the part with the ball"),
    ):
        assert refusals(ballbench, tmp_path / name) == [said] * 3


def test_each_names_the_command_for_what_another_reads(ballbench: Run, tmp_path: Path) -> None:
    """A photograph, a sound, a film: whoever does not read it says what it is and who does."""
    photo, sound = tmp_path / "Curlew_07.jpg", tmp_path / "Curlew_07.wav"
    photo.write_bytes(jpeg())
    with wave.open(str(sound), "wb") as out:
        out.setparams((1, 2, 48000, 0, "NONE", ""))
        out.writeframes(bytes(96000))
    film = RECORDINGS / "Curlew_07_film.mp4"
    for command, path, said in (
        (
            "listen",
            photo,
            "a photograph (JPEG) (allowed: WANTED); choose OWN; a photograph of a ball is for `ballbench",
        ),
        ("watch", photo, "a photograph (JPEG) (allowed: WANTED); choose OWN; a photograph of a ball is for `ballbench"),
        ("watch", sound, "a sound (WAV) (allowed: WANTED); choose OWN; a sound is for `ballbench listen`"),
        ("trace", sound, "a sound (WAV) (allowed: WANTED); choose OWN; a sound is for `ballbench listen`"),
        ("trace", film, "a sound or film (MP4 or MOV) (allowed: WANTED); choose OWN; a film is for `ballbench watch`"),
    ):
        ran = ballbench(*words(command, str(path)), "--json", "-")
        assert ran.status == 2
        told = json.loads(ran.out)[LISTS[command]][0]["refused"]
        assert told.replace(WANTED[command], "WANTED").replace(OWN[command], "OWN").startswith(said)


def test_what_is_broken_is_said_alike(ballbench: Run, tmp_path: Path) -> None:
    """The mark of the right kind and noise behind it: no decoder makes anything of it."""
    noise = np.random.default_rng(3).bytes(3000)
    for command, head, kind, export in (
        ("listen", b"fLaC", "a sound (FLAC)", "WAV"),
        ("trace", b"\xff\xd8\xff\xe0", "a photograph (JPEG)", "JPEG or PNG"),
        ("watch", b"\x1aE\xdf\xa3", "a sound or film (Matroska or WebM)", "MP4 (H.264)"),
    ):
        path = tmp_path / "Curlew_07"
        path.write_bytes(head + noise)
        ran = ballbench(*words(command, str(path)), "--json", "-")
        assert ran.status == 2
        assert json.loads(ran.out)[LISTS[command]][0]["refused"].rstrip(".") == (
            f"{kind} that cannot be decoded: damaged, cut short, protected, or another thing under this name (allowed: "
            f"{WANTED[command]}); copy it from the phone again, or export it as {export}"
        )


@pytest.mark.parametrize("command", LISTS)
def test_a_file_that_is_named_twice_is_refused_alike(
    ballbench: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: str
) -> None:
    """By one name or by two ways to it, also through a link: one message that names it, status 2."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "a").write_bytes(jpeg())
    (tmp_path / "link").symlink_to("a")
    for other in ("a", "./a", str(tmp_path / "a"), "link"):
        ran = ballbench(*words(command, "a", other))
        assert (ran.status, ran.out) == (2, "")
        assert ran.err.startswith("ballbench: a: found the same file twice.\n  Allowed: each ")
        assert ran.err.rstrip().endswith(" once. What to do: name it once.")


@pytest.mark.parametrize(("command", "most"), [("listen", 500), ("trace", 200), ("watch", 500)])
def test_too_many_files_are_refused_alike(ballbench: Run, command: str, most: int) -> None:
    """One more than are read at a time, and a seed below 0: both at once, before any is opened."""
    ran = ballbench(*words(command, *(f"{n}.x" for n in range(most + 1))), "--seed", "-1")
    assert (ran.status, ran.out) == (2, "")
    assert f"ballbench: {command}: found {most + 1} files.\n  Allowed: {most} at most." in ran.err
    assert "option --seed: found -1." in ran.err


def test_a_copy_under_another_name_is_noted(ballbench: Run, tmp_path: Path) -> None:
    """The same bytes as two balls' recordings (SHA-256): they count, and a note says that it is one recording."""
    whole = (RECORDINGS / "Curlew_07.m4a").read_bytes()
    for name in ("Curlew_07.m4a", "Curlew_08.m4a"):
        (tmp_path / name).write_bytes(whole)
    ran = ballbench(*words("listen", *(str(tmp_path / name) for name in ("Curlew_07.m4a", "Curlew_08.m4a"))))
    assert ran.status == 0
    assert "Curlew_07.m4a and Curlew_08.m4a are one recording under 2 names" in " ".join(ran.out.split())


def test_the_notes_of_several_photographs_say_that_they_are_of_each(ballbench: Run, tmp_path: Path) -> None:
    """Two photographs without camera facts: what is said of both is not said of 'this picture' alone."""
    for name in ("Curlew_07.jpg", "Plover_11.jpg"):
        (tmp_path / name).write_bytes((RECORDINGS / name).read_bytes())
    ran = ballbench("trace", str(tmp_path / "Curlew_07.jpg"), str(tmp_path / "Plover_11.jpg"))
    assert ran.status == 0
    notes = [line for line in ran.out.splitlines() if "This picture carries no camera facts" in line]
    assert [line.startswith("· Of each photograph: ") for line in notes] == [True]


if sys.platform == "win32":  # links need a right there that few have
    pytestmark = pytest.mark.skip(reason="links are made otherwise there")
