"""What is not known is printed as that, alone: no unit stands behind it, and no NaN, wherever one may come from."""

from __future__ import annotations

import io
import math
import re
from collections.abc import Callable, Iterator
from dataclasses import fields, is_dataclass, replace
from typing import Any

import pytest
from rich.console import Console
from tests.presentation.example_bounces import bounces
from tests.presentation.test_bench_aid_pictures import HEAD
from tests.presentation.test_rolls import floats, ramp

from ballbench.presentation.bounces_report import bounces_document
from ballbench.presentation.bounces_terminal import print_bounces
from ballbench.presentation.document import Document
from ballbench.presentation.numbers import number, with_unit
from ballbench.presentation.press_report import press_document
from ballbench.presentation.press_terminal import print_press
from ballbench.presentation.rolls_report import rolls_document
from ballbench.presentation.rolls_terminal import print_rolls
from ballbench.presentation.typography import knit
from ballbench.presentation.typst_text import typst_source
from ballbench.presentation.vee_report import vee_document
from ballbench.presentation.vee_terminal import print_vee
from ballbench.workflows.press import press_typed
from ballbench.workflows.vee import vee_typed

BEHIND = re.compile(r"(?:not known|\bnan) ?(?:%|°|(?:mm|cm|m|g|N|s|px|degrees|m/s|mm/px)\b)")
VEE = (
    HEAD + "A,1,seam,90,summit,-0.012,0.018,3,,\nA,1,seam,120,summit,-0.006,0.009,3,,\nA,2,seam,90,summit,0,0.03,3,,\n"
)
PRESS = (
    "product,ball,orientation,direction,load,preload,seconds,deformation\n"
    "A,1,seam,forward,80,15,5,6.1\nA,2,seam,forward,80,15,5,6.4\nA,1,seam,return,80,15,5,7.2\nA,2,seam,return,80,15,5,7.6\n"
    "B,1,seam,forward,80,15,5,7.8\nB,2,seam,forward,80,15,5,8.1\n"
)


@pytest.mark.parametrize("unit", ["mm", "cm", "m", "g", "N", "s", "px", "%", "mm/px", "m/s", "m/s2", "degrees"])
def test_no_unit_stands_behind_what_is_not_known(unit: str) -> None:
    """In a printed number, and in any text on its way to a page, to paper or to a terminal."""
    assert with_unit(number(math.nan, 2), unit) == "not known"
    assert with_unit(number(1.25, 2), unit) == f"1.25 {unit}"
    assert knit(f"noise up to {math.nan:.2g} {unit} (not known {unit})") == "noise up to not known (not known)"


@pytest.mark.parametrize("text", ["not known whether", "what is not known of it", "not known, made of mm", "nana m"])
def test_words_behind_not_known_stay(text: str) -> None:
    """Only a unit goes."""
    assert knit(text).replace("\N{NO-BREAK SPACE}", " ") == text


def places(found: Any) -> Iterator[tuple[type, str]]:
    """Give every field of a result, however deep, that holds a number with decimals."""
    if is_dataclass(found) and not isinstance(found, type):
        for field in fields(found):
            value = getattr(found, field.name)
            if isinstance(value, float):
                yield type(found), field.name
            else:
                yield from places(value)
    elif isinstance(found, tuple):
        for value in found:
            yield from places(value)


def blanked(found: Any, kind: type, name: str) -> Any:
    """Give a result in which one field is not known, wherever it stands."""
    if is_dataclass(found) and not isinstance(found, type):
        changed = {
            field.name: math.nan if type(found) is kind and field.name == name
            else blanked(getattr(found, field.name), kind, name)
            for field in fields(found)
        }  # fmt: skip
        return replace(found, **changed)
    if isinstance(found, tuple):
        return tuple(blanked(value, kind, name) for value in found)
    return found


def printed(show: Callable[[Any, Console], None], found: Any) -> str:
    out = io.StringIO()
    show(found, Console(file=out, width=200, color_system=None))
    return " ".join(out.getvalue().split())


def on_paper(document: Document) -> str:
    return typst_source(document, "", lambda _: "picture.pdf").replace("\N{NO-BREAK SPACE}", " ")


@pytest.mark.parametrize(
    ("found", "show", "document"),
    [
        (bounces(), print_bounces, bounces_document),
        (ramp(2), print_rolls, rolls_document),
        (floats(), print_rolls, rolls_document),
        (vee_typed(VEE), print_vee, vee_document),
        (press_typed(PRESS), print_press, press_document),
    ],
    ids=["listen", "roll", "floats", "vee", "press"],
)
def test_no_result_prints_a_unit_behind_what_is_not_known(
    found: Any, show: Callable[[Any, Console], None], document: Callable[[Any], Document]
) -> None:
    """Every number of a result is made unknown in turn: where that can be shown at all, it is shown without a unit."""
    shown = 0
    for kind, name in sorted(set(places(found)), key=lambda place: (place[0].__name__, place[1])):
        try:
            unknown = blanked(found, kind, name)
            texts = (printed(show, unknown), on_paper(document(unknown)))
        except ValueError:  # a number that a result cannot be without: it is refused before it is shown
            continue
        shown += 1
        for text in texts:
            assert not BEHIND.search(text), (kind.__name__, name, BEHIND.search(text))
    assert shown >= 10
