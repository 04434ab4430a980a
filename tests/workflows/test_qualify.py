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
    assert found.invented


def test_the_sentence_says_what_two_balls_must_differ_by(tmp_path: Path) -> None:
    """With noise s known to 32 degrees of freedom it is t(0.975) sqrt(2) s (textbook), said with its unit."""
    found = qualify(QualifyRequest(study(tmp_path, people=("Ada",), balls=16)))
    noise = component(found, "repeatability")
    assert noise.dof == 32.0
    expected = 2.0369 * math.sqrt(2.0) * noise.sd  # t(0.975, 32) = 2.0369, as printed in t tables, from memory
    assert found.repeats is not None
    assert found.repeats.telling[0].same == pytest.approx(expected, rel=1e-4)
    assert f"differ by {expected:.3f} mm" in found.sentence


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
    assert found.cautions[0].startswith("Hang weights low")
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
