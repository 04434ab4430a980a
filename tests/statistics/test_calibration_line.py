from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import statsmodels.api as sm
from scipy import stats

from ballbench.errors import BadRequest
from ballbench.records.bench_file import read_bench
from ballbench.statistics.calibration_line import calibration_entry, calibration_line

GUM = Path(__file__).resolve().parents[1] / "reference" / "gum"


def test_the_thermometer_of_the_gum_comes_out() -> None:
    """JCGM 100:2008, H.3: -0.1712 (0.0029), 0.00218 (0.00067), r -0.930, s 0.0035; -0.1494 (0.0041) at 30 degC."""
    read, correction = np.loadtxt(GUM / "thermometer.csv", delimiter=",", skiprows=1).T
    # The published line runs over readings, ours over pieces, and our error is the published correction with its sign
    # turned: so the readings stand in for the pieces.
    line = calibration_line(read - correction, np.arange(11), read, np.zeros(11), about=20.0, beyond=1.0)
    u = np.sqrt(np.diag(line.covariance))
    assert -line.offset == pytest.approx(-0.1712, abs=5e-5)
    assert u[0] == pytest.approx(0.0029, abs=5e-5)
    assert -line.slope == pytest.approx(0.00218, abs=5e-6)
    assert u[1] == pytest.approx(0.00067, abs=5e-6)
    assert line.covariance[0, 1] / (u[0] * u[1]) == pytest.approx(-0.930, abs=5e-4)
    assert line.noise == pytest.approx(0.0035, abs=5e-5)
    at = line.at(30.0)
    assert (at.correction, at.u) == pytest.approx((-0.1494, 0.0041), abs=5e-5)
    assert at.dof == pytest.approx(9)
    assert math.isnan(line.p_fit)


def data(rng: np.random.Generator, sizes: list[float], repeats: int, **true: float) -> tuple[Any, Any]:
    """Readings of pieces of stated size, and which piece each is of."""
    x = np.array(sizes)
    pieces = np.repeat(np.arange(x.size), repeats)
    real = x + rng.normal(0.0, true["u"], x.size) + true["common"] * rng.normal()
    error = true["a"] + true["b"] * (real - 40.0)
    return (real + error)[pieces] + rng.normal(0.0, true["noise"], pieces.size), pieces


SIZES = [20.0, 30.0, 38.1, 50.0, 60.0]
TRUE = {"a": 0.02, "b": 5e-4, "u": 0.004, "common": 0.006, "noise": 0.008}


def test_weights_and_correlation_are_those_of_another_library() -> None:
    """Line and covariance agree with statsmodels' WLS, and with its GLS where pieces share a part, to 1e-8."""
    values, pieces = data(np.random.default_rng(1), SIZES, 3, **TRUE)
    u = np.array([0.002, 0.004, 0.003, 0.005, 0.01])
    errors = np.bincount(pieces, values) / 3 - SIZES
    design = sm.add_constant(np.array(SIZES) - 40.0)
    for common in (0.0, 0.006):
        line = calibration_line(values, pieces, SIZES, u, u_common=common, noise=(0.008, math.inf), about=40.0)
        own = u**2 + 0.008**2 / 3
        if common:
            other = sm.GLS(errors, design, sigma=np.diag(own) + common**2).fit(cov_type="fixed scale")
        else:
            other = sm.WLS(errors, design, weights=1.0 / own).fit(cov_type="fixed scale")
        assert (line.offset, line.slope) == pytest.approx(tuple(other.params), rel=1e-8)
        assert line.covariance == pytest.approx(other.cov_params(), rel=1e-8)
        left = errors - other.fittedvalues
        if not common:
            assert line.chi2 == pytest.approx(float(np.sum(left**2 / own)), rel=1e-8)


@pytest.mark.parametrize("repeats", [2, 6])
@pytest.mark.parametrize("size", [25.0, 40.0, 58.0])
def test_the_error_is_covered_with_noise_from_few_repeats(repeats: int, size: float) -> None:
    """95 % intervals cover 92 to 98 % of 1,000 calibrations with shared and own errors of the pieces (simulation)."""
    rng, hits = np.random.default_rng([2, repeats]), 0
    for _ in range(1000):
        values, pieces = data(rng, SIZES, repeats, **TRUE)
        at = calibration_line(values, pieces, SIZES, np.full(5, 0.004), u_common=0.006).at(size)
        hits += at.low <= TRUE["a"] + TRUE["b"] * (size - 40.0) <= at.high
    assert 0.92 <= hits / 1000 <= 0.98


def test_a_shared_part_is_not_averaged_out() -> None:
    """Many pieces with one certificate: u cannot fall under the part that they share (exact algebra)."""
    values, pieces = data(np.random.default_rng(3), [30.0 + k for k in range(21)], 4, **TRUE)
    line = calibration_line(values, pieces, 30.0 + np.arange(21), np.full(21, 0.004), u_common=0.006)
    alone = calibration_line(values, pieces, 30.0 + np.arange(21), np.full(21, 0.004))
    assert line.at(40.0).u ** 2 - alone.at(40.0).u ** 2 == pytest.approx(0.006**2, rel=1e-6)


def test_the_test_of_fit_keeps_its_rate_and_finds_a_bend() -> None:
    """A true line is rejected in about 5 % of 800 calibrations, a bend of 0.06 in most (simulation)."""
    rng, straight, bent = np.random.default_rng(4), 0, 0
    bend = 0.06 * ((np.array(SIZES) - 40.0) / 20.0) ** 2
    for _ in range(800):
        values, pieces = data(rng, SIZES, 3, **TRUE)
        straight += calibration_line(values, pieces, SIZES, np.full(5, 0.004), u_common=0.006).p_fit < 0.05
        bent += calibration_line(values + bend[pieces], pieces, SIZES, np.full(5, 0.004), u_common=0.006).p_fit < 0.05
    assert 0.03 <= straight / 800 <= 0.075
    assert bent / 800 > 0.9


def test_exact_pieces_are_tested_by_the_exact_f() -> None:
    """Lack of fit over pure error is F with P - 2 and N - P degrees of freedom (textbook algebra, by hand here)."""
    values, pieces = data(np.random.default_rng(5), SIZES, 3, **{**TRUE, "u": 0.0, "common": 0.0})
    line = calibration_line(values, pieces, SIZES, np.zeros(5))
    errors = values - np.array(SIZES)[pieces]
    means = np.bincount(pieces, errors) / 3
    pure = float(np.sum((errors - means[pieces]) ** 2))
    whole = float(
        np.sum((errors - np.polyval(np.polyfit(np.array(SIZES)[pieces], errors, 1), np.array(SIZES)[pieces])) ** 2)
    )
    f = ((whole - pure) / 3) / (pure / 10)
    assert line.chi2 / 3 == pytest.approx(f, rel=1e-9)
    assert line.p_fit == pytest.approx(float(stats.f.sf(f, 3, 10)), rel=1e-9)


def test_one_piece_gives_an_offset_at_its_size() -> None:
    """Three readings of one ball: mean error, u^2 = u_piece^2 + s^2/3, no slope; other sizes are refused (JCGM 100)."""
    line = calibration_line([38.11, 38.12, 38.13], [0, 0, 0], [38.1], [0.001])
    at = line.at(38.1)
    assert (line.slope, line.slope_known) == (0.0, False)
    assert (at.error, at.u) == pytest.approx((0.02, math.sqrt(1e-6 + 1e-4 / 3)))
    assert line.at(40.0).u == pytest.approx(at.u)
    assert at.dof == pytest.approx(2 * (1e-6 + 1e-4 / 3) ** 2 / (1e-4 / 3) ** 2)
    with pytest.raises(BadRequest, match="about that size"):
        line.at(60.0)


def test_the_line_ends_a_little_beyond_its_pieces() -> None:
    """Pieces from 20 to 60 and a tenth of their span: 16 to 64, and no further."""
    values, pieces = data(np.random.default_rng(6), SIZES, 2, **TRUE)
    line = calibration_line(values, pieces, SIZES, np.full(5, 0.004))
    assert (line.low, line.high) == (16.0, 64.0)
    assert line.at(64.0).u > line.at(40.0).u
    with pytest.raises(BadRequest, match="16 to 64"):
        line.at(64.1)
    assert calibration_line(values, pieces, SIZES, np.full(5, 0.004), beyond=0.0).high == 60.0


def test_readings_that_agree_exactly_keep_the_rounding_of_the_display() -> None:
    """No spread on a 0.01 display: noise 0.01/sqrt(12) (JCGM 100:2008, F.2.2.1); without a step it is refused."""
    line = calibration_line([20.01, 20.01, 40.01, 40.01], [0, 0, 1, 1], [20.0, 40.0], [0.0, 0.0], resolution=0.01)
    assert line.noise == pytest.approx(0.01 / math.sqrt(12))
    with pytest.raises(BadRequest, match="step of the display"):
        calibration_line([20.01, 20.01, 40.01, 40.01], [0, 0, 1, 1], [20.0, 40.0], [0.0, 0.0])


def test_the_entry_is_read_by_the_bench(tmp_path: Path) -> None:
    """Offset and its SD at the balls' size go through a bench file unchanged; the scale is not counted twice."""
    values, pieces = data(np.random.default_rng(7), SIZES, 6, **TRUE)
    line = calibration_line(values, pieces, SIZES, np.full(5, 0.004), u_common=0.006)
    entry, at = calibration_entry(line, 40.0), line.at(40.0)
    file = tmp_path / "bench.toml"
    file.write_text(
        '[instrument.caliper]\nquantity = "diameter"\nunit = "mm"\nresolution = 0.01\n'
        "repeatability = { sd = 0.008, dof = 20 }\n"
        f"calibration = {{ offset = {entry.offset!r}, offset_sd = {entry.offset_sd!r}, scale_sd = 0.0 }}\n",
        encoding="utf-8",
    )
    tool = read_bench(file).instruments["caliper"]
    assert entry.scale_sd == 0.0
    assert tool.offset == pytest.approx(at.error, rel=1e-12)
    assert math.hypot(tool.offset_sd, tool.scale_sd * 40.0) == pytest.approx(
        (at.high - at.low) / 2 / 1.959964, rel=1e-6
    )


def test_balls_of_several_sizes_carry_the_slope() -> None:
    """Over 38 to 42 mm the slope that is not corrected adds |b| 2/sqrt(3) in squares (JCGM 100:2008, 4.3.7)."""
    values, pieces = data(np.random.default_rng(8), SIZES, 6, **{**TRUE, "b": 0.01})
    line = calibration_line(values, pieces, SIZES, np.full(5, 0.004), noise=(0.008, math.inf))
    spread = calibration_entry(line, 40.0, 2.0).offset_sd
    u = max(line.at(38.0).u, line.at(42.0).u)
    assert spread == pytest.approx(math.hypot(u, line.slope * 2.0 / math.sqrt(3.0)), rel=1e-9)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"values": [20.0, 40.0]}, "arrays of one length"),
        ({"pieces": [0, 0, 2, 2]}, "0 to 1"),
        ({"u_references": [-0.1, 0.1]}, "standard uncertainties"),
        ({"references": [20.0, math.nan]}, "finite"),
        ({"noise": (0.1, 0.0)}, "degrees of freedom"),
        ({"confidence": 95.0}, "between 0 and 1"),
        ({"beyond": -1.0}, "0 or more"),
        ({"values": [20.0, 40.0], "pieces": [0, 1]}, "read each piece twice"),
    ],
)
def test_calibrations_that_cannot_be_used_are_refused(changes: dict[str, Any], words: str) -> None:
    """The refusal says what was found, what is allowed and what to do (rule of this project)."""
    good = {
        "values": [20.0, 20.1, 40.0, 40.1], "pieces": [0, 0, 1, 1], "references": [20.0, 40.0],
        "u_references": [0.01, 0.01],
    }  # fmt: skip
    with pytest.raises(BadRequest, match=words):
        calibration_line(**{**good, **changes})


def test_repeats_under_a_coarse_display_keep_its_rounding() -> None:
    """Noise of 0.1 step, 30 readings: their mean is off by up to half a step, and 95 % intervals hold it (simulation).

    A rectangle one step wide has the SD step/sqrt(12) (JCGM 100:2008, 4.3.7), however often it is read.
    """
    rng, hits = np.random.default_rng(9), 0
    for _ in range(400):
        true = rng.uniform(-0.02, 0.02)
        read = np.rint((40.0 + true + rng.normal(0.0, 0.001, 30)) / 0.01) * 0.01
        sd = math.hypot(0.001, 0.01 / math.sqrt(12))
        line = calibration_line(read, np.zeros(30, int), [40.0], [0.0], noise=(sd, 20.0), resolution=0.01)
        at = line.at(40.0)
        hits += at.low <= true <= at.high
    assert hits / 400 >= 0.93
    assert at.u == pytest.approx(0.01 / math.sqrt(12))
    assert math.isinf(at.dof)


def test_repeats_under_a_fine_display_are_still_averaged() -> None:
    """An SD of a whole step: nine readings bring a third of it (JCGM 100:2008, 4.2.3), and its degrees of freedom."""
    line = calibration_line([40.0] * 9, [0] * 9, [40.0], [0.0], noise=(0.01, 20.0), resolution=0.01)
    assert (line.at(40.0).u, line.at(40.0).dof) == pytest.approx((0.01 / 3, 20.0))


def test_pieces_near_each_other_answer_a_little_beyond_them() -> None:
    """40.00 and 40.02 mm and 2 % of the size: 40.10 is answered, 41 is not (the limits of the method page)."""
    line = calibration_line([40.01, 40.03], [0, 1], [40.0, 40.02], [0.001, 0.001], noise=(0.01, 20.0))
    assert line.at(40.1).u > line.at(40.02).u
    assert (line.low, line.high) == pytest.approx((40.0 - 0.02 * 40.02, 40.02 * 1.02))
    with pytest.raises(BadRequest, match="piece of about that size"):
        line.at(41.0)


def test_an_offset_alone_is_the_mean_of_the_pieces() -> None:
    """Two pieces, errors 0.01 and 0.03, noise 0.01 known: offset 0.02 with 0.01/sqrt(2), the same at every size."""
    line = calibration_line(
        [40.01, 40.05], [0, 1], [40.0, 40.02], [0.0, 0.0], noise=(0.01, math.inf), about=40.1, offset_alone=True
    )
    assert not line.slope_known
    for size in (40.0, 40.1):
        assert (line.at(size).error, line.at(size).u) == pytest.approx((0.02, 0.01 / math.sqrt(2)))
    assert any("too near each other" in note for note in line.notes)
