"""What instruments that act as keyboards write around the number: steady or not, gross or net, overload.

All forms are common practice, no source. A mark that some makes of instrument put on steady readings and others on
unsteady ones is asked back.
"""

from __future__ import annotations

import re

from ballbench.errors import BadReadings, Fault
from ballbench.records.fault_list import quoted

__all__ = ["WHERE", "number_part"]

WHERE = "entry"
"""The place that every fault of an entry names."""

_EDGE = "".join(map(chr, (*range(0x21), 0x7F, 0xA0, 0x200B, 0x200E, 0x200F, 0xFEFF)))
_STEADY = re.compile(r"ST ?, ?(?:(?:GS|NT) ?, ?)?(?P<rest>.*)|S S (?P<reply>.*)", re.IGNORECASE)
_UNSTEADY = re.compile(r"US(?: ?,.*)?|S [DI](?: .*)?|\?.*|.*\?", re.IGNORECASE)
_WORDS = r"O\.?L\.?|U\.?L\.?|OVER(?:LOAD|FLOW)?|UNDER(?:LOAD)?|HI|LO|ERR(?:OR)?\.?(?: ?[0-9]+)?|[-_=]{2,}"
_NO_NUMBER = re.compile(rf"OL ?,.*|S [+-]|[+-]? ?(?:{_WORDS})(?: ?[a-z]{{1,2}})?", re.IGNORECASE)
_NET = re.compile(r"(?:N|G|NT|GS|NET|GROSS) (?P<rest>[+-]? ?[0-9.,]+(?P<unit> ?[^0-9]+)?)")
_WAIT = "wait until the display is steady, and send it again or type the number alone"


def number_part(text: str) -> str:
    """Take off what an instrument writes around the number and its unit.

    Parameters
    ----------
    text : str
        As it was typed or sent.

    Returns
    -------
    str
        What is left, blanks of any kind drawn together to one, the minus sign as a hyphen. It need not be a number.

    Raises
    ------
    BadReadings
        The instrument says that it is not steady or is overloaded, or its marks can be read in two ways.
    """
    line = re.sub(r"\s+", " ", text.strip(_EDGE).replace("\u2212", "-"))
    if _UNSTEADY.fullmatch(line):
        raise BadReadings(_fault(text, "the instrument was not steady yet", "a steady reading", _WAIT))
    if _NO_NUMBER.fullmatch(line):
        todo = "take the ball off, see that the instrument shows zero, and read again"
        raise BadReadings(_fault(text, "an overload or an error of the instrument", "a number", todo))
    if line.startswith("*") or line.endswith("*"):
        found = "a star: some instruments put it on steady readings, others on unsteady ones"
        raise BadReadings(_fault(text, found, "a reading without it", "type the number when the display is steady"))
    steady = _STEADY.fullmatch(line)
    if steady:
        return str(steady["rest"] if steady["rest"] is not None else steady["reply"])
    net = _NET.fullmatch(line)
    if net is None:
        return line
    if net["unit"] is None:
        found = "a reading without its unit, as such scales send it until they are steady"
        raise BadReadings(_fault(text, found, "a steady reading", _WAIT))
    return str(net["rest"])


def _fault(text: str, found: str, allowed: str, todo: str) -> Fault:
    """Make a fault of the whole line."""
    return Fault(WHERE, f"{quoted(text)}: {found}", allowed, todo)
