from __future__ import annotations

import re
from pathlib import Path

import pytest

from ballbench.form.two_point import ODD_LOBES
from ballbench.form.vee_block import PLAUSIBLE, blind_lobes, magnification
from ballbench.physics import jaw_contact, squeeze, thermal
from ballbench.physics.deformation import NEEDED, OPTIONAL, RIG_LABEL

PAGES = Path(__file__).resolve().parents[2] / "docs" / "methods"


def flat(name: str) -> str:
    return " ".join((PAGES / f"{name}.md").read_text(encoding="utf-8").split())


@pytest.mark.parametrize(
    "words",
    [
        f"at least {squeeze.LEAST_RATIO:g} times the smallest",
        f"patch is under {jaw_contact.HERTZ_MOST:g} of the ball's radius; from {jaw_contact.HERTZ_FINE:g} on",
        f"this {RIG_LABEL.removeprefix('this ')}",
        *(f"`{name}`" for name in (*NEEDED, *OPTIONAL)),
    ],
)
def test_the_squeeze_page_states_the_program_s_numbers(words: str) -> None:
    """Limits of the laws and the fields of a press are those that the program checks; two of them in words."""
    assert words in flat("squeeze")
    assert (jaw_contact.SHELL_MOST, squeeze.APART) == (0.5, 4.0)


def test_the_vee_page_has_the_program_s_table() -> None:
    """Every factor of the page's table, and the numbers of lobes that it names, are computed ones."""
    text = (PAGES / "vee-block.md").read_text(encoding="utf-8")
    head, *rows = re.findall(r"^\| (lobes|\d+) \| (.*) \|$", text, re.MULTILINE)
    angles = [float(cell.split()[0]) for cell in head[1].split(" | ")]
    assert [int(n) for n, _ in rows] == [*range(2, 10)]
    for n, cells in rows:
        for angle, cell in zip(angles, cells.split(" | "), strict=True):
            assert abs(float(magnification(int(n), angle))) == pytest.approx(float(cell), abs=5.1e-3), (n, angle)
    assert "90 degrees are blind to 7, 9, 15 and 17 lobes" in flat("vee-block")
    assert blind_lobes(90.0) == (7, 9, 15, 17)
    assert f"{PLAUSIBLE[0]} to {PLAUSIBLE[-1]} if nothing is said" in flat("vee-block")


def test_the_temperature_page_has_the_program_s_materials() -> None:
    """Each range of the table of expansions stands in the page's row of its material."""
    text = flat("temperature")
    for row in thermal.EXPANSIONS:
        low, high = (f"{end * 1e6:g}" for end in (row.low, row.high))
        assert (low if low == high else f"{low} to {high}") in text, row
    assert f"{thermal.GAUGE_STEEL.value * 1e6:g}e-6 per K" in text


def test_the_page_on_diameters_has_the_standing_note() -> None:
    """Word for word as every result carries it."""
    assert ODD_LOBES in flat("diameter-variation")


@pytest.mark.parametrize("page", ["squeeze", "temperature", "diameter-variation", "vee-block"])
def test_cautions_stand_where_the_act_is_described(page: str) -> None:
    """Each page warns; all name celluloid by its chemistry, weights and presses keep eyes and fingers away."""
    text = flat(page)
    assert "**Caution.**" in text
    assert "cellulose nitrate" in text
    if page == "squeeze":
        assert text.count("eyes and fingers away") == 2
