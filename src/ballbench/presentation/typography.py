"""Small things that printed text needs: a number stays on one line with its unit, a long word may break.

All that is printed on a page, on paper or on a terminal passes `knit`.
"""

from __future__ import annotations

import re
import unicodedata

__all__ = ["breakable", "knit"]

_UNIT = re.compile(r"(?<=\d) (?=%|(?:mm|cm|m|g|kg|oz|in|N|s|h|min|°C|balls?|readings?)\b)")
_UNITS = "mm/px|mm|cm|m/s2|m/s|ms|m|g|kg|kPa|hPa|N|s|px|degC|degrees"
_NO_NUMBER = re.compile(rf"\b(?:not\sknown|nan)\s?(?:%|°|(?:{_UNITS})\b(?!/))")
_LONGEST = 24


def knit(text: str) -> str:
    """Put a blank that does not break between a number and its unit; what is not known stands without a unit."""
    return _UNIT.sub("\N{NO-BREAK SPACE}", _NO_NUMBER.sub("not known", text))


def breakable(text: str, longest: int = _LONGEST) -> str:
    """Let words longer than `longest` letters break: a break without width after every `longest` letters.

    A combining mark stays with its letter.
    """

    def cut(word: str) -> str:
        pieces, piece = [], ""
        for letter in word:
            if len(piece) >= longest and not unicodedata.combining(letter):
                pieces.append(piece)
                piece = ""
            piece += letter
        return "\N{ZERO WIDTH SPACE}".join([*pieces, piece])

    return re.sub(rf"\S{{{longest + 1},}}", lambda found: cut(found.group()), text)
