"""The code of a ball: a short plain text as a QR code, for a reader that types like a keyboard."""

from __future__ import annotations

from functools import lru_cache
from io import BytesIO

import segno

__all__ = ["QUIET", "ball_code", "code_modules", "code_svg", "code_text"]

QUIET = 4
"""Light modules around a code (ISO/IEC 18004, the quiet zone)."""


def code_text(number: str) -> str:
    """Give what the code of a ball says, such as ``"ball 07"``: no make, no test, nothing that a blind test hides."""
    return f"ball {number}"


@lru_cache(maxsize=2048)
def ball_code(number: str) -> segno.QRCode:
    """Give the code of a ball: the smallest that holds its text, with as much correction as that leaves room for."""
    return segno.make_qr(code_text(number), error="m")


def code_modules(number: str) -> int:
    """Count the modules along one side of a ball's code, its quiet zone included."""
    return int(ball_code(number).symbol_size(border=QUIET)[0])


def code_svg(number: str) -> bytes:
    """Draw the code of a ball with its quiet zone, black on white."""
    out = BytesIO()
    ball_code(number).save(out, kind="svg", border=QUIET, dark="#000", light="#fff")
    return out.getvalue()
