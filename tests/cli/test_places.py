"""Places that cannot be written to are refused before the work, and nothing there is touched."""

from __future__ import annotations

import errno
import os
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from ballbench.cli.places import check_places
from ballbench.errors import BadRequest
from ballbench.presentation import report_files, whole_files
from ballbench.presentation.document import Document
from ballbench.presentation.whole_files import write_whole

Run = Callable[..., Any]
ROOT = Path(__file__).parents[2]
RECORDINGS = ROOT / "examples" / "winter-league" / "recordings"
ON_LINUX = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="/dev/full is a device of Linux")
FLIGHT = ("--ball", "40 mm, 2.7 g")

COMMANDS: dict[str, tuple[list[str], tuple[str, ...]]] = {
    "judge": (["box.csv", "--spec", "rule.toml"], ("--json", "--report")),
    "compare": (["box.csv", "--quantity", "diameter"], ("--json", "--report")),
    "qualify": (["box.csv"], ("--json", "--report", "--write-bench")),
    "plan": (["--spec", "rule.toml", "--true-sd", "0.03"], ("--json", "--report")),
    "vee": (["vee.csv"], ("--json", "--report")),
    "press": (["press.csv"], ("--json", "--report")),
    "roll": (["ramp.csv"], ("--json", "--report")),
    "listen": (["a.wav", *FLIGHT], ("--json", "--report", "--readings", "--write-bench", "--write-picks")),
    "trace": (["a.jpg", "--scale", "0.08 mm/px"], ("--json", "--report", "--readings")),
    "watch": (["a.mp4", *FLIGHT], ("--json", "--report", "--readings")),
    "demo": ([], ("--report",)),
}
"""A line for each command that writes, and every option that names what it writes."""
WRITING = [(command, option) for command, (_, options) in COMMANDS.items() for option in options]


def listed(folder: Path) -> list[str]:
    """Names in a folder."""
    return sorted(file.name for file in folder.iterdir())


def test_every_option_that_writes_is_among_the_commands() -> None:
    """The parser's own list: what is called --json, --report, --readings or --write-... writes."""
    import typer  # noqa: PLC0415 - used here only

    from ballbench.cli.main import app  # noqa: PLC0415 - used here only

    group = typer.main.get_command(app)
    found = {
        (name, option)
        for name, command in group.commands.items()  # type: ignore[attr-defined]
        for parameter in command.params
        for option in parameter.opts
        if option in {"--json", "--report", "--readings"} or option.startswith("--write-")
    }
    assert found == set(WRITING)


@pytest.mark.parametrize(("command", "option"), WRITING)
def test_a_place_in_a_file_is_refused_before_any_work(
    ballbench: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: str, option: str
) -> None:
    """A file can hold no other (POSIX ENOTDIR): status 2, one message, though the inputs were never looked for."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "taken").write_text("mine")
    run = ballbench(command, *COMMANDS[command][0], option, "taken/out")
    assert (run.status, run.out) == (2, "")
    assert run.err.startswith(f"ballbench: option {option}: found taken/out")
    assert run.err.count("What to do: ") == 1
    assert listed(tmp_path) == ["taken"]
    assert (tmp_path / "taken").read_text() == "mine"


BAD = [
    ("json", "missing/out.json", "whose folder is not there"),
    ("json", "folder", "which is a folder"),
    ("json", "", "which is a folder"),
    ("json", "x" * 300, os.strerror(errno.ENAMETOOLONG)),
    ("json", "a\0b", "null"),
    ("readings", "-", "only JSON goes to the screen"),
    ("report", "file", "which is a file"),
    ("report", "file/deeper", os.strerror(errno.ENOTDIR)),
    ("report", "full", "which is a folder"),
]


@pytest.mark.parametrize(("option", "place", "says"), BAD, ids=lambda v: v[:20] if v.isprintable() else "null")
def test_what_is_no_place_is_said_with_its_reason(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, option: str, place: str, says: str
) -> None:
    """No folder, a folder for a file, a file for a folder, a name that can be none; nothing is made or altered."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "folder").mkdir()
    (tmp_path / "full" / "name.html").mkdir(parents=True)
    (tmp_path / "file").write_text("mine")
    before = sorted(tmp_path.rglob("*"))
    places: dict[str, Any] = {"json": None, "report": None, option: place if option == "json" else Path(place)}
    with pytest.raises(BadRequest) as refused:
        check_places({}, name="name", **places)
    assert len(refused.value.faults) == 1
    assert refused.value.faults[0].where == f"option --{option}"
    assert says in str(refused.value)
    assert sorted(tmp_path.rglob("*")) == before
    assert (tmp_path / "file").read_text() == "mine"


def test_good_places_are_left_as_they_are(tmp_path: Path) -> None:
    """Nothing is made where nothing was, and a file that is there keeps bytes and time of change."""
    old = tmp_path / "old.json"
    old.write_text("mine")
    os.utime(old, (1e9, 1e9))
    for json in (old, tmp_path / "new.json", Path(os.devnull)):
        check_places({}, str(json), tmp_path / "a" / "b", "name", readings=tmp_path / "r.csv")
    assert listed(tmp_path) == ["old.json"]
    assert (old.read_text(), old.stat().st_mtime) == ("mine", 1e9)


def test_two_options_for_one_file_and_an_input_are_refused(tmp_path: Path) -> None:
    """What one option writes no other may, also by another way to the same file; and no input."""
    (tmp_path / "box.csv").write_text("mine")
    with pytest.raises(BadRequest) as refused:
        check_places(
            {"readings": tmp_path / "box.csv"}, str(tmp_path / "out"), None, "name",
            readings=tmp_path / "sub" / ".." / "out" if (tmp_path / "sub").mkdir() is None else None,
            write_picks=tmp_path / "box.csv",
        )  # fmt: skip
    assert [fault.where for fault in refused.value.faults] == ["option --readings", "option --write-picks"]
    assert "--json writes too" in refused.value.faults[0].found
    assert refused.value.faults[1].allowed == "a file that is not one of the inputs"


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A folder that another user may enter, unlike the folders that pytest makes."""
    folder = Path(tempfile.mkdtemp())
    folder.chmod(0o755)
    yield folder
    shutil.rmtree(folder)


@pytest.mark.skipif(not hasattr(os, "seteuid"), reason="the system has no users of this sort")
def test_a_folder_and_a_file_without_permission_are_refused(open_folder: Path) -> None:
    """Where the user may not write: EACCES by the system's own word; for root, the user nobody tries."""
    closed, mine = open_folder / "closed", open_folder / "mine.json"
    closed.mkdir(mode=0o555)
    mine.write_text("mine")
    mine.chmod(0o444)
    root = os.geteuid() == 0
    try:
        if root:
            os.seteuid(65534)
        with pytest.raises(BadRequest) as refused:
            check_places({}, str(mine), closed / "report", "name", readings=closed / "out.csv")
    finally:
        if root:
            os.seteuid(0)
    faults = refused.value.faults
    assert [fault.where for fault in faults] == ["option --json", "option --readings", "option --report"]
    assert all(os.strerror(errno.EACCES) in fault.found for fault in faults)
    assert mine.read_text() == "mine"


def test_a_failed_write_leaves_what_was_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of two files the second fails half-way: both keep their old bytes, and nothing else is left."""
    one, two = tmp_path / "one", tmp_path / "two"
    one.write_bytes(b"old one")
    two.write_bytes(b"old two")
    real = Path.write_bytes

    def full(self: Path, content: bytes) -> int:
        if content == b"new two":
            real(self, b"new")
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return real(self, content)

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(OSError, match=os.strerror(errno.ENOSPC)):
        write_whole({one: b"new one", two: b"new two"})
    monkeypatch.undo()
    assert {name: (tmp_path / name).read_bytes() for name in listed(tmp_path)} == {
        "one": b"old one",
        "two": b"old two",
    }


def test_what_is_written_follows_links_and_keeps_permissions(tmp_path: Path) -> None:
    """The file behind a link is replaced, the link stays; a new file has the permissions of any new file."""
    true, link, new = tmp_path / "true", tmp_path / "link", tmp_path / "new"
    true.write_bytes(b"old")
    true.chmod(0o640)
    link.symlink_to(true)
    write_whole({link: b"fresh", new: b"first"})
    (tmp_path / "usual").touch()
    assert link.is_symlink()
    assert (true.read_bytes(), true.stat().st_mode & 0o777) == (b"fresh", 0o640)
    assert new.stat().st_mode == (tmp_path / "usual").stat().st_mode


def test_a_report_is_written_whole_or_not_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A PDF that cannot be made leaves no page without it, and no folder."""
    import ballbench.presentation.pdf as typesetter  # noqa: PLC0415 - patched here only

    def broken(*_: object) -> bytes:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(typesetter, "pdf_bytes", broken)
    monkeypatch.setattr("ballbench.presentation.page.page_html", lambda *_: "<p>page</p>")
    nothing: Any = object()
    document: Document = nothing
    with pytest.raises(OSError, match=os.strerror(errno.ENOSPC)):
        report_files.write_report(document, tmp_path / "report", "name")
    assert listed(tmp_path) == []


@ON_LINUX
def test_one_output_that_fails_does_not_lose_the_others(ballbench: Run, tmp_path: Path) -> None:
    """JSON to a full device: the screen, the readings and the report are there all the same; one message, status 2."""
    made = tmp_path / "report"
    run = ballbench("roll", str(RECORDINGS / "ramp.csv"), "--json", "/dev/full", "--report", str(made))
    assert run.status == 2
    assert "offset of the mass centre" in run.out
    assert run.err.startswith("ballbench: option --json: found /dev/full (No space left on device).")
    assert run.err.count("What to do: ") == 1
    assert listed(made) == ["roll.html", "roll.pdf"]


def test_the_names_beside_a_place_are_its_own(tmp_path: Path) -> None:
    """Two files that wait beside one place never share a name, nor are they longer than a name may be (255 bytes)."""
    names = {whole_files.beside(tmp_path / ("x" * 255)).name for _ in range(100)}
    assert len(names) == 100
    assert all(len(name) < 32 for name in names)
