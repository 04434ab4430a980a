"""A link as a QR code (ISO/IEC 18004): a picture for the page, and blocks for the terminal."""

from __future__ import annotations

from io import BytesIO

import segno

__all__ = ["link_blocks", "link_svg"]

_QUIET = 4
"""Light modules around the code, ISO/IEC 18004 section on the quiet zone."""
_PAIRS = {(0, 0): " ", (1, 0): "▀", (0, 1): "▄", (1, 1): "█"}
_BLACK_ON_WHITE = "\x1b[38;5;16;48;5;231m"
_PLAIN = "\x1b[0m"


def link_svg(link: str) -> str:
    """Draw a link as an SVG element, dark on light in either theme, without a style of any kind."""
    out = BytesIO()
    _code(link).save(out, kind="svg", scale=6, border=_QUIET, dark="#000", light="#fff", xmldecl=False, nl=False,
                     title="The link as a picture to scan")  # fmt: skip
    return out.getvalue().decode("utf-8")


def link_blocks(link: str) -> str:
    """Draw a link in half blocks, black on white whatever colours the terminal has; lines end with a line feed."""
    rows = [bytes(row) for row in _code(link).matrix_iter(border=_QUIET)]
    if len(rows) % 2:
        rows.append(bytes(len(rows[0])))
    lines = ("".join(_PAIRS[pair] for pair in zip(*rows[i : i + 2], strict=True)) for i in range(0, len(rows), 2))
    return "".join(f"{_BLACK_ON_WHITE}{line}{_PLAIN}\n" for line in lines)


def _code(link: str) -> segno.QRCode:
    return segno.make_qr(link, error="m")
