"""From files to a qualified instrument: what was planted is found, and what is wrong is said."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest

from ballbench.errors import BadInput, BadRequest
from ballbench.findings.qualification import ComponentFound, Qualification
from ballbench.records import read_bench
from ballbench.workflows.qualify import QualifyRequest, bench_entry, qualify

PUBLISHED = Path(__file__).parents[1] / "reference" / "repeat_study"
HEAD = "product,ball,quantity,axis,repeat,value,unit,instrument,operator\n"


def component(found: Qualification, name: str) -> ComponentFound:
    assert found.repeats is not None
    return next(one for one in found.repeats.components if one.name == name)


def study(
    folder: Path, *, sd: float = 0.02, person: float = 0.0, balls: int = 8, people: tuple[str, ...] = ("Ada", "Ben"),
    repeats: int = 3, seed: int = 1,
) -> Path:  # fmt: skip
    """An invented repeat study with a planted noise, and a planted offset of the second person."""
    rng = np.random.default_rng(seed)
    rows = []
    for ball in range(balls):
        size = 40.2 + 0.05 * rng.standard_normal()
        for number, who in enumerate(people):
            for repeat in range(repeats):
                value = size + person * number + sd * rng.standard_normal()
                rows.append(
                    f"Curlew,{ball + 1:02d},diameter,seam,{repeat + 1 + repeats * number},{value:.2f},mm,caliper,{who}"
                )
    path = folder / "study.csv"
    path.write_text("Invented data\n" + HEAD + "\n".join(rows) + "\n", encoding="utf-8")
    return path


def log(
    folder: Path, *, offset: float, drift: float = 0.0, pieces: tuple[float, ...] = (38.1, 42.0), seed: int = 2
) -> Path:
    """Eight checks of each piece over four hours, the caliper off by `offset` and moving by `drift` an hour."""
    rng = np.random.default_rng(seed)
    rows = [
        f"piece {size},caliper,{size + offset + drift * hour + 0.008 * rng.standard_normal():.2f},{size},0.001,mm,"
        f"2026-11-27 {9 + int(hour):02d}:{int(60 * (hour % 1)):02d}"
        for hour in np.arange(0.0, 4.0, 0.5)
        for size in pieces
    ]
    path = folder / "checks.csv"
    path.write_text("piece,instrument,value,known,u,unit,time\n" + "\n".join(rows) + "\n", encoding="utf-8")
    return path


def test_the_published_study_comes_out_of_a_readings_file(tmp_path: Path) -> None:
    """10 parts, 3 people, 3 trials (tests/reference/repeat_study): repeatability is the root of the printed 0.04598."""
    rows = []
    with (PUBLISHED / "readings.csv").open(encoding="utf-8", newline="") as file:
        for line in csv.DictReader(file):
            rows += [
                f"parts,{part},deviation,,{line['trial']},{line[f'p{part}']},mm,gauge,{line['person']}"
                for part in range(1, 11)
            ]
    path = tmp_path / "published.csv"
    path.write_text(HEAD + "\n".join(rows) + "\n", encoding="utf-8")
    spec = tmp_path / "own.toml"
    spec.write_text(
        'id = "own"\nsport = "any"\ntitle = "own"\nedition = "2026"\n'
        'source = { document = "own", clause = "1", seen = "own" }\n[[clause]]\nid = "deviation"\n'
        'text = "Deviations stay within 3 mm."\nquantity = "deviation"\nball = "mean"\nsample = "each"\n'
        'lower = "-3 mm"\nupper = "3 mm"\n',
        encoding="utf-8",
    )
    found = qualify(QualifyRequest(path, spec=str(spec)))
    assert found.repeats is not None
    assert (found.repeats.readings, found.repeats.people, found.repeats.places) == (90, 3, 10)
    repeats = component(found, "repeatability")
    assert repeats.sd**2 == pytest.approx(0.04598, abs=5e-6)
    assert repeats.dof == 60.0
    people = {one.person: one.difference for one in found.repeats.people_found}
    assert people["A"] == pytest.approx(0.1903 - (0.1903 + 0.0683 - 0.2543) / 3.0, abs=1e-4)


def test_a_planted_noise_and_person_are_found(tmp_path: Path) -> None:
    """Noise of 0.02 mm lies in its interval, and a person who reads 0.05 mm more is named."""
    found = qualify(QualifyRequest(study(tmp_path, person=0.05)))
    noise = component(found, "repeatability")
    assert noise.low <= 0.02 <= noise.high
    assert found.repeats is not None
    ben = next(one for one in found.repeats.people_found if one.person == "Ben")
    assert ben.low <= 0.025 <= ben.high
    assert any("Ben reads" in sentence and "more than Ada" in sentence for sentence in found.sentences)
    assert found.footing.invented


def test_the_sentence_says_what_two_balls_must_differ_by(tmp_path: Path) -> None:
    """Read t(0.975) sqrt(2) s apart, and truly 0.84 sqrt(2) s further for 80 in 100 (textbook); s with 32 dof."""
    found = qualify(QualifyRequest(study(tmp_path, people=("Ada",), balls=16)))
    noise = component(found, "repeatability")
    assert noise.dof == 32.0
    expected = 2.0369 * math.sqrt(2.0) * noise.sd  # t(0.975, 32) = 2.0369, as printed in t tables, from memory
    assert found.repeats is not None
    assert found.repeats.telling[0].same == pytest.approx(expected, rel=1e-4)
    assert f"must read {expected:.3f} mm apart" in found.sentence
    truly = expected + 0.8416 * math.sqrt(2.0) * noise.sd
    assert any(
        f"truly differ by {truly:.3f} mm there are told apart by one reading of each 80 times" in text
        for text in found.sentences
    )


def test_a_planted_offset_goes_into_the_bench_entry(tmp_path: Path) -> None:
    """A caliper 0.03 mm off is found so within its uncertainty, and the entry that is written reads back the same."""
    found = qualify(QualifyRequest(study(tmp_path), checks=log(tmp_path, offset=0.03)))
    tool = found.instrument
    assert abs(tool.offset - 0.03) < 2.0 * tool.offset_sd
    assert found.known == ("repeatability", "calibration")
    path = tmp_path / "bench.toml"
    path.write_text(bench_entry(found), encoding="utf-8")
    assert read_bench(path).instruments["caliper"] == tool
    assert any("too high" in sentence for sentence in found.sentences)


def test_a_drift_is_seen_and_carried(tmp_path: Path) -> None:
    """0.02 mm an hour over 3.5 hours is beyond noise, and its rectangle, rate T/sqrt(12), is in offset_sd."""
    moved = qualify(QualifyRequest(study(tmp_path), checks=log(tmp_path, offset=0.0, drift=0.02)))
    assert all(one.beyond_noise and one.low <= 0.02 <= one.high for one in moved.drift)
    assert moved.instrument.offset_sd > 0.02 * 3.5 / math.sqrt(12.0) * 0.8
    still = qualify(QualifyRequest(study(tmp_path), checks=log(tmp_path, offset=0.0)))
    assert not any(one.beyond_noise for one in still.drift)
    assert still.instrument.offset_sd < 0.5 * moved.instrument.offset_sd


def test_one_piece_says_nothing_of_other_sizes(tmp_path: Path) -> None:
    """With one piece there is an offset and no slope, and the sentence says so."""
    found = qualify(QualifyRequest(study(tmp_path), checks=log(tmp_path, offset=0.03, pieces=(40.0,))))
    assert found.calibration is not None
    assert math.isnan(found.calibration.slope)
    assert any("nothing of other sizes" in sentence for sentence in found.sentences)


def test_a_squeeze_of_two_forces(tmp_path: Path) -> None:
    """A shell that loses 0.01 mm a newton is found to lose that at 1 N, and the make's entry is in the bench file."""
    rng = np.random.default_rng(5)
    rows = [
        f"Curlew,{ball:02d},{force},{40.2 - 0.01 * force + 0.004 * rng.standard_normal():.3f}"
        for ball in range(1, 5) for force in (1.0, 6.0) for _ in range(3)
    ]  # fmt: skip
    path = tmp_path / "forces.csv"
    path.write_text("product,ball,force,value\n" + "\n".join(rows) + "\n", encoding="utf-8")
    found = qualify(QualifyRequest(forces=path))
    assert abs(found.squeeze[0].value - 0.01) < 3.0 * found.squeeze[0].sd
    assert found.squeeze[0].force == 1.0
    assert found.footing.cautions[0].startswith("Hang weights low")
    bench = tmp_path / "bench.toml"
    bench.write_text(bench_entry(found), encoding="utf-8")
    assert read_bench(bench).squeeze["Curlew"].value == pytest.approx(found.squeeze[0].value, rel=1e-12)


def test_the_same_files_give_the_same_result(tmp_path: Path) -> None:
    """Two runs are equal in every field."""
    request = QualifyRequest(study(tmp_path), checks=log(tmp_path, offset=0.01), spec="table-tennis-plastic")
    assert repr(qualify(request)) == repr(qualify(request))


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"readings": None}, "no file"),
        ({"quantity": "mass"}, "option --quantity"),
        ({"instrument": "micrometer"}, "option --instrument"),
        ({"u_common": -1.0}, "option --u-common"),
        ({"at_force": 0.0}, "option --at-force"),
        ({"ball": "egg"}, "option --ball"),
    ],
)
def test_a_request_that_cannot_be_answered(tmp_path: Path, changes: dict[str, object], says: str) -> None:
    """Each gets one clear message."""
    with pytest.raises(BadInput, match=says):
        qualify(QualifyRequest(**{"readings": study(tmp_path), **changes}))  # type: ignore[arg-type]


def test_balls_of_other_sizes_than_the_pieces_are_refused(tmp_path: Path) -> None:
    """Pieces of 10 and 12 mm say nothing of a ball of 40 mm."""
    checks = log(tmp_path, offset=0.0, pieces=(10.0, 12.0))
    with pytest.raises(BadRequest, match="piece of about that size"):
        qualify(QualifyRequest(study(tmp_path), checks=checks))


CHECK_HEAD = "piece,instrument,value,known,u,unit,time\n"


def piece_log(folder: Path, rows: list[tuple[str, float, float, str]]) -> Path:
    """A log of checks: piece, value, known size, time."""
    path = folder / "pieces.csv"
    lines = [f"{piece},caliper,{value:.3f},{known},0.001,mm,{time}" for piece, value, known, time in rows]
    path.write_text(CHECK_HEAD + "\n".join(lines) + "\n", encoding="utf-8")
    return path


def stated(folder: Path, more: str = "", scale: float = 0.0, sd: float = 0.01) -> Path:
    """A bench file with the caliper, displaying 0.01 mm."""
    path = folder / "stated.toml"
    path.write_text(
        f'[instrument.caliper]\nquantity = "diameter"\nunit = "mm"\nresolution = 0.01\n{more}\n'
        f"repeatability = {{ sd = {sd}, dof = 20 }}\n"
        f"calibration = {{ offset = 0.0, offset_sd = 0.02, scale_sd = {scale} }}\n",
        encoding="utf-8",
    )
    return path


def test_a_display_that_cuts_off_is_not_corrected_twice(tmp_path: Path) -> None:
    """A right caliper that cuts off shows half a step too little on average; readings get that back, so offset is 0."""
    rng = np.random.default_rng(3)
    shown = np.floor((40.0 + rng.normal(0.0, 0.01, 400)) / 0.01) * 0.01
    checks = piece_log(tmp_path, [("ball", float(value), 40.0, "") for value in shown])
    found = qualify(QualifyRequest(bench=stated(tmp_path, 'display = "truncates"'), checks=checks))
    assert abs(found.instrument.offset) < 0.0015
    assert np.mean([one.error for one in found.checks]) == pytest.approx(0.0, abs=0.0015)


def test_one_check_off_is_told_as_that(tmp_path: Path) -> None:
    """Level but for one check 0.1 mm below: no direction of a drift is named, the check is (planted)."""
    values = [40.0, 40.0, 39.9, 40.0, 40.0]
    rows = [("ball", value, 40.0, f"2026-11-27 {9 + hour:02d}:00") for hour, value in enumerate(values)]
    found = qualify(QualifyRequest(bench=stated(tmp_path), checks=piece_log(tmp_path, rows)))
    (one,) = found.drift
    assert (one.beyond_noise, one.steady) == (True, False)
    assert one.jump == pytest.approx(-0.1)
    told = " ".join((found.sentence, *found.sentences))
    assert "one check lay 0.10 mm below the first, beyond noise; not a steady drift" in told
    assert "moved" not in told


def test_a_missing_time_is_said(tmp_path: Path) -> None:
    """Four checks, one without a time: the order of the file is taken and a note says so (planted)."""
    times = ["2026-11-27 09:00", "2026-11-27 10:00", "", "2026-11-27 12:00"]
    rows = [("ball", 40.0 + 0.05 * k, 40.0, time) for k, time in enumerate(times)]
    (one,) = qualify(QualifyRequest(bench=stated(tmp_path), checks=piece_log(tmp_path, rows))).drift
    assert one.checks == 4
    assert math.isnan(one.hours)
    assert any("order of the file" in note for note in one.notes)


@pytest.mark.parametrize(("hours", "checks"), [((9, 9, 9), None), ((9, 9, 10), None), ((9, 9, 10, 11), 3)])
def test_readings_of_one_time_are_one_check(tmp_path: Path, hours: tuple[int, ...], checks: int | None) -> None:
    """Fewer than three different times show no drift; with three, readings of one time count once (by hand)."""
    rows = [("ball", 40.0, 40.0, f"2026-11-27 {hour:02d}:00") for hour in hours]
    found = qualify(QualifyRequest(bench=stated(tmp_path), checks=piece_log(tmp_path, rows))).drift
    assert [one.checks for one in found] == ([] if checks is None else [checks])


def test_one_piece_leaves_the_scale_to_what_is_stated(tmp_path: Path) -> None:
    """Balls 10 mm or so off one piece, scale known to 1e-3: some 0.01 mm more in squares (JCGM 100:2008, 5.1.2)."""
    rows = [("ball", 38.1, 38.1, "")] * 4
    readings, checks = study(tmp_path), piece_log(tmp_path, rows)
    plain = qualify(QualifyRequest(readings, bench=stated(tmp_path), checks=checks))
    scaled = qualify(QualifyRequest(readings, bench=stated(tmp_path, scale=0.005), checks=checks))
    assert plain.calibration is not None
    assert scaled.calibration is not None
    least = 0.005 * abs(scaled.calibration.at - 38.1)
    assert scaled.calibration.offset_sd == pytest.approx(math.hypot(plain.calibration.offset_sd, least), rel=0.1)
    assert scaled.instrument.offset_sd >= least
    assert any("scale_sd" in note for note in plain.calibration.notes)
    assert not any("scale_sd" in note for note in scaled.calibration.notes)


def test_pieces_nearly_alike_give_an_offset_to_balls_nearby(tmp_path: Path) -> None:
    """Pieces of 40.00 and 40.02 mm, balls of 40.2: no slope is drawn out over ten spans, and nothing is refused."""
    rows = [("first", 40.01, 40.0, ""), ("second", 40.04, 40.02, "")] * 2
    line = qualify(
        QualifyRequest(study(tmp_path), bench=stated(tmp_path), checks=piece_log(tmp_path, rows))
    ).calibration
    assert line is not None
    assert math.isnan(line.slope)
    assert line.offset == pytest.approx(0.015)


def test_checks_alone_cover_the_span_of_their_pieces(tmp_path: Path) -> None:
    """No balls: errors 0 at 20 mm and 0.2 at 60, so the entry carries 0.2/2/sqrt(3) for the slope (4.3.7)."""
    rows = [("small", 20.0, 20.0, ""), ("large", 60.2, 60.0, "")] * 3
    tool = qualify(QualifyRequest(bench=stated(tmp_path), checks=piece_log(tmp_path, rows))).instrument
    assert tool.offset == pytest.approx(0.1)
    assert tool.offset_sd >= 0.1 / math.sqrt(3.0)


def test_the_interval_of_the_error_has_its_degrees_of_freedom(tmp_path: Path) -> None:
    """Both ends are t(0.975; dof) standard uncertainties away: 2.086 for 20, from t tables, from memory."""
    rows = [("ball", 38.11, 38.1, "")] * 4
    path = piece_log(tmp_path, rows)
    path.write_text(path.read_text(encoding="utf-8").replace(",0.001,", ",0,"), encoding="utf-8")
    line = qualify(QualifyRequest(bench=stated(tmp_path), checks=path)).calibration
    assert line is not None
    assert (line.error_high - line.offset) / line.offset_sd == pytest.approx(2.086, abs=5e-4)
    assert (line.offset - line.error_low) / line.offset_sd == pytest.approx(2.086, abs=5e-4)


def test_checks_that_scatter_more_than_stated_are_believed(tmp_path: Path) -> None:
    """Scatter of 0.05 against a stated 0.01: the SD of the mean is that of the scatter, and a note says so."""
    values = np.array([-0.07, -0.02, 0.0, 0.03, 0.06, 0.04, -0.05, 0.01])
    rows = [("ball", 40.0 + float(value), 40.0, "") for value in values]
    line = qualify(QualifyRequest(bench=stated(tmp_path), checks=piece_log(tmp_path, rows))).calibration
    assert line is not None
    expected = math.hypot(0.001, values.std(ddof=1) / math.sqrt(8))
    assert line.offset_sd == pytest.approx(expected, rel=1e-6)
    assert any("scatter with an SD of" in note for note in line.notes)
    calm = qualify(QualifyRequest(bench=stated(tmp_path, sd=0.04), checks=piece_log(tmp_path, rows))).calibration
    assert calm is not None
    assert not any("scatter" in note for note in calm.notes)


def test_people_who_outweigh_the_rest_are_named(tmp_path: Path) -> None:
    """Two people 0.05 mm apart and a calibrated caliper: the advice is about people, not about calibrating again."""
    found = qualify(QualifyRequest(study(tmp_path, person=0.05), checks=log(tmp_path, offset=0.0)))
    assert any(sentence.startswith("What people do differently outweighs") for sentence in found.sentences)
    one = qualify(QualifyRequest(study(tmp_path, person=0.05), checks=log(tmp_path, offset=0.0), one_person=True))
    assert not any(sentence.startswith("What people do differently outweighs") for sentence in one.sentences)


def test_a_squeeze_is_held_against_the_model_of_a_shell(tmp_path: Path) -> None:
    """Two poles of a shell give 2 F R sqrt(3 (1 - nu^2)) / (4 E t^2) (Reissner): held to that."""
    rows = [
        f"Curlew,{ball:02d},{force},{40.2 - 0.01 * force + 0.002 * (step - 1):.3f}"
        for ball in range(1, 5) for force in (1.0, 6.0) for step in range(3)
    ]  # fmt: skip
    path = tmp_path / "forces.csv"
    path.write_text("product,ball,force,value\n" + "\n".join(rows) + "\n", encoding="utf-8")
    radius, nu, wall, loss = 19.9, 0.38, 0.4, 0.01
    modulus = 2.0 * radius * math.sqrt(3.0 * (1.0 - nu**2)) / (4.0 * loss * wall**2) / 1000.0  # GPa, F = 1 N
    asked = {"forces": path, "wall": (0.39, 0.41), "poisson": (0.37, 0.39)}
    soft = qualify(QualifyRequest(**asked, modulus=(0.9 * modulus, 1.1 * modulus)))  # type: ignore[arg-type]
    stiff = qualify(QualifyRequest(**asked, modulus=(9.0 * modulus, 11.0 * modulus)))  # type: ignore[arg-type]
    assert soft.squeeze[0].expected_low < 0.01 < soft.squeeze[0].expected_high
    assert any("Curlew: In line" in note for note in soft.footing.notes)
    assert any("Curlew: Not in line" in note for note in stiff.footing.notes)
    with pytest.raises(BadRequest, match="no wall"):
        qualify(QualifyRequest(forces=path, modulus=(2.0, 3.0)))


def test_a_round_ball_shows_what_the_study_s_own_noise_makes_of_it(tmp_path: Path) -> None:
    """d2 (ASTM constants) times the SD of the entry on 2 to 6 axes; 0.034 mm of the planted 0.02 is in its interval."""
    found = qualify(QualifyRequest(study(tmp_path)))
    for one, d2 in zip(found.round_ball, (1.128, 1.693, 2.059, 2.326, 2.534), strict=True):
        assert one.mean == pytest.approx(d2 * found.instrument.sd, rel=1e-3)
    noise = component(found, "repeatability")
    assert 1.693 * noise.low < 0.034 < 1.693 * noise.high
    assert sum("perfectly round ball" in text for text in found.sentences) == 1


def test_checks_alone_say_nothing_of_a_round_ball(tmp_path: Path) -> None:
    """Without repeats the noise is not the study's own."""
    assert qualify(QualifyRequest(checks=log(tmp_path, offset=0.0))).round_ball == ()


def test_hung_weights_share_their_friction_and_the_slide_is_asked_for(tmp_path: Path) -> None:
    """Weights in g on a slide of 60 g that rubs with 0.3 N, invented: 0.02 mm a newton comes out."""
    rows = []
    for ball in range(1, 4):
        for mass in (100, 400):
            pull = (mass + 60.0) / 1000.0 * 9.80665 - 0.15
            rows.append(f"Curlew,{ball:02d},{mass},g,{40.2 - 0.02 * pull:.4f}")
    path = tmp_path / "forces.csv"
    path.write_text("product,ball,force,force_unit,value\n" + "\n".join(rows) + "\n", encoding="utf-8")
    found = qualify(QualifyRequest(forces=path, slide=60.0, friction=0.3))
    assert found.squeeze[0].force == pytest.approx(0.16 * 9.80665 - 0.15, rel=1e-9)
    assert found.squeeze[0].value == pytest.approx(0.02 * found.squeeze[0].force, abs=1e-4)
    assert any("0.3 N as stated" in note for note in found.footing.notes)
    bare = qualify(QualifyRequest(forces=path))
    assert any("slide's own mass is not stated" in note for note in bare.footing.notes)
    assert any("0.3 N unless said by --friction" in note for note in bare.footing.notes)
    with pytest.raises(BadInput) as caught:
        qualify(QualifyRequest(forces=path, slide=-1.0, friction=math.nan))
    assert [fault.where for fault in caught.value.faults] == ["option --slide", "option --friction"]
