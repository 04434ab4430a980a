from __future__ import annotations

import asyncio
import os
import subprocess
import sys
import time
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

import pytest
from recorded_work import ended_by_itself, noted, refused, without_end

from ballbench.errors import BadRecording
from ballbench.web.decoding import Decoding
from ballbench.web.problems import Refused
from ballbench.web.recording_uploads import plain_name


def ran(work: Callable[[Decoding], Awaitable[Any]], patience_s: float = 30.0) -> Any:
    """Run something that reads recordings, on a loop of its own."""

    async def whole() -> Any:
        return await work(Decoding(patience_s))

    return asyncio.run(whole())


def test_the_same_is_worked_out_once_and_in_another_process(tmp_path: Path) -> None:
    """Asked for three times at once and once more, it ran once, elsewhere; another key runs again."""

    async def work(decoding: Decoding) -> list[str]:
        asked = [decoding.once("a", noted, str(tmp_path), "a") for _ in range(3)]
        first = await asyncio.gather(*asked)
        return [
            *first,
            await decoding.once("a", noted, str(tmp_path), "a"),
            await decoding.once("b", noted, str(tmp_path), "b"),
        ]

    pids = ran(work)
    assert len(set(pids[:4])) == 1
    assert str(os.getpid()) not in pids
    assert [(tmp_path / name).read_text() for name in "ab"] == ["called\n"] * 2


def test_work_without_end_is_ended(tmp_path: Path) -> None:
    """After its time it is told in words, its process is gone, and the next one gets its turn."""

    async def work(decoding: Decoding) -> None:
        with pytest.raises(BadRecording, match="cut out the part with the ball"):
            await decoding.once("long", without_end, str(tmp_path))
        assert await decoding.once("next", noted, str(tmp_path), "next")

    ran(work, 5.0)
    with pytest.raises(ProcessLookupError):
        os.kill(int((tmp_path / "pid").read_text()), 0)


def test_a_reader_that_breaks_off_takes_nothing_with_it(tmp_path: Path) -> None:
    """The process is gone, which is told in words, and the next one gets its turn."""

    async def work(decoding: Decoding) -> None:
        with pytest.raises(BadRecording, match="breaks off"):
            await decoding.once("broken", ended_by_itself)
        assert await decoding.once("next", noted, str(tmp_path), "next")

    ran(work)


def test_a_reader_ends_with_the_bench_that_was_killed(tmp_path: Path) -> None:
    """The bench is killed while a reader is in the middle of something without end: the reader is gone soon after."""
    begin = (
        "import sys; sys.path[:0] = [sys.argv[2]]; from recorded_work import without_end; "
        "from ballbench.web.reader_process import ReaderProcess; "
        "ReaderProcess().ask(without_end, (sys.argv[1],), 600.0)"
    )
    bench = subprocess.Popen([sys.executable, "-c", begin, str(tmp_path), str(Path(__file__).parent)])
    pid = tmp_path / "pid"
    until(lambda: pid.exists() and bool(pid.read_text()))
    bench.kill()
    bench.wait()
    until(lambda: not lives(int(pid.read_text())))


def until(there: Callable[[], bool], patience_s: float = 60.0) -> None:
    """Wait for something; a test that hangs ends with an error."""
    end = time.monotonic() + patience_s
    while not there():
        assert time.monotonic() < end
        time.sleep(0.1)


def lives(pid: int) -> bool:
    """Whether there is such a process that still does something; one that waits to be buried does not."""
    try:
        return (Path("/proc") / str(pid) / "stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except FileNotFoundError:
        return False


def test_what_a_reader_refuses_is_told_as_it_was_and_not_kept() -> None:
    """The fault comes through with all its parts, and the same is tried anew when it is asked for again."""

    async def work(decoding: Decoding) -> None:
        for _ in range(2):
            with pytest.raises(BadRecording) as caught:
                await decoding.once("refused", refused)
            assert (caught.value.faults[0].found, caught.value.faults[0].where) == ("silence", "drop.wav")
            assert len(decoding._kept) == 0

    ran(work)


def test_more_than_a_dozen_at_once_are_refused(tmp_path: Path) -> None:
    """The thirteenth is told to come again; those before it are not disturbed."""

    async def work(decoding: Decoding) -> list[str]:
        asked = [asyncio.ensure_future(decoding.once(i, noted, str(tmp_path), str(i))) for i in range(12)]
        await asyncio.sleep(0)
        await asyncio.sleep(0)
        with pytest.raises(Refused) as caught:
            await decoding.once("one more", noted, str(tmp_path), "more")
        assert caught.value.status_code == 429
        return await asyncio.gather(*asked)

    assert len(ran(work)) == 12
    assert not (tmp_path / "more").exists()


@pytest.mark.parametrize(
    ("name", "plain"),
    [
        ("drop 1.wav", "drop 1.wav"), ("../../evil.wav", "evil.wav"), ("C:\\x\\drop.m4a", "drop.m4a"),
        ("", "recording"), ("...", "recording"), (".hidden", "hidden"), ("a/", "recording"),
        ("Bälle (1).HEIC", "Bälle (1).HEIC"), ("x" * 300 + ".wav", "x" * 76 + ".wav"), ("a\x00b\n.wav", "a_b_.wav"),
        ("no ending", "no ending"), ("-rf .wav", "-rf.wav"),
    ],
)  # fmt: skip
def test_a_name_of_a_sender_is_never_a_path(name: str, plain: str) -> None:
    """Its last part, in signs that every folder takes, with its ending, no longer than 80 characters."""
    assert plain_name(name) == plain
    assert len(plain) <= 80
