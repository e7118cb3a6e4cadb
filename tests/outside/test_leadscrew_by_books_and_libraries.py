"""Change gears and screws against examples printed in books, and fits of lead against libraries."""

import platform
from fractions import Fraction

import numpy as np
import pytest
import scipy
from inspection.source import EXAMPLE, EXCERPT, Source, library
from scipy.optimize import curve_fit
from scipy.stats import linregress
from scipy.stats import t as student_t

from machinelab.leadscrew.backlash import periodic_error, periodic_targets_mm, positioning
from machinelab.leadscrew.gearing import nearest_ratio
from machinelab.leadscrew.geartrain import GearTrain, change_gears, driven_teeth, train_ratio
from machinelab.leadscrew.lead import tpi_lead_mm
from machinelab.leadscrew.screw_friction import screw_torque_nm, torque_by_efficiency_nm

ROOM = "leadscrew"
POUND_N = 0.45359237 * 9.80665
ROSE = Source(EXAMPLE, "Rose, Modern Machine-Shop Practice, 1887, figs. 1239-1240", EXCERPT)
SELF_ACTING = Source(
    EXAMPLE, "a Victorian book on turning, chapter on screw cutting by self-acting lathe, part 2", EXCERPT
)
WHEELS = Source(
    EXAMPLE, "19th-century workshop treatise on construction tools, selection of screwing wheels", EXCERPT
)
# Threads an inch of the thread and of the screw, and the wheels that the book prints.
PRINTED_TRAINS = [
    (25, 4, ((40, 50), (20, 100))),
    (22, 2, ((20, 55), (25, 100))),
    (19, 4, ((40, 95), (50, 100))),
]


def scipy_s(used, accuracy="rounding of the computer"):
    return library("scipy", scipy.__version__, used, accuracy)


@pytest.mark.parametrize(("tpi", "screw_tpi", "wheels"), PRINTED_TRAINS)
def test_four_wheels_of_an_old_book_cut_its_thread(compare, tpi, screw_tpi, wheels):
    wanted = train_ratio(tpi_lead_mm(tpi), tpi_lead_mm(screw_tpi))
    told = f"four wheels for {tpi} tpi on {screw_tpi} tpi"
    compare(told, wanted, GearTrain(wheels).ratio, SELF_ACTING)
    shelf = sorted({teeth for pair in wheels for teeth in pair})
    found = [sorted(sum(train.wheels, ())) for train in change_gears(wanted, shelf)]
    assert sorted(sum(wheels, ())) in found


def test_two_pairs_of_wheels_cut_what_an_old_book_reckons(compare):
    """66 drives 48 and 36 drives 18, as read back from the screw of 4 threads an inch: 11 threads an inch."""
    train = GearTrain(((48, 66), (18, 36)))
    compare(
        "threads an inch cut by 66, 48, 36 and 18", Fraction(4) / train.ratio, Fraction(11), ROSE, unit="tpi"
    )


@pytest.mark.parametrize(("tpi", "screw_tpi", "driver", "driven"), [(7, 1, 20, 140), (4, 2, 20, 40)])
def test_the_screwing_wheel_of_a_treatise(compare, tpi, screw_tpi, driver, driven):
    ratio = train_ratio(tpi_lead_mm(tpi), tpi_lead_mm(screw_tpi))
    found = driven_teeth(driver, ratio)
    compare(f"wheel for {tpi} tpi on {screw_tpi} tpi", found, Fraction(driven), WHEELS, unit="tooth")


def test_a_load_of_ten_thousand_pounds_asks_the_printed_torque(compare):
    """Statics, problem with its answer, 2840 in lb: two threads an inch, mean diameter 2 in, friction 0.2."""
    found = screw_torque_nm(
        10_000 * POUND_N, screw_travel_mm=12.7, mean_diameter_mm=50.8, screw_friction=0.2, flank_angle_deg=0
    )
    pound_inches = found / (POUND_N * 0.0254)
    source = Source(EXAMPLE, "textbook of statics, section 5.6.1, problem 2, answer 2840 in lb", EXCERPT)
    why = "printed to three figures"
    compare(
        "torque under a screw jack of 10 000 lb", pound_inches, 2840, source, abs=5, unit="lbf in", why=why
    )


def test_seventy_per_cent_of_efficiency_asks_the_printed_torque(compare):
    found = torque_by_efficiency_nm(20_000, screw_travel_mm=10, efficiency=0.7)
    source = Source(EXAMPLE, "problem set of an engineering examination, power screws, 45.5 N m", EXCERPT)
    compare("torque for 20 kN on a lead of 10 mm", found, 45.5, source, abs=0.05, unit="N m")


@pytest.mark.parametrize("bound", [50, 127, 255])
def test_the_best_fraction_within_a_bound_is_pythons_where_only_the_denominator_binds(compare, bound):
    """Below one the denominator is the larger number, so a limit on it alone is the whole limit."""
    python = library("Python", platform.python_version(), "fractions, limit_denominator", "exact")
    for wanted in (Fraction(127, 375), Fraction(48, 127), Fraction("0.837758040957278")):
        told = f"best fraction for {float(wanted):.6f} up to {bound}"
        compare(told, nearest_ratio(wanted, bound, bound), wanted.limit_denominator(bound), python)


def test_a_lead_error_is_the_slope_of_a_linear_regression(compare):
    chance = np.random.default_rng(61)
    targets = np.array([7.3, 41.1, 96.4, 140.2, 199.8])
    up = 0.09 * targets[:, None] + chance.normal(0, 1.5, (5, 5))
    down = up - 18 + chance.normal(0, 1.5, (5, 5))
    found = positioning(targets, up, down)
    means = (up.mean(axis=1) + down.mean(axis=1)) / 2
    line = linregress(targets, means)
    source = scipy_s("stats.linregress")
    compare(
        "lead error of invented runs",
        found.lead_error_ppm.value,
        1000 * line.slope,
        source,
        rel=1e-9,
        unit="ppm",
    )


def test_a_wave_of_every_turn_is_that_of_a_library(compare):
    chance = np.random.default_rng(62)
    x = periodic_targets_mm(3.0)
    error = 5 * np.sin(2 * np.pi * x / 3.0 + 0.6) + 0.08 * x + chance.normal(0, 1, x.size)

    def law(x, zero, slope, along, across):
        return zero + slope * x + along * np.sin(2 * np.pi * x / 3.0) + across * np.cos(2 * np.pi * x / 3.0)

    (_, slope, along, across), covariance = curve_fit(law, x, error, p0=(0, 0, 1, 1))
    found = periodic_error(x, error, screw_lead_mm=3.0)
    source = scipy_s("optimize.curve_fit", "where the library's search ends")
    amplitude, reach = found.amplitude_um, student_t.ppf(0.975, x.size - 4)
    compare("wave of every turn", amplitude.value, np.hypot(along, across), source, rel=1e-6, unit="um")
    compare(
        "slope under a wave of every turn",
        found.lead_error_ppm.value,
        1000 * slope,
        source,
        rel=1e-6,
        unit="ppm",
    )
    wanted = 1000 * reach * np.sqrt(covariance[1, 1])
    half = found.lead_error_ppm.interval[1] - found.lead_error_ppm.value
    compare("95 % reach of the slope", half, wanted, source, rel=1e-6, unit="ppm")
