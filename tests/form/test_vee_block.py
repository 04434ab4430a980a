from __future__ import annotations

import csv
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from ballbench.errors import BadRequest
from ballbench.form.vee_block import (
    PLAUSIBLE,
    VeeReading,
    blind_lobes,
    form_from_vee,
    forms_together,
    indicator_in_vee,
    magnification,
    vee_pairs,
)  # fmt: skip
from ballbench.quantities.uncertain import Uncertain

DATA = Path(__file__).resolve().parents[1] / "reference" / "vee_block"
ANGLES = (60, 72, 90, 108, 120)


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8") as lines:
        return [*csv.DictReader(lines)]


def test_the_whole_table_of_magnifications() -> None:
    """|F| for 2 to 22 lobes, five angles, summit and rider, to the printed digits (computed in a separate way)."""
    table = rows("magnification.csv")
    assert [int(row["n"]) for row in table] == [*range(2, 23)]
    for row in table:
        for angle in ANGLES:
            for letter, setting in (("S", "summit"), ("R", "rider")):
                factor = abs(float(magnification(int(row["n"]), angle, setting)))  # type: ignore[arg-type]
                assert f"{factor:.2f}" == row[f"{letter}{angle}"], (row["n"], angle, setting)


def test_the_rows_of_the_standard() -> None:
    """N = 2 and n = 3 as the table of ISO 4292 has them (from memory)."""
    two = np.abs([magnification(2, [72, 90, 108, 120], setting) for setting in ("summit", "rider")])
    assert two == pytest.approx(np.array([[0.47, 1.00, 1.38, 1.58], [1.53, 1.00, 0.62, 0.42]]), abs=5.1e-3)
    assert np.abs(magnification(3, [72, 90, 108, 120, 60])) == pytest.approx([2.62, 2.00, 1.38, 1.00, 3.00], abs=5.1e-3)


def laid(n: int, a: float, angle: float, turned: float) -> tuple[float, float]:
    """Heights of top and bottom of a lobed outline in a vee, by geometry: its lowest point along each flank touches."""
    half = math.radians(angle) / 2
    phi = np.linspace(0, 2 * math.pi, 20_000, endpoint=False)
    points = (1.0 + a * np.cos(n * (phi - turned))) * np.array([np.cos(phi), np.sin(phi)])
    inward = np.array([[math.cos(half), math.sin(half)], [-math.cos(half), math.sin(half)]])
    _, height = np.linalg.solve(inward, -np.min(inward @ points, axis=1))
    top, bottom = (1.0 + a * math.cos(n * (side * math.pi / 2 - turned)) for side in (1, -1))
    return height + top, height - bottom


@pytest.mark.parametrize(("n", "angle"), [(2, 90), (3, 60), (3, 90), (4, 120), (5, 108), (5, 60), (7, 120)])
def test_an_outline_laid_in_a_vee_moves_the_indicator_so(n: int, angle: int) -> None:
    """Outlines with lobes of 1e-5 of the radius laid between two flanks show |F| at top and bottom (independent way).

    To 0.01: the points are so far apart that a flank misses the lowest by 1e-8, and lobes bend by n^2 1e-5.
    """
    a = 1e-5
    heights = np.array([laid(n, a, angle, turned) for turned in np.arange(24) * 2 * math.pi / n / 24])
    for found, setting in zip(np.ptp(heights, axis=0) / (2 * a), ("summit", "rider"), strict=True):
        assert found == pytest.approx(abs(float(magnification(n, angle, setting))), abs=0.01)  # type: ignore[arg-type]


def test_one_lobe_is_eccentricity_and_is_not_seen() -> None:
    """F is 0 for n = 1 at the summit of any vee (exact algebra)."""
    assert magnification(1, np.linspace(10, 180, 18)) == pytest.approx(np.zeros(18), abs=1e-14)


def test_a_flat_table_reads_diameters() -> None:
    """A vee of 180 degrees shows 2 for even lobes and 0 for odd ones: two points (exact algebra)."""
    n = np.arange(2, 12)
    assert magnification(n, 180.0) == pytest.approx(np.where(n % 2 == 0, 2.0, 0.0), abs=1e-12)


def test_the_lobes_that_a_vee_does_not_show() -> None:
    """The zeros of the table: 90 degrees 7, 9, 15, 17; 60 degrees as rider 5, 7, 11, 13, 17, 19 (computed)."""
    assert blind_lobes(90) == (7, 9, 15, 17)
    assert blind_lobes(60, setting="rider") == (5, 7, 11, 13, 17, 19)
    table = rows("magnification.csv")
    for angle in ANGLES:
        assert blind_lobes(angle) == tuple(int(row["n"]) for row in table if row[f"S{angle}"] == "0.00")


def test_pairs_that_leave_no_lobe_unseen() -> None:
    """Of the five angles 90 + 120, 72 + 120 and 72 + 90 see all of 2 to 22; 72 + 108 share the blind 19 and 21."""
    pairs = vee_pairs(ANGLES)
    assert {(pair.first, pair.second) for pair in pairs} == {(90, 120), (72, 120), (72, 90)}
    assert pairs[0].factor == max(pair.factor for pair in pairs)
    table = rows("magnification.csv")
    for pair in pairs:
        better = {int(r["n"]): max(float(r[f"S{pair.first:.0f}"]), float(r[f"S{pair.second:.0f}"])) for r in table}
        assert pair.factor == pytest.approx(min(better.values()), abs=5.1e-3)
        assert better[pair.weakest] == pytest.approx(pair.factor, abs=5.1e-3)
    assert (72.0, 108.0) in {(pair.first, pair.second) for pair in vee_pairs(ANGLES, range(2, 19))}


def reuleaux(n: int, count: int) -> np.ndarray:
    """Distance of the tangents of a Reuleaux polygon of width 1 from its centre."""
    theta = np.arange(count) * 2 * math.pi / count
    corner = 0.5 / math.cos(math.pi / (2 * n))
    off = np.mod(theta + math.pi / n, 2 * math.pi / n) - math.pi / n
    far = np.mod(theta + math.pi + math.pi / n, 2 * math.pi / n) - math.pi / n
    return np.where(np.abs(off) <= math.pi / (2 * n), corner * np.cos(off), 1.0 - corner * np.cos(far))


def test_a_vee_reads_the_form_of_shapes_of_constant_width() -> None:
    """Three corners in 60 degrees: the flanks are three tangents apart, so the indicator moves by 3 times the form."""
    (three, *_) = rows("constant_width.csv")
    shown = indicator_in_vee(reuleaux(3, 3600), 60.0)
    assert np.ptp(shown) == pytest.approx(3 * float(three["form"]), abs=3e-9)
    assert np.ptp(indicator_in_vee(reuleaux(3, 3600), 180.0)) < 1e-12  # on a flat table nothing moves


@pytest.mark.parametrize("row", rows("constant_width.csv"), ids=lambda row: row["n"])
def test_the_published_radii_of_constant_width(row: dict[str, str]) -> None:
    """Largest and smallest tangent distance, their difference, and all widths, to the printed digits (geometry)."""
    radii = reuleaux(int(row["n"]), 720 * int(row["n"]))
    assert f"{radii.max():.9f}" == row["outer"]
    assert f"{radii.min():.9f}" == row["inner"]
    assert np.ptp(radii) == pytest.approx(float(row["form"]), abs=1.1e-9)
    assert np.ptp(radii + np.roll(radii, radii.size // 2)) == pytest.approx(float(row["two_point_range"]), abs=4e-15)


@pytest.mark.parametrize(("angle", "shift"), [(60, 120), (90, 135), (108, 144)])
def test_the_indicator_of_a_whole_outline_is_three_tangents(angle: int, shift: int) -> None:
    """h(t) + (h(t + b) + h(t - b))/(2 sin(angle/2)), b = 90 deg + angle/2, of a known outline (exact geometry)."""
    theta = np.radians(np.arange(360))
    h = (
        20
        + 0.03 * np.cos(3 * theta)
        + 0.02 * np.cos(4 * theta + 1)
        + 0.01 * np.cos(7 * theta - 2)
        + 0.1 * np.sin(theta)
    )
    three = h + (np.roll(h, shift) + np.roll(h, -shift)) / (2 * math.sin(math.radians(angle) / 2))
    assert indicator_in_vee(h, angle) == pytest.approx(three - three.mean(), abs=1e-12)


def reading(
    span: float, angle: float = 90.0, u: float = 0.001, u_angle: float = 0.0, dof: float = math.inf
) -> VeeReading:
    return VeeReading(Uncertain(span, u, dof, "mm"), Uncertain(angle, u_angle, unit="deg"))


def test_a_known_number_of_lobes_gives_the_form() -> None:
    """0.030 mm in 90 degrees with three lobes: 0.015 mm, half the uncertainty, the reading's own degrees of freedom."""
    found = form_from_vee(reading(0.030, dof=7.0), 3)
    (form,) = (item.form for item in found.by_lobes)
    assert form is not None
    assert (form.value, form.u, form.dof) == pytest.approx((0.015, 0.0005, 7.0), rel=1e-12)
    assert (found.low, found.high) == pytest.approx(form.interval())
    assert found.notes == ()


def test_the_angle_counts() -> None:
    """U of the form with an angle known to 0.5 degrees is that of 200,000 drawn vees (simulation), to 2 %."""
    rng = np.random.default_rng(1)
    angle = np.radians(rng.normal(84.0, 0.5, 200_000)) / 2
    drawn = rng.normal(0.100, 0.0005, 200_000) / np.abs(1 + np.cos(5 * (np.pi / 2 + angle)) / np.sin(angle))
    form = form_from_vee(reading(0.100, 84.0, 0.0005, 0.5), 5).by_lobes[0].form
    assert form is not None
    assert form.u == pytest.approx(drawn.std(), rel=0.02)
    assert form.u > 1.5 * 0.0005 / abs(float(magnification(5, 84.0)))  # the angle is the larger part


def test_an_angle_that_is_off_rules_no_lobes_out_where_its_uncertainty_is_said() -> None:
    """Five lobes of 0.2 mm in 85 degrees taken for 84 +- 1: kept beside a vee of 120 degrees, ruled out as exact."""
    spans = [0.2 * abs(float(magnification(5, angle))) for angle in (85.0, 120.0)]
    for u_angle, kept in ((1.0, True), (0.0, False)):
        readings = [reading(spans[0], 84.0, 0.001, u_angle), reading(spans[1], 120.0, 0.001)]
        assert forms_together(readings, (5,)).by_lobes[0].agrees is kept


def test_an_unknown_number_of_lobes_gives_a_band_and_says_so() -> None:
    """The band runs from range/2.41 (8 lobes) to range/0.41 (4 lobes) of the table, 7 and 9 named as unseen."""
    found = form_from_vee(reading(0.030, u=1e-9))
    assert found.low == pytest.approx(0.030 / 2.4142, rel=1e-4)
    assert found.high == pytest.approx(0.030 / 0.41421, rel=1e-4)
    assert found.blind == (7, 9)
    assert "not known" in found.notes[0]
    assert "7, 9" in found.notes[1]
    assert tuple(item.lobes for item in found.by_lobes) == PLAUSIBLE


def test_a_vee_that_sees_nothing_gives_no_number() -> None:
    """Seven lobes in 90 degrees: no form, NaN for a band; nor where the angle is too uncertain to know F from 0."""
    found = form_from_vee(reading(0.002), 7)
    assert found.by_lobes[0].form is None
    assert math.isnan(found.low)
    assert found.blind == (7,)
    close = magnification(7, 91.0)
    assert 0.05 < abs(float(close)) < 0.2
    assert form_from_vee(reading(0.002, 91.0), 7).by_lobes[0].form is not None
    assert form_from_vee(reading(0.002, 91.0, u_angle=1.0), 7).by_lobes[0].form is None


def test_two_vees_and_a_caliper_find_the_lobes() -> None:
    """Balls of 0.020 mm form and known lobes, noise 0.0005 mm: the true number is kept, its form right (simulation)."""
    rng = np.random.default_rng(9)
    for n in (2, 3, 5, 7, 9):
        kept, inside = 0, 0
        for _ in range(300):
            readings = []
            for angle in (90.0, 120.0, 180.0):
                span = 0.020 * abs(float(magnification(n, angle))) + 0.0005 * rng.standard_normal()
                readings.append(reading(abs(span), angle, 0.0005))
            (one,) = forms_together(readings, (n,)).by_lobes
            assert one.form is not None
            low, high = one.form.interval()
            kept, inside = kept + one.agrees, inside + (low <= 0.020 <= high)
        assert 0.90 < kept / 300 <= 0.99
        assert 0.91 < inside / 300 < 0.99


def test_uncertainties_from_few_repeats_rule_out_less() -> None:
    """Three lobes, 90 and 120 degrees: with 4 degrees of freedom agreement is by F(1, 4) and the form has 4 (scipy)."""
    known = [reading(0.040, u=5e-4, u_angle=0.0), reading(0.0185, 120.0, 5e-4, u_angle=0.0)]
    few = [replace(item, range=replace(item.range, dof=4.0)) for item in known]
    (sure,), (unsure,) = (forms_together(several, (3,)).by_lobes for several in (known, few))
    assert sure.chi2 == unsure.chi2
    assert (sure.p, unsure.p) == pytest.approx((stats.chi2.sf(sure.chi2, 1), stats.f.sf(sure.chi2, 1, 4)))
    assert (sure.agrees, unsure.agrees) == (False, True)
    assert unsure.form is not None
    assert unsure.form.dof == pytest.approx(4.0)


def test_lobes_that_do_not_fit_are_ruled_out() -> None:
    """Nothing on the flat table and 0.040 mm in 90 degrees: no even number is left, and all is said."""
    found = forms_together([reading(0.040), reading(0.0, 180.0)], (2, 3, 4, 5, 6))
    assert [item.lobes for item in found.by_lobes if item.agrees] == [3, 5]
    assert any("2, 4, 6 lobes alone" in note for note in found.notes)
    assert found.high == pytest.approx(0.020 + 1.96 * 0.0005, rel=1e-3)
    none = forms_together([reading(0.040), reading(0.0, 180.0)], (2, 4))
    assert "several at once" in none.notes[-1]
    assert math.isnan(none.high)


def test_what_cannot_be_is_refused() -> None:
    """Each with what to do."""
    for wrong in (lambda: magnification(2.5, 90), lambda: magnification(2, 0), lambda: magnification(2, 90, "side"),  # type: ignore[arg-type]
                  lambda: form_from_vee(reading(0.03), 1), lambda: form_from_vee(reading(0.03), ()),
                  lambda: form_from_vee(reading(-0.03)), lambda: forms_together([]),
                  lambda: forms_together([reading(0.03, u=0.0), reading(0.02, 120.0, u=0.0)], (3,)),
                  lambda: indicator_in_vee(np.ones(2), 90)):  # fmt: skip
        with pytest.raises(BadRequest):
            wrong()
