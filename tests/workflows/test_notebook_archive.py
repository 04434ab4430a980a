from __future__ import annotations

import hashlib
import io
import struct
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from made_evening import an_evening
from made_tests import sent

from ballbench.errors import BadInput, Fault
from ballbench.store import Notebook
from ballbench.workflows import recording_list, taken_archive
from ballbench.workflows.exchange import export_file
from ballbench.workflows.keep import one_test
from ballbench.workflows.keep import tests as all_tests
from ballbench.workflows.recordings import recording_bytes, recordings
from ballbench.workflows.take_in_test import TakeInWhole, take_in_whole

SAME = {"readings.csv", "corrections.csv", "requirement.toml", "bench.toml", "recordings.csv"}
"""What goes out of the second notebook to the byte as it came in. The kind of `test.toml` is new, `balls.csv` has its
lines in the order of reading, and `checks.csv` stays with the notebook in which the instruments were checked."""


def packed(files: dict[str, bytes]) -> bytes:
    """An archive of files."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return out.getvalue()


def contents(archive: bytes) -> dict[str, bytes]:
    """Files of an archive."""
    with zipfile.ZipFile(io.BytesIO(archive)) as found:
        return {name: found.read(name) for name in found.namelist()}


@pytest.fixture
def whole(notebook: Notebook) -> dict[str, bytes]:
    """The files of an evening with everything in it, but for their checksums."""
    files = contents(export_file(notebook, an_evening(notebook), "everything.zip"))
    del files["SHA256SUMS"]
    return files


def came(notebook: Notebook, tmp_path: Path, archive: bytes) -> int:
    """Take an archive in; give the test."""
    (tmp_path / "archive").write_bytes(archive)
    return take_in_whole(notebook, TakeInWhole(**sent(archive=tmp_path / "archive"))).id


def refused(notebook: Notebook, tmp_path: Path, archive: bytes) -> tuple[Fault, ...]:
    """Take in what cannot be; give the faults. Nothing is kept, and nothing lies outside of the notebook."""
    before, beside = len(all_tests(notebook, "")), {path.name for path in tmp_path.iterdir()}
    with pytest.raises(BadInput) as caught:
        came(notebook, tmp_path, archive)
    assert len(all_tests(notebook, "")) == before
    assert {path.name for path in tmp_path.iterdir()} <= beside | {"archive"}
    assert str(caught.value).replace("\n", "").isprintable()
    return caught.value.faults


def test_a_whole_test_goes_out_and_comes_in(notebook: Notebook, tmp_path: Path) -> None:
    """What is said of it and of its sittings, the notes of the room, and every recording at its reading."""
    first = an_evening(notebook)
    archive = export_file(notebook, first, "everything.zip")
    second = came(notebook, tmp_path, archive)
    went, back = contents(archive), contents(export_file(notebook, second, "everything.zip"))
    assert {name: went[name] for name in SAME} == {name: back[name] for name in SAME}
    assert back["test.toml"] == went["test.toml"].replace(b'kind = "whole"', b'kind = "taken in"')
    assert sorted(back["balls.csv"].splitlines()) == sorted(went["balls.csv"].splitlines())
    assert set(went) - set(back) == {"checks.csv"}
    sounds = [name for name in went if name.startswith("recordings/")]
    assert len(sounds) == 2
    assert {name: back[name] for name in sounds} == {name: went[name] for name in sounds}
    assert [(one.name, one.media_type) for one in recordings(notebook, second)] == [
        ("=drop 1.WAV", "audio/wav"), ("hall", "audio/wav"), ("b", "audio/wav")]  # fmt: skip
    assert recording_bytes(notebook, second, hashlib.sha256(b"noise").hexdigest()) == b"noise"
    pages = [one_test(notebook, test) for test in (first, second)]
    for one, other in zip(*([line.sitting for line in page.sittings] for page in pages), strict=True):
        for name in ("label", "kind", "begun", "ended", "air_c"):
            assert getattr(one, name) == getattr(other, name)
    assert pages[1].progress.test.title == "Winter league (invented)"
    third = contents(export_file(notebook, came(notebook, tmp_path, packed(back)), "everything.zip"))
    assert third == back


@pytest.mark.parametrize("name", ["../readings.csv", "/etc/passwd", "C:\\notes.txt", "notes.txt", "recordings/a.wav",
                                  "sub/readings.csv", "recordings/../x", "a\nb", "\u202egpj.exe"])  # fmt: skip
def test_a_name_that_no_test_has_is_refused(
    notebook: Notebook, tmp_path: Path, whole: dict[str, bytes], name: str
) -> None:
    """Paths upwards, absolute ones and strangers: told by name, and nothing is written anywhere."""
    (fault,) = refused(notebook, tmp_path, packed({**whole, name: b"x"}))
    assert fault.found == "a file that no test has"


@pytest.mark.parametrize("name", ["readings.csv", "requirement.toml"])
def test_what_a_test_needs_must_be_there(
    notebook: Notebook, tmp_path: Path, whole: dict[str, bytes], name: str
) -> None:
    """An archive without readings, or without the requirement."""
    del whole[name]
    (fault,) = refused(notebook, tmp_path, packed(whole))
    assert fault.where == f"archive, {name}"


def bomb(files: dict[str, bytes]) -> bytes:
    """A table of 200 MiB of one letter, packed into a few hundred kB."""
    return packed({**files, "readings.csv": b"a" * (200 * 1024**2)})


def lying_bomb(files: dict[str, bytes]) -> bytes:
    """The same, with directory and header saying that it unpacks to ten bytes."""
    text = bomb(files)
    return text.replace(struct.pack("<L", 200 * 1024**2), struct.pack("<L", 10))


def encrypted(files: dict[str, bytes]) -> bytes:
    """The flag of an encrypted file set in every header (APPNOTE.TXT of the format, 4.4.4, bit 0)."""
    text = packed({name: content for name, content in files.items() if name in {"readings.csv", "requirement.toml"}})
    text = text.replace(b"PK\x03\x04\x14\x00\x00", b"PK\x03\x04\x14\x00\x01")
    return text.replace(b"PK\x01\x02\x14\x03\x14\x00\x00", b"PK\x01\x02\x14\x03\x14\x00\x01")


def cut(files: dict[str, bytes]) -> bytes:
    """An archive that ends half way."""
    return packed(files)[:-400]


def damaged(files: dict[str, bytes]) -> bytes:
    """A table with a few bytes that are others."""
    text = bytearray(packed({**files, "readings.csv": bytes(range(256)) * 40}))
    text[60:70] = b"\xff" * 10
    return bytes(text)


def crowded(files: dict[str, bytes]) -> bytes:
    """More files than a test has."""
    return packed({**files, **{f"recordings/{i:064x}": b"" for i in range(5001)}})


def twice(files: dict[str, bytes]) -> bytes:
    """Two files of one name, of which a reader might take either."""
    out = io.BytesIO(packed(files))
    with pytest.warns(UserWarning, match="Duplicate"), zipfile.ZipFile(out, "a") as archive:
        archive.writestr("readings.csv", b"other")
    return out.getvalue()


@pytest.mark.parametrize(
    ("make", "found"),
    [(bomb, "unpacks to more"), (lying_bomb, ""), (encrypted, "encrypted"), (cut, "cannot be read"),
     (damaged, "cannot be read"), (crowded, "files"), (twice, "2 files of this name"),
     (lambda _: b"", "cannot be read"), (lambda _: b"product,ball\n", "cannot be read")],
    ids=["bomb", "lying bomb", "encrypted", "cut", "damaged", "crowded", "twice", "empty", "a table"],
)  # fmt: skip
def test_an_archive_that_cannot_be_trusted(
    notebook: Notebook, tmp_path: Path, whole: dict[str, bytes], make: Callable[[dict[str, bytes]], bytes], found: str
) -> None:
    """Each is refused in words, and the notebook is as it was."""
    faults = refused(notebook, tmp_path, make(whole))
    assert all(fault.where.startswith("archive") for fault in faults)
    assert found in faults[0].found


def test_many_small_files_are_bounded_together(
    notebook: Notebook, tmp_path: Path, whole: dict[str, bytes], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Recordings none of which is too large by itself: their sum is counted."""
    monkeypatch.setattr(taken_archive, "MOST_BYTES", 400_000)
    sounds = {f"recordings/{hashlib.sha256(bytes([i])).hexdigest()}.wav": bytes(100_000) for i in range(5)}
    (fault,) = refused(notebook, tmp_path, packed({**whole, **sounds}))
    assert "unpacks to more" in fault.found


def test_a_file_that_was_changed_is_told_by_its_checksum(notebook: Notebook, tmp_path: Path) -> None:
    """One digit of one reading: the archive is refused as long as its own sums stand in it."""
    files = contents(export_file(notebook, an_evening(notebook), "everything.zip"))
    files["readings.csv"] = files["readings.csv"].replace(b"1.5805", b"1.5905", 1)
    (fault,) = refused(notebook, tmp_path, packed(files))
    assert fault.where == "archive, 'readings.csv'"


def test_a_recording_with_other_bytes_than_its_name_says(
    notebook: Notebook, tmp_path: Path, whole: dict[str, bytes]
) -> None:
    """Named by the SHA-256 of something else: refused."""
    name = next(name for name in whole if name.startswith("recordings/"))
    (fault,) = refused(notebook, tmp_path, packed({**whole, name: b"something else"}))
    assert "SHA-256" in fault.found


def test_a_recording_of_no_reading(notebook: Notebook, tmp_path: Path, whole: dict[str, bytes]) -> None:
    """The list names a ball that the readings do not have."""
    whole["recordings.csv"] = whole["recordings.csv"].replace(b",Curlew,", b",Plover,")
    (fault,) = refused(notebook, tmp_path, packed(whole))
    assert (fault.where, "Plover" in fault.found) == ("recordings.csv", True)


def test_recordings_that_are_too_large_together_are_listed_alone(
    notebook: Notebook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The archive holds the list and none of the files, and comes in without them."""
    monkeypatch.setattr(recording_list, "MOST_PACKED", 9)
    archive = export_file(notebook, an_evening(notebook), "everything.zip")
    files = contents(archive)
    assert not [name for name in files if name.startswith("recordings/")]
    assert len(files["recordings.csv"].splitlines()) == 4
    assert recordings(notebook, came(notebook, tmp_path, archive)) == ()
