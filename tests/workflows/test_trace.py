"""Photographs of known balls, rendered apart from the code that reads them, through `trace`."""

from __future__ import annotations

import csv
import io
import json
import math
from pathlib import Path

import numpy as np
import pytest
from examples.recorded.photos import Ball, Lens, Lobe, Scene, photographed, saved, true_radius

from ballbench.errors import BadRequest
from ballbench.findings.tracing.results import OutlineFindings
from ballbench.form.reference_circles import points_of, reference_circles
from ballbench.form.roundness_filter import filtered
from ballbench.presentation.outlines_json import outlines_to_json
from ballbench.records import read_readings
from ballbench.workflows.trace import TraceRequest, trace
from ballbench.workflows.trace_readings import outline_readings
from ballbench.workflows.trace_stated import stated

SIDE, RADIUS = 520, 200.0
LOBES = (Lobe(3, 0.045, 1.2), Lobe(2, 0.020, 2.0), Lobe(5, 0.008, 0.4))
STAYS = (Lobe(2, 0.015, 0.5),)
TURNS = (0, 50, 130, 210)


def taken(path: Path, lobes: tuple[Lobe, ...], seed: int, aside: float = 0.0) -> Path:
    lens = Lens(RADIUS * 1200.0 / 20.0, (SIDE - 1) / 2 - aside, (SIDE - 1) / 2)
    scene = Scene(SIDE, SIDE, lens, (Ball(20.0, lobes, 1200.0),), read=0.002, shot=2e-5)
    return saved(photographed(scene, np.random.default_rng(seed)), path)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    here = tmp_path_factory.mktemp("photographs")
    taken(here / "Dunlin_03.png", LOBES, 1)
    taken(here / "Curlew_07.png", (), 2)
    taken(here / "Curlew_08.png", (), 3, aside=100.0)
    (here / "Curlew_09.jpg").write_bytes(b"\xff\xd8\xff\xe0" + b"nothing" * 20)
    for turn in TURNS:
        ball = tuple(Lobe(one.n, one.amplitude, one.phase - one.n * math.radians(turn)) for one in LOBES)
        taken(here / f"Plover_11_{turn}.png", (*ball, *STAYS), 10 + turn)
    return here


@pytest.fixture(scope="module")
def found(folder: Path) -> OutlineFindings:
    names = ("Dunlin_03.png", "Curlew_07.png", "Curlew_08.png", "Curlew_09.jpg")
    return trace(
        TraceRequest(tuple(folder / n for n in names), scale="0.1 mm/px", distance="1.2 m", spec="bearing-g100")
    )


THETA = np.arange(1440) * 2 * math.pi / 1440


def true_form(lobes: tuple[Lobe, ...], kind: str = "minimum zone") -> float:
    outline = filtered(true_radius(Ball(20.0, lobes), THETA), 50.0)
    return reference_circles(points_of(THETA, outline))[kind].form  # type: ignore[index]


def test_form_lobes_and_diameter_of_a_rendered_ball(found: OutlineFindings) -> None:
    """All four forms within a tenth of a pixel (0.01 mm) and the stated interval; diameter and lobes too."""
    photo = found.photos[0]
    assert photo.refused == ""
    for form in photo.forms:
        exact = true_form(LOBES, form.kind)
        assert form.value == pytest.approx(exact, abs=0.01)
        assert form.low <= exact <= form.high
    assert photo.diameter is not None
    assert photo.diameter.value == pytest.approx(40.0, abs=0.005)
    for lobe in LOBES:
        seen = next(one for one in photo.lobes if one.n == lobe.n)
        assert seen.amplitude == pytest.approx(lobe.amplitude, abs=5 * seen.u + 5e-4)
        assert math.cos(math.radians(seen.phase_deg) - lobe.phase) > 0.99


def test_a_round_ball_is_not_told_from_round(found: OutlineFindings) -> None:
    """Rendered without lobes: a bound alone, far below a tenth of a pixel."""
    zone = next(form for form in found.photos[1].forms if form.kind == "minimum zone")
    assert not zone.told
    assert zone.low == 0.0
    assert zone.high < 0.01


def test_what_cannot_be_used_says_why_and_the_others_count(found: OutlineFindings) -> None:
    """A ball that is cut off, and bytes that are no photograph: reason and what to do, beside two that were read."""
    assert [bool(photo.refused) for photo in found.photos] == [False, False, True, True]
    assert "cut off" in found.photos[2].refused
    assert "middle" in found.photos[2].refused
    assert "damaged" in found.photos[3].refused or "photograph" in found.photos[3].refused
    assert len(found.read) == 2


def test_a_clause_on_the_circumscribed_circle(found: OutlineFindings) -> None:
    """2.5 um: the lobed ball is beyond, in so many words; no ball is ever said to pass."""
    assert (found.clauses[0].product, found.clauses[0].outcome) == ("Dunlin", "told")
    assert found.clauses[0].beyond == ("03",)
    assert not any("is met" in sentence for sentence in found.sentences)


def test_the_json_is_the_contract(found: OutlineFindings) -> None:
    """Keys as agreed: file, refused, diameter, form of four circles with value, u and unit, lobes, edge_count."""
    told = json.loads(outlines_to_json(found))
    assert told["format"] == "ballbench/outlines/1"
    assert {"seed", "assumptions", "notes"} <= {*told}
    photo = told["photos"][0]
    assert photo["refused"] is None
    assert photo["diameter"]["unit"] == "mm"
    assert {*photo["form"]} == {"least_squares", "minimum_zone", "minimum_circumscribed", "maximum_inscribed"}
    assert all({"value", "u", "unit"} <= {*form} for form in photo["form"].values())
    theta = np.arange(360) * 2 * math.pi / 360
    outline = sum(
        lobe["amplitude"] * np.cos(lobe["n"] * theta + math.radians(lobe["phase_deg"])) for lobe in photo["lobes"]
    )
    exact = true_radius(Ball(20.0, LOBES), theta) - 20.0
    assert np.abs(outline - exact).max() < 0.01
    assert photo["edge_count"] == pytest.approx(2 * math.pi * 200 / 2.2, abs=5)  # stretches of 2.2 pixels of limb
    assert told["photos"][3]["refused"]
    assert told["photos"][3]["form"] is None


def test_the_same_request_gives_the_same_bytes_whatever_stands_beside_it(folder: Path, found: OutlineFindings) -> None:
    """A photograph alone gives what it gives among others (own rule: randomness by seed and digest)."""
    alone = trace(TraceRequest((folder / "Dunlin_03.png",), scale="0.1 mm/px", distance="1.2 m"))
    assert alone.photos[0].forms == found.photos[0].forms
    again = trace(TraceRequest((folder / "Dunlin_03.png",), scale="0.1 mm/px", distance="1.2 m"))
    assert outlines_to_json(alone) == outlines_to_json(again)


def test_a_turned_ball_is_told_from_the_camera(folder: Path) -> None:
    """Rendered with a camera that adds an oval of 0.015 mm: the ball alone has its own form, the camera its oval."""
    files = tuple(folder / f"Plover_11_{turn}.png" for turn in TURNS)
    told = trace(TraceRequest(files, scale="0.1 mm/px", distance="1.2 m", turned="0,50,130,210")).separation
    assert told is not None
    assert told.agrees
    zone = next(form for form in told.forms if form.kind == "minimum zone")
    assert zone.low <= true_form(LOBES) <= zone.high
    two = next(lobe for lobe in told.camera if lobe.n == 2)
    assert two.amplitude == pytest.approx(0.015, abs=0.002)


def test_turned_photographs_of_two_balls_are_refused(folder: Path) -> None:
    """What stays while different balls are laid in is no camera: the names say Dunlin 03 and Plover 11."""
    files = (folder / "Dunlin_03.png", folder / "Plover_11_50.png")
    with pytest.raises(BadRequest, match="photographs of several balls"):
        trace(TraceRequest(files, scale="0.1 mm/px", distance="1.2 m", turned="0,50"))


def test_a_caliper_diameter_gives_the_size(folder: Path) -> None:
    """40.00 mm given: the same form as by the scale, to a thousandth (40 mm over 400 px)."""
    by_ball = trace(TraceRequest((folder / "Dunlin_03.png",), diameter="40.00 mm")).photos[0]
    zone = next(form for form in by_ball.forms if form.kind == "minimum zone")
    assert zone.value == pytest.approx(true_form(LOBES), abs=0.01)
    assert by_ball.diameter_given


def test_a_ball_too_small_for_the_cut_off_is_refused(folder: Path) -> None:
    """150 undulations ask for 368 px of radius; there are 200 (seven points an undulation, by hand)."""
    told = trace(TraceRequest((folder / "Dunlin_03.png",), cutoff=150.0)).photos[0]
    assert "368" in told.refused
    assert "--filter 15" in told.refused


def test_readings_can_be_judged(found: OutlineFindings, tmp_path: Path) -> None:
    """The readings file is read by the importer, names photograph and digest, and holds form and diameter."""
    text = outline_readings(found)
    rows = [*csv.DictReader(io.StringIO(text))]
    assert [(row["product"], row["quantity"]) for row in rows] == [
        ("Dunlin", "outline_form"), ("Dunlin", "diameter"), ("Curlew", "outline_form"), ("Curlew", "diameter"),
    ]  # fmt: skip
    assert float(rows[0]["value"]) == pytest.approx(true_form(LOBES, "minimum circumscribed"), abs=0.01)
    assert "sha256:" in rows[0]["note"]
    file = tmp_path / "outlines.csv"
    file.write_text(text, encoding="utf-8")
    assert read_readings(file).table.height == 4


def test_readings_need_a_scale(folder: Path) -> None:
    """Pixels are no readings (own rule)."""
    with pytest.raises(BadRequest, match="pixels"):
        outline_readings(trace(TraceRequest((folder / "Curlew_07.png",))))


@pytest.mark.parametrize(
    ("text", "value", "u"),
    [
        ("0.0125 mm/px", 0.0125, 1.25e-5),
        ("80 px/mm", 0.0125, 1.25e-5),
        ("12.5 um/px", 0.0125, 1.25e-5),
        ("0.0125 ± 0.0001 mm/px", 0.0125, 1e-4 / math.sqrt(3)),
        ("0.0125 mm/pixel", 0.0125, 1.25e-5),
        ("80 +- 1 px/mm", 0.0125, 0.0125 / 80 / math.sqrt(3)),
    ],
)
def test_scales_in_words(text: str, value: float, u: float) -> None:
    """Limits are half-widths of a rectangle, over the root of 3 (JCGM 100:2008, 4.3.7); else 0.1 % (own choice)."""
    scale = stated(text, "", "", "", 50.0, 1).known.scale
    assert scale is not None
    assert (scale.value, scale.u) == pytest.approx((value, u), rel=1e-9)


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({"scale": "0.0125"}, "mm/px"),
        ({"scale": "0,0125 mm/px"}, "decimal"),
        ({"scale": "12 mm/px"}, "0.0001 to 1"),
        ({"diameter": "40.12"}, "40.12 mm"),
        ({"diameter": "4.0 m"}, "5 to 400 mm"),
        ({"scale": "0.0125 mm/px", "diameter": "40 mm"}, "one of the two"),
        ({"distance": "1.2"}, "1.2 m"),
        ({"turned": "0,60"}, "2 turns for 1 photograph;"),
        ({"turned": "north"}, "degrees"),
        ({"cutoff": 1000.0}, "take one of 15, 50, 150"),
        ({"cutoff": math.nan}, "undulations"),
        ({"seed": -1}, "seed"),
    ],
)
def test_what_cannot_be_asked_is_refused(asked: dict[str, object], words: str) -> None:
    """One message with what is allowed and what to do, before any photograph is opened (own rules)."""
    with pytest.raises(BadRequest, match=words):
        trace(TraceRequest((Path("nowhere.jpg"),), **asked))  # type: ignore[arg-type]


def test_one_photograph_is_named_once() -> None:
    """As in listen and watch: read twice it would count as two outlines of the ball."""
    with pytest.raises(BadRequest, match="the same file twice"):
        trace(TraceRequest((Path("Curlew_07.jpg"), Path("Curlew_07.jpg"))))


def test_a_folder_has_a_name_where_it_is_refused() -> None:
    """``.`` has no last part; no note takes a file that did not count as its example."""
    told = trace(TraceRequest((Path(),)))
    assert told.photos[0].file == "."
    assert not any("read from its name" in note for note in told.footing.notes)


def test_a_stated_distance_is_not_said_to_be_left_out(folder: Path) -> None:
    """What --distance takes out is not denied in a note; without it, that the outline is larger is said."""
    near = trace(TraceRequest((folder / "Dunlin_03.png",), scale="0.1 mm/px", distance="1.2 m")).photos[0]
    bare = trace(TraceRequest((folder / "Dunlin_03.png",))).photos[0]
    assert not any("silhouette" in note or "larger" in note for note in near.notes)
    assert any("larger than the ball" in note for note in bare.notes)


def test_all_faults_come_at_once() -> None:
    """Four wrong options are four faults (own rule)."""
    with pytest.raises(BadRequest) as caught:
        stated("x", "y", "z", "north", 50.0, 2)
    assert len(caught.value.faults) >= 4
