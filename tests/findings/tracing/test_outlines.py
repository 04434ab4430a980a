"""From made outlines with known lobes to form, lobes, size, separation and clauses."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from tests.findings.tracing.made_outlines import RADIUS, THETA, made_outline, waves

from ballbench.findings.tracing.clauses import circle_named, clauses_of
from ballbench.findings.tracing.forms import (
    GRID_U,
    LEAST_TOLD,
    SizeKnown,
    least_radius_for,
    photo_outline,
    separation_of,
    sized,
)
from ballbench.findings.tracing.results import BallOutline, PhotoOutline, refused_photo
from ballbench.findings.tracing.words import form_sentence, photo_sentences
from ballbench.form.reference_circles import KINDS, points_of, reference_circles
from ballbench.form.roundness_filter import filtered
from ballbench.quantities.uncertain import Uncertain
from ballbench.specs import Clause, find_requirement

SCALE = SizeKnown(scale=Uncertain(0.05, 5e-5, unit="mm/px"))
LOBES = {2: (0.2, 0.4), 3: (0.6, 1.0), 5: (0.1, 2.0)}


def worked(
    lobes: dict[int, tuple[float, float]], known: SizeKnown = SCALE, seed: int = 1, **how: object
) -> PhotoOutline:
    rng = np.random.default_rng(seed)
    names = refused_photo("Dunlin_01.png", "sha256:0", "", product="Dunlin", ball="01")
    return photo_outline(names, made_outline(lobes, rng, **how), known, 50.0, rng)  # type: ignore[arg-type]


def test_all_four_forms_are_those_of_the_outline_without_noise() -> None:
    """Forms of the true outline, filtered, by `reference_circles`, within the stated intervals, in mm."""
    found = worked(LOBES)
    true = filtered(RADIUS + waves(LOBES), 50.0)
    circles = reference_circles(points_of(THETA, true))
    assert [form.kind for form in found.forms] == [*KINDS]
    for form in found.forms:
        exact = 0.05 * circles[form.kind].form
        assert form.low <= exact <= form.high
        assert form.value == pytest.approx(exact, abs=4 * form.u)
        assert form.told


def test_lobes_come_out_in_mm_with_their_crests() -> None:
    """Amplitude 0.6 px at 0.05 mm/px is 0.03 mm; crests of cos(3 theta + 1) stand at -1/3 rad and 120 degrees on."""
    found = worked(LOBES)
    three = next(lobe for lobe in found.lobes if lobe.n == 3)
    assert three.amplitude == pytest.approx(0.03, abs=4 * three.u)
    assert three.phase_deg == pytest.approx(math.degrees(1.0), abs=0.5)
    first = math.degrees(-1 / 3) % 120.0
    assert three.crests_deg == pytest.approx([first, first + 120, first + 240], abs=0.2)
    assert [lobe.n for lobe in found.told][:3] == [3, 2, 5]
    assert found.diameters is not None
    assert found.diameters.variation == pytest.approx(4 * 0.2 * 0.05, rel=0.02)


def test_odd_lobes_alone_do_not_say_that_diameters_vary_by_nothing() -> None:
    """What is not told is bounded: two lobes of the amplitude a vary diameters by 4 a (2 R + 2 a cos, twice a)."""
    found = worked({3: (0.6, 1.0)}, seed=3)
    assert found.diameters is not None
    assert found.diameters.even == ()
    floor = 0.05 * GRID_U * math.sqrt(-2.0 * math.log1p(-(0.95 ** (1.0 / 50))))
    assert 1.96 * found.diameters.u >= 4.0 * floor * 0.999
    sentence = " ".join(photo_sentences(found))
    assert "vary by 0" not in sentence
    assert "diameters are not told to vary in this plane" in sentence


def test_lobes_that_are_told_are_said_where_crest_to_trough_is_not() -> None:
    """An oval that the camera may leave hides the form, three lobes stand out of it all the same."""
    found = worked({3: (0.2, 1.0)}, seed=4, oval=1.0)
    assert not next(form for form in found.forms if form.kind == "minimum zone").told
    assert [lobe.n for lobe in found.told] == [3]
    assert "3 lobes stand out of the noise" in form_sentence(found)
    assert not form_sentence(found).startswith("not told from a round ball")


@pytest.mark.parametrize("oval", [0.05, 0.3, 2.0])
@pytest.mark.parametrize("lobes", [{}, {3: (0.05, 1.0)}, {3: (1.5, 1.0)}], ids=["round", "three", "tall three"])
def test_form_never_promises_less_than_the_two_lobes_that_may_hide(
    oval: float, lobes: dict[int, tuple[float, float]]
) -> None:
    """Two lobes that vary diameters by v make a form of v/2 (4 a and 2 a, algebra): no upper end is below."""
    found = worked(lobes, seed=7, oval=oval)
    assert found.diameters is not None
    assert not any(lobe.n == 2 and lobe.told for lobe in found.lobes)
    if not found.diameters.even:
        for form in found.forms:
            assert form.high >= 1.96 * found.diameters.u / 2.0 * 0.999
            assert form.u >= (form.high - form.low) / 4.2


def test_only_points_that_stand_for_themselves_are_counted() -> None:
    """A limb of 400 px in 860 stretches, a tenth not seen: 774 points, each with the noise of one stretch.

    Noise of 0.02 px on 1,440 points that are worth 860 is 0.02 sqrt(860/1440) on one of 860 (variance over number).
    """
    found = worked(LOBES, seed=8, stretches=860, gap=(80.0, 116.0))
    assert found.edge_count == pytest.approx(774, abs=2)
    assert found.edge_noise_px == pytest.approx(0.02 * math.sqrt(860 / 1440), rel=0.02)


def test_what_the_grid_of_pixels_leaves_is_no_lobe() -> None:
    """Four lobes of 0.01 px, form 0.02 px and under `LEAST_TOLD`, with hardly any noise: not told."""
    assert worked({4: (0.01, 0.3)}, seed=6, u=0.002).told == ()
    assert [lobe.n for lobe in worked({4: (0.03, 0.3)}, seed=6, u=0.002).told] == [4]


def test_a_round_ball_is_called_round() -> None:
    """Noise alone: bounds without a lower end, no lobes told (definition of the floor)."""
    found = worked({}, seed=5)
    assert not any(form.told for form in found.forms)
    assert all(form.low == 0.0 for form in found.forms)
    assert not found.told


def test_less_than_the_grid_of_pixels_leaves_is_never_told_from_round() -> None:
    """An oval of 0.01 px with next to no noise: its form lies under what rendered round balls showed (own choice)."""
    found = worked({2: (0.01, 0.0)}, sd=0.0005)
    assert not any(form.told for form in found.forms)
    assert all(form.high >= 0.05 * LEAST_TOLD * 0.99 for form in found.forms)


def test_the_diameter_by_a_scale() -> None:
    """Twice 400 px at 0.05 mm/px is 40 mm; u from the scale (0.1 %) and 0.1 px of the edge, in squares (by hand)."""
    found = worked(LOBES)
    assert found.diameter is not None
    assert found.diameter.value == pytest.approx(40.0, abs=0.002)
    assert found.diameter.u == pytest.approx(40.0 * math.hypot(1e-3, 0.1 / 400.0), rel=0.01)
    assert not found.diameter_given


@pytest.mark.parametrize("far", [10.0, 20.0])
@pytest.mark.parametrize("by_diameter", [False, True], ids=["scale", "diameter"])
def test_a_lobe_near_by_is_not_taken_for_higher_than_it_is(far: float, *, by_diameter: bool) -> None:
    """The rays that touch a circle of R + a and one of R - a, L away, are 2 a apart where they come from (geometry).

    What they show in the plane of the centre is L tan(asin(r/L)); a lobe is half the difference of the two.
    """
    ball, lobe = 20.0, 0.05
    distance = far * ball
    shown = [distance * math.tan(math.asin(r / distance)) for r in (ball + lobe, ball - lobe, ball)]
    of_plane = shown[2] / RADIUS
    amplitude = (shown[0] - shown[1]) / 2.0 / of_plane
    outline = made_outline({2: (amplitude, 0.4)}, np.random.default_rng(1))
    away = Uncertain(distance, 0.0, unit="mm")
    given = Uncertain(2.0 * ball, 0.0, unit="mm")
    known = (
        SizeKnown(None, given, away) if by_diameter else SizeKnown(Uncertain(of_plane, 0.0, unit="mm/px"), None, away)
    )
    size, _, diameter = sized(RADIUS, 0.0, outline, known)
    assert size.value * amplitude == pytest.approx(lobe, rel=1e-5)
    assert diameter is not None
    assert diameter.value == pytest.approx(2.0 * ball, rel=1e-9)


def test_the_photographs_that_say_no_distance_say_what_that_leaves() -> None:
    """1 % of a lobe at ten radii, 1/100 of q, where the diameter gives the scale; 1.5 % where a scale does."""
    by_caliper = worked(LOBES, SizeKnown(diameter=Uncertain(40.0, 0.02, unit="mm")))
    assert any("1 % at ten radii" in note for note in by_caliper.notes)
    assert any("1.5 % at ten radii" in note for note in worked(LOBES).notes)


@pytest.mark.parametrize(("distance", "larger"), [(300.0, 0.09), (1000.0, 0.008)])
def test_a_silhouette_is_wider_than_the_equator(distance: float, larger: float) -> None:
    """A 40 mm ball looks larger by 0.09 mm at 0.3 m and 0.008 mm at 1 m; R/sqrt(1 - (R/L)^2), turned round here."""
    away = SizeKnown(SCALE.scale, None, Uncertain(distance, 0.02 * distance, unit="mm"))
    near, far = worked(LOBES, away).diameter, worked(LOBES).diameter
    assert near is not None
    assert far is not None
    assert far.value - near.value == pytest.approx(larger, abs=0.002)
    radius = near.value / 2
    assert 2 * radius / math.sqrt(1 - (radius / distance) ** 2) == pytest.approx(far.value, abs=1e-9)
    seen_through_a_lens = worked(LOBES, away, scale_factor=1.001).diameter
    assert seen_through_a_lens is not None
    assert seen_through_a_lens.value == pytest.approx(far.value, abs=1e-9)


def test_a_caliper_diameter_gives_the_scale() -> None:
    """40.12 mm over 800 px (by hand); the diameter is the one given."""
    found = worked(LOBES, SizeKnown(diameter=Uncertain(40.12, 0.02, unit="mm")))
    assert found.scale is not None
    assert found.scale.value == pytest.approx(40.12 / 800.0, rel=1e-4)
    assert found.diameter_given
    assert found.diameter == Uncertain(40.12, 0.02, unit="mm")


def test_without_a_scale_all_is_in_pixels() -> None:
    """The same form in pixels as in mm over the scale (definition)."""
    pixels, mm = worked(LOBES, SizeKnown()), worked(LOBES)
    assert (pixels.unit, mm.unit) == ("px", "mm")
    for one, other in zip(pixels.forms, mm.forms, strict=True):
        assert one.value * 0.05 == pytest.approx(other.value, rel=1e-9)


def test_a_gap_is_said_and_left_out() -> None:
    """A bump in a part that was not seen does not count, and the part is named (definition)."""
    outline = made_outline({}, np.random.default_rng(1), gap=(80.0, 100.0))
    bump = replace(outline, radius=outline.radius + 3.0 * np.exp(-(((np.degrees(THETA) - 90) / 3) ** 2)))
    names = refused_photo("a", "", "", product="A", ball="1")
    found = photo_outline(names, bump, SCALE, 50.0, np.random.default_rng(1))
    zone = next(form for form in found.forms if form.kind == "minimum zone")
    assert zone.high < 0.05 * 0.3
    assert any("part of the edge that was seen" in note for note in found.notes)


def test_a_ball_needs_so_many_pixels_for_a_cut_off() -> None:
    """Seven points an undulation (ISO 12181-2, from memory), each 2.2 px of limb: 123 px for 50 (by hand)."""
    assert least_radius_for(50.0) == pytest.approx(7 * 50 * 2.2 / (2 * math.pi), abs=1.0)


STAYS = {2: (0.3, -1.0), 4: (0.1, 0.5)}
TURNS = (0.0, 50.0, 130.0, 210.0)


def turned(wrong: float = 0.0) -> list[PhotoOutline]:
    return [
        replace(
            worked(LOBES, seed=k + 3, turn=turn + (wrong if k == 2 else 0.0), stays=STAYS), file=f"turn{turn:g}.png"
        )
        for k, turn in enumerate(TURNS)
    ]


def test_ball_and_camera_come_apart() -> None:
    """Known lobes of both: the ball's form is that of the ball alone, the camera's lobes are the camera's."""
    found = separation_of(turned(), TURNS, 50.0, np.random.default_rng(1))
    exact = 0.05 * reference_circles(points_of(THETA, filtered(RADIUS + waves(LOBES), 50.0)))["minimum zone"].form
    zone = next(form for form in found.forms if form.kind == "minimum zone")
    assert zone.low <= exact <= zone.high
    assert found.agrees
    two = next(lobe for lobe in found.camera if lobe.n == 2)
    assert two.amplitude == pytest.approx(0.3 * 0.05, abs=4 * two.u)
    assert found.blind == (36,)


def test_a_wrong_turn_is_found_and_named() -> None:
    """The third photograph was turned by 20 degrees more than is said (simulation)."""
    found = separation_of(turned(20.0), TURNS, 50.0, np.random.default_rng(1))
    assert not found.agrees
    assert found.p < 0.01


def form_clause() -> Clause:
    return next(one for one in find_requirement("bearing-g100").clauses if one.quantity == "outline_form")


def test_the_reference_circle_is_read_from_the_clause() -> None:
    """Words of the definitions of ISO 12181-1; none or two of them give none."""
    assert circle_named("below its circumscribed sphere") == "minimum circumscribed"
    assert circle_named("from the minimum zone circles") == "minimum zone"
    assert circle_named("form of at most 1 mm") is None
    assert circle_named("minimum zone or least squares") is None


def test_clauses_are_told_beyond_or_within_and_never_met() -> None:
    """2.5 um: 0.06 mm is beyond, a round ball within what was photographed; under much noise nothing is told."""
    balls = [BallOutline("Dunlin", "01", (worked(LOBES),))]
    beyond = next(clauses_of(balls, [form_clause()], in_mm=True))
    assert (beyond.outcome, beyond.beyond) == ("told", ("01",))
    round_ball = replace(worked({}, seed=5), ball="02")
    within = next(clauses_of([BallOutline("Dunlin", "02", (round_ball,))], [form_clause()], in_mm=True))
    assert (within.outcome, within.within, within.beyond) == ("told", 1, ())
    noisy = worked({}, seed=5, sd=0.3)
    unsure = next(clauses_of([BallOutline("Dunlin", "03", (noisy,))], [form_clause()], in_mm=True))
    assert unsure.outcome == "cannot be told"
    assert "noise is more than the limit" in unsure.reasons[0]


def test_clauses_that_do_not_fit_are_not_told() -> None:
    """No reference circle in the text, from memory only, no scale: each is a reason (own rules)."""
    clause = form_clause()
    balls = [BallOutline("Dunlin", "01", (worked(LOBES),))]
    plain = replace(clause, readings=(replace(clause.readings[0], text="form of at most 2.5 um"),))
    recalled = replace(clause, source=replace(clause.source, seen="memory"))
    for one, in_mm, words in (
        (plain, True, "which reference circle"),
        (recalled, True, "memory"),
        (clause, False, "scale"),
    ):
        told = next(clauses_of(balls, [one], in_mm=in_mm))
        assert told.outcome == "cannot be told"
        assert words in "; ".join(told.reasons)
