"""A process that reads recordings for the bench, one after another, and can be ended when one of them goes wrong.

Both sides are of this module: the bench asks, the process answers. Calls and answers go through its pipes; what a
decoder prints goes nowhere.
"""

from __future__ import annotations

import contextlib
import json
import os
import pickle
import subprocess
import sys
import threading
import time
import traceback
from collections.abc import Callable
from typing import Any, TypeVar

__all__ = ["Ended", "ReaderProcess", "TooLong", "serve"]

_BEGIN = (
    "import json, sys; sys.path[:] = json.loads(sys.argv[1]); from ballbench.web.reader_process import serve; serve()"
)
_IDLE_S = 300.0
"""A process to which nobody sends anything ends by itself after so long (own choice): it holds some 200 MB."""

_LOOK_S = 2.0
"""How often a process looks whether the bench that started it is still there (own choice)."""

_Result = TypeVar("_Result")


class Ended(Exception):
    """The process ended before its answer was there."""


class TooLong(Exception):
    """The process was ended, for it took too long."""


class ReaderProcess:
    """A process that is started at once; `end` it."""

    def __init__(self) -> None:
        self._process = subprocess.Popen(  # noqa: S603 - our own interpreter and module, nothing of a sender
            [sys.executable, "-c", _BEGIN, json.dumps([part for part in sys.path if part])],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
        )  # fmt: skip

    @property
    def lives(self) -> bool:
        """Whether it can be asked."""
        return self._process.poll() is None

    def ask(self, work: Callable[..., _Result], given: tuple[Any, ...], patience_s: float) -> _Result:
        """Have something worked out there, and wait for it.

        Parameters
        ----------
        work : callable
            Of a module, known there by its name.
        given : tuple
            Its arguments.
        patience_s : float
            The process is ended when it takes longer.

        Raises
        ------
        TooLong, Ended
            There is no answer, and the process is gone.
        Exception
            What `work` raised.
        """
        over = threading.Event()
        clock = threading.Timer(patience_s, self._too_long, (over,))
        clock.daemon = True
        clock.start()
        try:
            done, answer = self._answer(work, given)
        except (OSError, EOFError, pickle.UnpicklingError) as error:
            self.end()
            raise (TooLong if over.is_set() else Ended) from error
        finally:
            clock.cancel()
        if not done:
            raise answer
        result: _Result = answer
        return result

    def end(self) -> None:
        """End it, whatever it does, and wait until it is gone."""
        self._process.kill()
        for pipe in (self._process.stdin, self._process.stdout):
            with contextlib.suppress(OSError):  # a call that it did not read may still be on the way
                if pipe is not None:
                    pipe.close()
        self._process.wait()

    def _too_long(self, over: threading.Event) -> None:
        over.set()
        self._process.kill()

    def _answer(self, work: Callable[..., Any], given: tuple[Any, ...]) -> tuple[bool, Any]:
        assert self._process.stdin is not None  # noqa: S101 - both pipes were asked for above
        assert self._process.stdout is not None  # noqa: S101 - the same
        self._process.stdin.write(pickle.dumps((work, given)))
        self._process.stdin.flush()
        found: tuple[bool, Any] = pickle.load(self._process.stdout)  # noqa: S301 - from a process of our own
        return found


def serve() -> None:
    """Answer calls until there are no more, or the bench is gone; run by the process itself."""
    threading.Thread(target=_leave_with, args=(os.getppid(),), daemon=True).start()
    answers = os.fdopen(os.dup(1), "wb")
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    while True:
        clock = threading.Timer(_IDLE_S, os._exit, (0,))
        clock.daemon = True
        clock.start()
        try:
            work, given = pickle.load(sys.stdin.buffer)  # noqa: S301 - from the bench that started it
        except EOFError:
            return
        finally:
            clock.cancel()
        answers.write(_written(work, given))
        answers.flush()


def _leave_with(bench: int) -> None:
    """End with the bench, though it was killed and this process is in the middle of something without end."""
    while os.getppid() == bench:
        time.sleep(_LOOK_S)
    os._exit(0)


def _written(work: Callable[..., Any], given: tuple[Any, ...]) -> bytes:
    """Work something out, and give the answer, or what was raised, as bytes."""
    try:
        return pickle.dumps((True, work(*given)))
    except Exception as error:
        error.add_note("".join(traceback.format_exception(error)))
        try:
            return pickle.dumps((False, error))
        except Exception:  # an error that cannot be sent says at least what it was
            return pickle.dumps((False, RuntimeError(f"{type(error).__name__}: {error}")))
