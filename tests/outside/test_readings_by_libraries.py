"""Fits and waves of the accuracy room against certified data and against general libraries."""

import re
from pathlib import Path

import numpy as np
import pytest
import scipy
from inspection.source import CERTIFIED, READ, Source, library
from scipy.optimize import curve_fit
from scipy.stats import t as student_t

from machinelab.accuracy.change import normalised_change
from machinelab.accuracy.mark_profile import profile_spacing
from machinelab.accuracy.runout import runout
from machinelab.accuracy.slop import slop
from machinelab.accuracy.tram import tram
from machinelab.least_squares import linear_fit, t95

ROOM = "accuracy"
NORRIS = Path(__file__).parent / "data" / "nist_strd_linear" / "Norris.dat"
NIST = Source(
    CERTIFIED, "NIST StRD, linear regression, set Norris (file of the institute)", READ, "digits that count"
)
ROUNDING = "rounding of the computer"


def scipy_s(used, accuracy=ROUNDING):
    return library("scipy", scipy.__version__, used, accuracy)


def test_a_straight_line_has_the_certified_slope_zero_and_deviations(compare):
    text = NORRIS.read_text(encoding="ascii")
    certified = np.array(
        [line.split() for line in re.findall(r"^ +B[01] +(-?\d.*)$", text, re.MULTILINE)], float
    )
    first, last = map(int, re.search(r"Data +\(lines (\d+) to (\d+)\)", text).groups())
    y, x = np.array([line.split() for line in text.splitlines()[first - 1 : last]], float).T
    line, residuals = linear_fit(np.column_stack([np.ones_like(x), x]), y)
    deviations = [(one.interval[1] - one.value) / t95(x.size - 2) for one in line]
    names = ("zero", "slope")
    compare("Norris", [one.value for one in line], certified[:, 0], NIST, rel=1e-9, each=names)
    compare("Norris, standard deviation", deviations, certified[:, 1], NIST, rel=1e-9, each=names)
    squares = float(re.search(r"Residual +34 +(\S+)", text)[1])
    compare("Norris, sum of squares", float(residuals @ residuals), squares, NIST, rel=1e-9)


@pytest.mark.parametrize("freedom", [1, 4, 10, 34])
def test_the_reach_of_an_interval_is_students(compare, freedom):
    wanted = student_t.ppf(0.975, freedom)
    compare(
        f"95 % reach with {freedom} readings to spare", t95(freedom), wanted, scipy_s("stats.t"), rel=1e-9
    )


def test_run_out_and_lobes_are_the_fourier_coefficients_of_even_readings(compare):
    angle = np.arange(24) * 15.0
    reading = 0.03 + 0.02 * np.cos(np.radians(angle - 50)) + 0.004 * np.cos(np.radians(2 * angle + 20))
    reading += 0.007 * np.cos(np.radians(3 * angle)) + 0.001 * np.cos(np.radians(5 * angle + 70))
    found = runout(angle, reading)
    wave = np.fft.rfft(reading) * 2 / angle.size
    source = library("numpy", np.__version__, "fft.rfft", ROUNDING)
    told = {"rel": 1e-9, "unit": "mm"}
    compare("eccentricity of 24 readings", found.eccentricity_mm.value, abs(wave[1]), source, **told)
    lobes = [one.value for one in found.lobes_mm]
    compare("lobes of 24 readings", lobes, np.abs(wave[2:4]), source, each=("two", "three"), **told)
    high = float(np.degrees(-np.angle(wave[1])) % 360)
    compare("angle that stands out most", found.high_deg % 360, high, source, abs=1e-6, unit="deg")
    compare("mean of the readings", found.mean_mm, np.real(wave[0]) / 2, source, **told)


def test_a_spacing_is_that_of_a_sine_fitted_by_a_library(compare):
    chance = np.random.default_rng(51)
    x = np.sort(chance.uniform(0, 60, 400))
    height = 3 * np.sin(2 * np.pi * x / 3.1 + 0.4) + 0.02 * x + chance.normal(0, 1, x.size)
    even = np.polyval(np.polyfit(x, height, 2), x)

    def sine(x, spacing, along, across):
        return along * np.sin(2 * np.pi * x / spacing) + across * np.cos(2 * np.pi * x / spacing)

    (spacing, along, across), covariance = curve_fit(sine, x, height - even, p0=(3.1, 3, 1))
    found = profile_spacing(x, height)
    source = scipy_s("optimize.curve_fit of a sine", "the fit here carries a mean as well")
    compare("spacing of marks", found.spacing_mm.value, spacing, source, abs=1e-4, unit="mm")
    compare("height of marks", found.amplitude_um, np.hypot(along, across), source, rel=2e-3, unit="um")
    reach = 1.96 * np.sqrt(covariance[0, 0])
    far = (found.spacing_mm.interval[1] - found.spacing_mm.interval[0]) / 2
    why = "formula for even readings beside the covariance of uneven ones"
    compare("95 % reach of the spacing", far, reach, source, rel=0.1, unit="mm", why=why)


def test_play_and_stiffness_are_those_of_a_linear_regression(compare):
    force, dial = np.array([15, 25, 40, 60, 80.0]), np.array([0.0237, 0.0251, 0.0284, 0.0318, 0.0363])
    line = scipy.stats.linregress(force, dial)
    found = slop(force, dial, reading_sd_mm=0.001)
    source = scipy_s("stats.linregress")
    compare("play of a joint", found.gap_mm.value, line.intercept, source, rel=1e-9, unit="mm")
    compare(
        "stiffness of a joint", found.stiffness_n_um.value, 2e-3 / line.slope, source, rel=1e-9, unit="N/um"
    )


def test_the_lean_of_a_head_is_the_plane_through_four_readings(compare):
    angle, reading = np.radians([0, 90, 180, 270]), [0.031, 0.012, -0.017, 0.004]
    places = 80 * np.column_stack([np.cos(angle), np.sin(angle)])
    plane, *_ = scipy.linalg.lstsq(np.column_stack([places, np.ones(4)]), reading)
    found = tram([0, 90, 180, 270], reading, sweep_radius_mm=80, reading_sd_mm=0.002)
    leans = [found.lean_right_mm_m.value, found.lean_back_mm_m.value]
    source = scipy_s("linalg.lstsq of a plane")
    compare("lean of a head", leans, 1000 * plane[:2], source, rel=1e-9, unit="mm/m", each=("right", "back"))


def test_a_change_of_normalised_size_one_is_the_edge_of_agreement(compare):
    doubts = {"earlier_uncertainty": 0.3, "later_uncertainty": 0.4}
    found = normalised_change(5.0, 5.6, **doubts)
    wanted = 0.6 / np.hypot(0.3, 0.4)
    compare(
        "normalised change of 0.6",
        found,
        wanted,
        library("numpy", np.__version__, "hypot", ROUNDING),
        rel=1e-12,
    )
