from __future__ import annotations

import csv
import itertools
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import least_squares as general_least_squares
from scipy.optimize import linprog
from scipy.spatial import Voronoi

from ballbench.errors import BadRequest
from ballbench.form.reference_circles import (
    KINDS,
    Circle,
    least_squares,
    maximum_inscribed,
    minimum_circumscribed,
    minimum_zone,
    points_of,
    reference_circles,
)

DATA = Path(__file__).resolve().parents[1] / "reference" / "reference_circles"
Floats = NDArray[np.float64]


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8") as lines:
        return [*csv.DictReader(lines)]


def points(name: str) -> Floats:
    return np.array([(float(row["x"]), float(row["y"])) for row in rows("points.csv") if row["set"] == name])


def lobed(n: int, *, seed: int, noise: float = 0.002, lobes: int = 3, radius: float = 20.0) -> Floats:
    rng = np.random.default_rng(seed)
    theta = np.arange(n) * 2 * math.pi / n
    r = radius + 0.05 * np.cos(lobes * theta + rng.uniform(0, 6)) + rng.normal(0.0, noise, n)
    return points_of(theta, r) + rng.uniform(-5, 5, 2)


@pytest.mark.parametrize("row", rows("circles.csv"), ids=lambda row: f"{row['set']} {row['kind']}")
def test_published_and_recomputed_circles(row: dict[str, str]) -> None:
    """Centres, radii and widths of the reference sets, to the printed digits (tests/reference/reference_circles)."""
    found = {"least squares": least_squares, "minimum zone": minimum_zone}[row["kind"]](points(row["set"]))
    for key, value in (("x", found.x), ("y", found.y), ("radius", found.radius), ("width", found.form)):
        if row[key]:
            digits = len(row[key].partition(".")[2])
            assert value == pytest.approx(float(row[key]), abs=1.05 * 10.0**-digits), key


def test_the_six_points_have_their_minimum_zone_at_exact_fractions() -> None:
    """Centre (105/22, 9/22), by exact algebra on the ring through the four contacts."""
    found = minimum_zone(points("six"))
    assert (found.x, found.y) == pytest.approx((105 / 22, 9 / 22), abs=1e-12)


@pytest.mark.parametrize("row", rows("constant_width.csv"), ids=lambda row: row["n"])
def test_shapes_of_constant_width(row: dict[str, str]) -> None:
    """All four circles of a Reuleaux polygon stand on its middle, with the exact radii of geometry.

    Points stand on all corners and on the middles of all arcs; the printed digits are nine.
    """
    n = int(row["n"])
    size = 2 * n * 200
    theta = np.arange(size) * 2 * math.pi / size
    corner = 1 / (2 * math.cos(math.pi / (2 * n)))
    turn = 2 * math.pi / n
    across = theta % turn - turn / 2  # from the middle of an arc; the arc's own centre is the corner across
    radii = np.sqrt(1 - (corner * np.sin(across)) ** 2) - corner * np.cos(across)
    found = reference_circles(points_of(theta, radii) + np.array([3.0, -2.0]))
    for kind in KINDS:
        assert (found[kind].x, found[kind].y) == pytest.approx((3.0, -2.0), abs=2e-9)
        assert found[kind].form == pytest.approx(float(row["minimum_zone"]), abs=2e-9)
    assert found["minimum circumscribed"].radius == pytest.approx(float(row["outer"]), abs=2e-9)
    assert found["maximum inscribed"].radius == pytest.approx(float(row["inner"]), abs=2e-9)


def zone_by_linear_programs(xy: Floats) -> float:
    """Width of the narrowest ring by successive linear programs of a general library, to convergence."""
    centre = least_squares(xy)
    place = np.array([centre.x, centre.y])
    for _ in range(20):
        way = xy - place
        distance = np.hypot(*way.T)
        u = way / distance[:, None]
        ones, none = np.ones((len(xy), 1)), np.zeros((len(xy), 1))
        rule = np.vstack([np.hstack([-u, -ones, none]), np.hstack([u, none, ones])])
        held = np.concatenate([-(distance - distance.mean()), distance - distance.mean()])
        tight = {"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10}
        done = linprog([0, 0, 1, -1], rule, held, bounds=[(None, None)] * 4, method="highs-ds", options=tight)
        place = place + done.x[:2]
        if np.hypot(*done.x[:2]) < 1e-11:
            break
    return float(np.ptp(np.hypot(*(xy - place).T)))


@pytest.mark.parametrize(("n", "lobes"), [(12, 3), (90, 2), (360, 5), (360, 7), (1440, 4), (3600, 3)])
def test_the_minimum_zone_agrees_with_a_linear_programming_library(n: int, lobes: int) -> None:
    """To 1e-9 mm on outlines of 40 mm with noise (scipy's linprog, successively, to convergence)."""
    xy = lobed(n, seed=n, lobes=lobes)
    assert minimum_zone(xy).form == pytest.approx(zone_by_linear_programs(xy), abs=1e-9)


def around(ways: Floats) -> bool:
    """Say whether no half circle holds all directions."""
    angles = np.sort(np.arctan2(ways[:, 1], ways[:, 0]))
    return bool(np.diff([*angles, angles[0] + 2 * math.pi]).max() <= math.pi + 1e-7)


def in_turn(ways: Floats, outer: tuple[int, ...], inner: tuple[int, ...]) -> bool:
    """Say whether outer and inner contacts come in turn around the centre."""
    angles = np.arctan2(ways[:, 1], ways[:, 0])
    marks = sorted([(angles[k], "o") for k in outer] + [(angles[k], "i") for k in inner])
    return "".join(mark for _, mark in marks) in {"oioi", "ioio"}


def all_rings(xy: Floats) -> float:
    """The narrowest ring of all on two and two points that come in turn, each by bisecting lines; every point inside.

    About places that the points surround; where there are none, about any place.
    """
    best = {True: math.inf, False: math.inf}
    for outer in itertools.combinations(range(len(xy)), 2):
        for inner in itertools.combinations(range(len(xy)), 2):
            if set(outer) & set(inner):
                continue
            rule = np.array([xy[b] - xy[a] for a, b in (outer, inner)])
            held = np.array([(xy[b] @ xy[b] - xy[a] @ xy[a]) / 2 for a, b in (outer, inner)])
            if abs(np.linalg.det(rule)) < 1e-12:
                continue
            way = xy - np.linalg.solve(rule, held)
            distance = np.hypot(*way.T)
            most, least = distance[outer[0]], distance[inner[0]]
            if distance.max() <= most + 1e-9 and distance.min() >= least - 1e-9 and in_turn(way, outer, inner):
                best[around(way)] = min(best[around(way)], most - least)
    return best[True] if math.isfinite(best[True]) else best[False]


def far_from_round(seed: int) -> Floats:
    """Four to eight points whose form is up to nine tenths of their radius."""
    rng = np.random.default_rng(seed)
    n, form = int(rng.integers(4, 9)), float(rng.choice([0.1, 0.3, 0.5, 0.7, 0.9]))
    theta = np.sort(rng.uniform(0, 2 * math.pi, n))
    return points_of(theta, 1.0 + rng.uniform(-form, form, n))


@pytest.mark.parametrize("seed", [*range(12), 186])
def test_the_minimum_zone_is_the_narrowest_of_all_rings_on_two_and_two_points(seed: int) -> None:
    """Few points far from round: every ring through two outer and two inner points is tried (independent search)."""
    xy = far_from_round(seed)
    assert minimum_zone(xy).form == pytest.approx(all_rings(xy), abs=1e-9)


@pytest.mark.parametrize("seed", range(24))
def test_the_inscribed_circle_is_the_largest_on_any_three_points_that_hold_it(seed: int) -> None:
    """Few points far from round: every empty circle through three points that surround it (independent search)."""
    xy = far_from_round(seed)
    best = 0.0
    for chosen in itertools.combinations(range(len(xy)), 3):
        own = xy[list(chosen)]
        rule = 2 * (own[1:] - own[0])
        if abs(np.linalg.det(rule)) < 1e-12:
            continue
        centre = np.linalg.solve(rule, (own[1:] ** 2).sum(axis=1) - (own[0] ** 2).sum())
        distance = np.hypot(*(xy - centre).T)
        radius = float(np.hypot(*(own[0] - centre)))
        if distance.min() >= radius - 1e-9 and around(xy[distance < radius + 1e-9] - centre):
            best = max(best, radius)
    if best == 0.0:
        with pytest.raises(BadRequest, match="half of the turn"):
            maximum_inscribed(xy)
    else:
        assert maximum_inscribed(xy).radius == pytest.approx(best, abs=1e-9)


@pytest.mark.parametrize("n", [4, 5, 6, 12, 60])
def test_points_on_one_circle_have_no_form_however_few(n: int) -> None:
    """Regular figures: every border of the plane's cells meets in the middle, all four forms are roundings."""
    theta = np.arange(n) * 2 * math.pi / n + 0.1
    for found in reference_circles(points_of(theta, np.ones(n))).values():
        assert found.form < 1e-12
        assert math.hypot(found.x, found.y) < 1e-9


def test_a_star_of_ten_has_its_ring_in_the_middle() -> None:
    """Five points at 1 and five at 0.6 in turn: width 0.4 about the middle, by symmetry; five contacts each way."""
    theta = np.arange(10) * 2 * math.pi / 10
    found = minimum_zone(points_of(theta, np.where(np.arange(10) % 2, 0.6, 1.0)))
    assert found.form == pytest.approx(0.4, abs=1e-12)
    assert math.hypot(found.x, found.y) < 1e-12


@pytest.mark.parametrize("seed", range(20))
def test_the_circumscribed_circle_is_the_smallest_of_all_that_hold_the_points(seed: int) -> None:
    """Every circle on two points as ends or through three is tried, by circumcentres (independent search)."""
    xy = np.random.default_rng(seed).normal(size=(9, 2))
    best = math.inf
    for chosen in (*itertools.combinations(range(9), 2), *itertools.combinations(range(9), 3)):
        own = xy[list(chosen)]
        if len(own) == 2:
            centre = own.mean(axis=0)
        else:
            rule = 2 * (own[1:] - own[0])
            centre = np.linalg.solve(rule, (own[1:] ** 2).sum(axis=1) - (own[0] ** 2).sum())
        radius = np.hypot(*(xy - centre).T).max()
        if radius <= np.hypot(*(own[0] - centre)) + 1e-9:
            best = min(best, float(radius))
    assert minimum_circumscribed(xy).radius == pytest.approx(best, abs=1e-9)


def test_contacts_that_roundings_move_off_their_circle_are_no_failure() -> None:
    """Two opposite points and a neighbour of one, turned by every second degree: the circle through all three.

    Its radius is 399.334862100915 by exact fractions. One in 180 failed before.
    """
    xy = np.array([
        [279.8975636985375, 284.8261880789861], [-279.89744508497296, -284.82535140801],
        [-281.1375761177739, -283.6013716247723], [-300.0, 100.0],
    ])  # fmt: skip
    for turn in np.radians(np.arange(0.0, 360.0, 2.0)):
        turned = xy @ np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
        assert minimum_circumscribed(turned).radius == pytest.approx(399.334862100915, abs=1e-9)


@pytest.mark.parametrize("seed", range(20))
def test_the_inscribed_circle_is_the_largest_empty_one_about_the_middle(seed: int) -> None:
    """The corners of scipy's Voronoi diagram near the middle are all centres that can be (computational geometry)."""
    rng = np.random.default_rng(seed)
    theta = np.sort(rng.uniform(0, 2 * math.pi, 40) % (2 * math.pi))
    xy = points_of(theta, 1.0 + rng.uniform(-0.05, 0.05, 40))
    corners = Voronoi(xy).vertices
    corners = corners[np.hypot(*corners.T) < 0.4]
    empty = np.hypot(xy[:, 0] - corners[:, :1], xy[:, 1] - corners[:, 1:]).min(axis=1)
    assert maximum_inscribed(xy).radius == pytest.approx(float(empty.max()), abs=1e-9)


@pytest.mark.parametrize("name", ["six", "eight", "first", "second"])
def test_the_least_squares_circle_agrees_with_a_general_fit(name: str) -> None:
    """Scipy's least_squares from the same points, tight tolerances: centre and radius to 1e-6."""
    xy = points(name)

    def off(place: Floats) -> Floats:
        return np.hypot(xy[:, 0] - place[0], xy[:, 1] - place[1]) - place[2]

    start = np.array([*xy.mean(axis=0), np.hypot(*(xy - xy.mean(axis=0)).T).mean()])
    fit = general_least_squares(off, start, xtol=1e-15, ftol=1e-15, gtol=1e-15, max_nfev=20_000)
    found = least_squares(xy)
    assert (found.x, found.y, found.radius) == pytest.approx(tuple(fit.x), abs=2e-6)
    assert float(np.sum(off(np.array([found.x, found.y, found.radius])) ** 2)) <= 2 * fit.cost + 1e-12


def proof(found: Circle, xy: Floats) -> None:
    """Hold a circle against the definition of ISO 12181-1 and its contacts."""
    distance = np.hypot(xy[:, 0] - found.x, xy[:, 1] - found.y)
    near = 1e-9 * found.radius
    assert found.outer == pytest.approx(distance.max(), abs=near)
    assert found.inner == pytest.approx(distance.min(), abs=near)
    angles = np.arctan2(xy[:, 1] - found.y, xy[:, 0] - found.x)
    if found.kind == "minimum zone":
        assert np.allclose(distance[[*found.outside]], found.outer, atol=near)
        assert np.allclose(distance[[*found.inside]], found.inner, atol=near)
        marks = sorted([(angles[k], "o") for k in found.outside] + [(angles[k], "i") for k in found.inside])
        assert "".join(mark for _, mark in marks) in {"oioi", "ioio"}
    elif found.kind != "least squares":
        held = found.outside if found.kind == "minimum circumscribed" else found.inside
        assert np.allclose(distance[[*held]], found.radius, atol=near)
        turn = np.sort(angles[[*held]])
        assert np.diff([*turn, turn[0] + 2 * math.pi]).max() <= math.pi + 1e-6


@settings(max_examples=40, deadline=None)
@given(
    seed=st.integers(0, 10**6), n=st.integers(12, 200), lobes=st.integers(1, 9), noise=st.floats(0.0, 0.01),
    x=st.floats(-100, 100), y=st.floats(-100, 100), scale=st.floats(0.01, 100), turn=st.floats(0, 6.28),
)  # fmt: skip
def test_every_circle_passes_its_proof_wherever_the_outline_stands(
    seed: int, n: int, lobes: int, noise: float, x: float, y: float, scale: float, turn: float
) -> None:
    """Contacts lie as the definitions ask; forms are ordered, and move, turn and grow with the outline (geometry)."""
    xy = lobed(n, seed=seed, lobes=lobes, noise=noise)
    rotation = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    moved = scale * xy @ rotation.T + np.array([x, y])
    first, second = reference_circles(xy), reference_circles(moved)
    for kind in KINDS:
        proof(first[kind], xy)
        proof(second[kind], moved)
        assert second[kind].form == pytest.approx(scale * first[kind].form, abs=1e-8 * scale)
        assert first["minimum zone"].form <= first[kind].form + 1e-9


def test_a_perfect_circle_has_no_form() -> None:
    """All four forms of points on a circle are roundings (definition)."""
    theta = np.arange(720) * 2 * math.pi / 720
    for found in reference_circles(points_of(theta, np.full(720, 20.0)) + np.array([7.0, 9.0])).values():
        assert found.form < 1e-12
        assert found.radius == pytest.approx(20.0, abs=1e-12)


def test_points_in_any_order_and_in_a_heap_at_one_angle_are_taken() -> None:
    """Order does not matter, nor two points on one ray (definition of the circles)."""
    xy = lobed(120, seed=4)
    twice = np.vstack([xy, xy[:5] * 1.0001])
    mixed = np.random.default_rng(1).permutation(len(twice))
    for kind, found in reference_circles(twice).items():
        assert reference_circles(twice[mixed])[kind].form == pytest.approx(found.form, abs=1e-9)


@pytest.mark.parametrize(
    ("bad", "words"),
    [
        (np.zeros((3, 3)), "shape"),
        (np.zeros((2, 2)), "shape"),
        (np.column_stack([np.arange(9.0), np.arange(9.0)]), "line"),
        (np.full((9, 2), np.nan), "finite"),
        (np.full((5, 2), 0.3), "one place"),
    ],
)
def test_what_is_no_outline_is_refused(bad: Floats, words: str) -> None:
    """Points that are none, too few, on a line, in one place or not finite (own rule)."""
    for solve in (minimum_zone, least_squares, maximum_inscribed):
        with pytest.raises(BadRequest, match=words):
            solve(bad if len(bad) != 3 or solve is minimum_zone else bad[:2])
    if words in {"finite", "one place"}:
        with pytest.raises(BadRequest, match=words):
            minimum_circumscribed(bad)


def test_an_arc_has_no_inscribed_circle() -> None:
    """Half of a turn without points leaves nothing for a circle to stand against (definition)."""
    theta = np.linspace(0.2, 1.8, 30)
    with pytest.raises(BadRequest, match="half of the turn"):
        maximum_inscribed(points_of(theta, np.full(30, 20.0)))
