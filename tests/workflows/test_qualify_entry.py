"""What goes into an instrument's entry, and what stays out of it because it is only taken for granted."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import polars as pl
import pytest
from scipy import stats

from ballbench.findings.qualification import DriftFound, Qualification, RepeatsFound
from ballbench.findings.qualifying.entry import with_calibration, with_noise, with_repeats
from ballbench.findings.qualifying.repeats import repeats_of
from ballbench.records import Instrument, read_bench
from ballbench.workflows.qualify import QualifyRequest, bench_entry, qualify

CALIPER = Instrument("caliper", "diameter", "mm", 0.01, 0.01, 4.0, offset_sd=0.0)
HEAD = "product,ball,quantity,repeat,value,instrument,operator\n"
STATED = '[instrument.caliper]\nquantity = "diameter"\nunit = "mm"\nresolution = 0.01\n'


def studied(people: int, between: float, noise: float, rng: np.random.Generator) -> RepeatsFound:
    """Six balls read twice each by `people`, of whom each reads off by a normal draw of SD `between`."""
    off = between * rng.standard_normal(people)
    rows = [
        ("Curlew", "", str(ball), "", f"P{who}", 40.0 + 0.05 * ball + float(off[who] + noise * rng.standard_normal()))
        for ball in range(6) for who in range(people) for _ in range(2)
    ]  # fmt: skip
    table = pl.DataFrame(rows, schema=["product", "box", "ball", "axis", "operator", "value"], orient="row")
    found = repeats_of(table, 1e-4, "study")
    assert found is not None
    return found


@pytest.mark.parametrize("people", [2, 3, 5])
def test_a_mean_by_another_person_is_covered(people: int) -> None:
    """In 300 simulated studies 1.96 u of a later mean of ten readings holds the truth in about 95 of 100 (3 SE: 4)."""
    rng = np.random.default_rng(17)
    hits = alone = 0
    for _ in range(300):
        found = studied(people, 0.02, 0.01, rng)
        error = abs(0.02 * rng.standard_normal() + 0.01 * rng.standard_normal() / math.sqrt(10.0))
        several, one = (with_repeats(CALIPER, found, one_person=only) for only in (False, True))
        hits += error <= 1.96 * math.hypot(several.offset_sd, several.sd / math.sqrt(10.0))
        alone += error <= 1.96 * math.hypot(one.offset_sd, one.sd / math.sqrt(10.0))
    assert 0.91 <= hits / 300 <= 0.99
    assert alone / 300 < 0.5


def test_people_are_widened_for_their_number() -> None:
    """offset_sd is sqrt(0.004^2 + (s t/1.96)^2), t of Student for the person's degrees of freedom (JCGM 100, G.3.2)."""
    found = studied(3, 0.05, 0.01, np.random.default_rng(3))
    person = next(one for one in found.components if one.name == "person")
    assert 1.0 < person.dof < 2.01
    wide = person.sd * stats.t.ppf(0.975, person.dof) / stats.norm.ppf(0.975)
    made = with_repeats(replace(CALIPER, offset_sd=0.004), found, one_person=False)
    assert made.offset_sd == pytest.approx(math.hypot(0.004, wide), rel=1e-9)
    assert with_repeats(replace(CALIPER, offset_sd=0.004), found, one_person=True).offset_sd == 0.004


def test_what_people_do_from_ball_to_ball_is_noise_of_readings_and_not_of_checks() -> None:
    """sd^2 is repeatability^2 + interaction^2; the noise of checks is the repeatability alone (exact algebra)."""
    found = studied(2, 0.0, 0.01, np.random.default_rng(3))
    parts = tuple(replace(one, sd=0.006, dof=5.0) if one.name == "person and ball" else one for one in found.components)
    found = replace(found, components=parts)
    made = with_repeats(CALIPER, found, one_person=True)
    assert made.sd == pytest.approx(math.hypot(parts[0].sd, 0.006), rel=1e-12)
    assert made.dof == pytest.approx(made.sd**4 / (parts[0].sd ** 4 / parts[0].dof + 0.006**4 / 5.0), rel=1e-12)
    assert (with_noise(CALIPER, found).sd, with_noise(CALIPER, found).dof) == (parts[0].sd, parts[0].dof)


def drifted(checks: int, *, beyond: bool = False) -> DriftFound:
    return DriftFound("steel", checks, 3.0, 0.001, -0.002, 0.004, 0.004, 0.003, beyond)


def test_what_may_have_moved_is_carried_whether_seen_or_not() -> None:
    """sqrt(0.004^2 + 0.003^2) = 0.005 from three check times on; with two nothing is known of a drift."""
    assert with_calibration(CALIPER, 0.0, 0.004, (drifted(3),)).offset_sd == pytest.approx(0.005, rel=1e-12)
    assert with_calibration(CALIPER, 0.0, 0.004, (drifted(3, beyond=True),)).offset_sd == pytest.approx(0.005)
    assert with_calibration(CALIPER, 0.0, 0.004, (drifted(2),)).offset_sd == 0.004


def study_file(folder: Path, *, people: float = 0.0) -> Path:
    rng = np.random.default_rng(8)
    rows = [
        f"Curlew,{ball},diameter,{3 * who + repeat + 1},"
        f"{40.0 + 0.05 * ball + people * who + 0.015 * rng.standard_normal():.2f},caliper,{('Ada', 'Ben')[who]}"
        for ball in range(5) for who in range(2 if people else 1) for repeat in range(3)
    ]  # fmt: skip
    path = folder / "study.csv"
    path.write_text(HEAD + "\n".join(rows) + "\n", encoding="utf-8")
    return path


def checks_file(folder: Path) -> Path:
    path = folder / "checks.csv"
    rows = [f"steel,caliper,{value},40.1,0.001,mm" for value in ("40.11", "40.12", "40.11")]
    path.write_text("piece,instrument,value,known,u,unit\n" + "\n".join(rows) + "\n", encoding="utf-8")
    return path


def read_back(found: Qualification, folder: Path) -> tuple[Instrument, str]:
    path = folder / "entry.toml"
    path.write_text(bench_entry(found), encoding="utf-8")
    bench = read_bench(path)
    return bench.instruments["caliper"], " ".join(bench.assumptions)


def test_checks_alone_do_not_state_a_repeatability(tmp_path: Path) -> None:
    """What was taken for granted reads back as taken for granted, and the calibration as found."""
    found = qualify(QualifyRequest(checks=checks_file(tmp_path)))
    tool, said = read_back(found, tmp_path)
    assert tool.assumed
    assert "no repeatability" in said
    assert "no offset_sd" not in said
    assert (tool.sd, tool.offset, tool.offset_sd) == (
        found.instrument.sd, found.instrument.offset, found.instrument.offset_sd,
    )  # fmt: skip


def test_a_study_alone_does_not_state_a_calibration(tmp_path: Path) -> None:
    """The offset's uncertainty reads back as taken for granted, the repeatability as found."""
    found = qualify(QualifyRequest(study_file(tmp_path)))
    tool, said = read_back(found, tmp_path)
    assert not tool.assumed
    assert "no offset_sd" in said
    assert tool == found.instrument


@pytest.mark.parametrize(
    ("line", "missing"),
    [
        ("repeatability = { sd = 0.02, dof = 9 }\n", "no offset_sd"),
        ("calibration = { offset = 0.01, offset_sd = 0.003 }\n", "no repeatability"),
    ],
)
def test_what_a_bench_file_states_stays_stated(tmp_path: Path, line: str, missing: str) -> None:
    """A number that was stated is written again, and one that was not still is not."""
    stated = tmp_path / "bench.toml"
    stated.write_text(STATED + line, encoding="utf-8")
    given = QualifyRequest(checks=checks_file(tmp_path), bench=stated)
    if missing == "no repeatability":
        given = QualifyRequest(study_file(tmp_path), bench=stated)
    tool, said = read_back(qualify(given), tmp_path)
    assert not tool.assumed
    assert said.count("The bench file gives") == 0
    again, said = read_back(qualify(QualifyRequest(study_file(tmp_path), bench=stated)), tmp_path)
    assert ("no offset_sd" in said) == (missing == "no offset_sd")
    assert again.offset_sd == read_bench(stated).instruments["caliper"].offset_sd


def test_people_are_not_lost_where_the_offset_is_taken_for_granted(tmp_path: Path) -> None:
    """Two people 0.1 mm apart: the entry of their study alone keeps that, and says what of it is taken for granted."""
    found = qualify(QualifyRequest(study_file(tmp_path, people=0.1)))
    tool, _ = read_back(found, tmp_path)
    assert tool.offset_sd == found.instrument.offset_sd > 0.07
    assert "of offset_sd is taken for granted" in bench_entry(found)
    assert any("who read the checks is not told apart" in note for note in found.footing.notes)
    alone = qualify(QualifyRequest(study_file(tmp_path, people=0.1), one_person=True))
    assert alone.instrument.offset_sd < 0.02


def test_people_do_not_make_the_checks_noisy(tmp_path: Path) -> None:
    """Calibration and checks are the same whether people's difference counts in the entry or not."""
    given = QualifyRequest(study_file(tmp_path, people=0.1), checks=checks_file(tmp_path))
    several, one = qualify(given), qualify(replace(given, one_person=True))
    assert several.calibration == one.calibration
    assert several.checks == one.checks
    assert several.instrument.offset_sd > one.instrument.offset_sd


def test_repeats_count_once_in_the_budget_and_people_are_no_scatter(tmp_path: Path) -> None:
    """Five balls read three times leave 10 degrees of freedom (textbook), in the budget too, with the entry's SD."""
    found = qualify(QualifyRequest(study_file(tmp_path)))
    assert found.budget is not None
    (reading,) = (line for line in found.budget.lines if line.name == "reading")
    assert reading.dof == pytest.approx(10.0)
    assert reading.u == pytest.approx(found.instrument.sd, rel=1e-9)
    apart = qualify(QualifyRequest(study_file(tmp_path, people=0.1)))
    assert apart.budget is not None
    (reading,) = (line for line in apart.budget.lines if line.name == "reading")
    assert reading.u == pytest.approx(apart.instrument.sd, rel=1e-9)
