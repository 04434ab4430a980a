"""What is printed, where nobody may be reading: a reader who left, a full disk, a terminal without our letters.

`ballbench judge ... --report r | head` must write the report all the same. So what cannot be printed is dropped, the
work goes on, and it is said at the end if it matters.
"""

from __future__ import annotations

import errno
import io
import os
import sys
from typing import TextIO

from ballbench.errors import BadRequest, Fault

__all__ = ["Screen", "open_screen", "raise_if_lost"]

_LEFT = frozenset({errno.EPIPE, errno.EINVAL} if sys.platform == "win32" else {errno.EPIPE})
"""What a system says where the reader of a pipe left; EINVAL from the documentation of Python, from memory."""


class Screen(io.RawIOBase):
    """Bytes to a file descriptor, until it takes no more.

    Parameters
    ----------
    descriptor : int
        Of standard output or of standard error.
    """

    def __init__(self, descriptor: int) -> None:
        super().__init__()
        self._descriptor = descriptor
        self._ended = False
        self.lost: OSError | None = None
        """Why what was printed did not arrive; None: it did, or its reader left, as `head` does."""

    def writable(self) -> bool:
        """Say that it is written to."""
        return True

    def fileno(self) -> int:
        """Give the descriptor, by which others ask whether it is a terminal."""
        return self._descriptor

    def isatty(self) -> bool:
        """Say whether it is a terminal."""
        return os.isatty(self._descriptor)

    def write(self, piece: object) -> int:
        """Write what can be written; say that all of it was."""
        left = memoryview(piece).cast("B")  # type: ignore[arg-type]  # the base class takes whatever has bytes
        size = len(left)
        while len(left) and not self._ended:
            try:
                left = left[os.write(self._descriptor, left) :]
            except OSError as error:
                self._ended = True
                self.lost = None if error.errno in _LEFT else error
        return size


def open_screen() -> Screen | None:
    """Put a `Screen` behind standard output and standard error.

    Returns
    -------
    Screen or None
        That of standard output; None where it is none of a process, or was closed by whoever called.
    """
    sys.stderr = _behind(sys.stderr)[0] or open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115, PTH123 - to the end
    sys.stdout, screen = _behind(sys.stdout)
    if sys.stdout is None:
        sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115, PTH123 - nobody wanted to read it
    return screen


def raise_if_lost(screen: Screen | None) -> None:
    """Say that what was printed did not arrive, where somebody wanted it.

    Raises
    ------
    BadRequest
        Such as on a full disk.
    """
    sys.stdout.flush()
    if screen is not None and screen.lost is not None:
        found = f"{screen.lost.strerror or screen.lost}: what was printed did not arrive"
        todo = "print to another place; files that were asked for are written"
        raise BadRequest(Fault("standard output", found, "a place that can be written to", todo))


def _behind(stream: TextIO | None) -> tuple[TextIO | None, Screen | None]:
    """Give the same stream on a `Screen`; what its letters cannot say is written as an escape."""
    try:
        descriptor = stream.fileno() if stream is not None else None
    except (OSError, ValueError, AttributeError):
        return stream, None
    if stream is None or descriptor is None:
        return None, None
    if sys.platform == "win32" and stream.isatty():
        return stream, None  # a console there takes letters, not bytes
    stream.flush()
    screen = Screen(descriptor)
    buffered = io.BufferedWriter(screen)
    errors = "backslashreplace" if stream.errors == "strict" else stream.errors
    text = io.TextIOWrapper(
        buffered, stream.encoding, errors, line_buffering=screen.isatty() or stream is sys.stderr, write_through=False
    )
    return text, screen
