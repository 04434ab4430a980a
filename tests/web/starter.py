"""Starts the bench again and again: everything is loaded once, and each start is a process of its own.

Run as a program. A line of standard input is a start, as JSON: ``notebook`` and ``port``. It says when a process was
started and when it ended, as JSON; between the two stands what `ballbench open` itself says. One bench at a time.
"""

from __future__ import annotations

import json
import os
import sys
import threading
import traceback
from typing import Any

from ballbench.cli.opening import Opening, run_open

__all__ = ["main"]


def main() -> None:
    """Start what is asked for until there is nothing more to start."""
    tell(loaded=True)
    for line in sys.stdin:
        order = json.loads(line)
        sys.stdout.flush()
        child = os.fork()
        if child == 0:
            serve(order["notebook"], order["port"])
        tell(started=child)
        _, status = os.waitpid(child, 0)
        tell(ended=child, status=os.waitstatus_to_exitcode(status))


def serve(notebook: str, port: int) -> None:
    """Be the bench, as `ballbench open` is, and end with it."""
    status = 1
    threading.Thread(target=end_with_the_test, daemon=True).start()
    try:
        run_open(Opening(notebook, port, share=False, address=None, browser=False))
        status = 0
    except BaseException:
        traceback.print_exc()
    finally:
        os._exit(status)


def end_with_the_test() -> None:
    """End this bench at once when the test that asked for it is gone, and nobody can end it any more."""
    os.read(sys.stdin.fileno(), 1)  # a bench that runs is asked for nothing: what can be read is the end
    os._exit(1)


def tell(**said: Any) -> None:
    """Say something in a line of its own."""
    print(json.dumps(said), flush=True)


if __name__ == "__main__":
    main()
