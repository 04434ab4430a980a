"""`open`: the bench in a browser, on this machine or, when asked for, on the local network."""

from __future__ import annotations

import os
import sys
import threading
import webbrowser
from contextlib import closing
from dataclasses import dataclass

from ballbench.errors import BadRequest, Fault
from ballbench.web.app import make_app
from ballbench.web.link_picture import link_blocks
from ballbench.web.serving import Listening, listen, serve
from ballbench.workflows.opening import open_notebook, usual_folder

__all__ = ["Opening", "run_open"]


@dataclass(frozen=True, slots=True)
class Opening:
    """What a person asks of `open`.

    Parameters
    ----------
    notebook : str or None
        A folder, or the address of a database; None: the folder that the platform keeps for a program's data.
    port : int or None
        None: the first free one from 8475 up; 0: any.
    share : bool
        Let paired devices of the local network in.
    address : str or None
        This machine's address there; None: it is looked for.
    browser : bool
        Open the page.
    """

    notebook: str | None
    port: int | None
    share: bool
    address: str | None
    browser: bool


def run_open(asked: Opening) -> None:
    """Serve the bench until the person ends it.

    Raises
    ------
    BadRequest
        An address without sharing; a taken port; no network to share on.
    """
    if asked.address is not None and not asked.share:
        todo = "add --share, or leave the address out"
        raise BadRequest(Fault("option --address", asked.address, "an address together with --share", todo))
    with closing(open_notebook(asked.notebook or usual_folder())) as notebook:
        listening = listen(asked.port, share=asked.share, address=asked.address)
        serve(
            make_app(notebook, listening.settings), listening, lambda link: _say(asked, listening, notebook.place, link)
        )
        _print(f"ballbench: the bench is closed. What was acknowledged is in {notebook.place}.")


def _say(asked: Opening, listening: Listening, place: str, link: str | None) -> None:
    """Say where the bench is, and show it."""
    _print(f"ballbench: the bench is open at {listening.address}", f"Notebook: {place}")
    if link is not None:
        _print("For one device on the local network, once and within ten minutes:", f"  {link}")
        if _draws():
            _print(link_blocks(link))
        _print(
            f"More devices: {listening.address}/share",
            "What is sent on the network is not encrypted: share where you trust the people on it.",
        )
    _print("To end: Ctrl-C. Every reading is safe once it is acknowledged.")
    if asked.browser and _has_screen():
        threading.Thread(target=webbrowser.open, args=(listening.address,), daemon=True).start()


def _print(*lines: str) -> None:
    print(*lines, sep="\n", flush=True)


def _draws() -> bool:
    """Say whether the terminal can show a picture: it needs blocks, and colours, for the code is dark on light."""
    blocks = (sys.stdout.encoding or "").lower().startswith("utf")
    return blocks and sys.stdout.isatty() and "NO_COLOR" not in os.environ and os.environ.get("TERM") != "dumb"


def _has_screen() -> bool:
    """Say whether there is a screen for a browser; without one a browser of text would take the terminal."""
    return not sys.platform.startswith("linux") or any(os.environ.get(n) for n in ("DISPLAY", "WAYLAND_DISPLAY"))
