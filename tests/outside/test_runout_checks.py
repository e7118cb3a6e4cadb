"""Run-out and tram against figures worked by hand and against planted faults."""

import numpy as np
import pytest
from inspection.source import by_hand, run_here

from machinelab.accuracy.runout import bent_bar_mm_m, runout, split_by_turning
from machinelab.accuracy.tram import dish_mm, tram
from machinelab.errors import RangeError

ROOM = "accuracy"
EXACTLY = run_here("readings made from planted causes, taken apart again", "rounding of the computer")


def test_five_hundredths_on_a_sweep_of_100_are_a_quarter_in_a_thousand(compare):
    """Derived: total over twice the radius; a mm/m is 0.3 mm in 300."""
    found = tram([0, 90, 180, 270], [0.025, 0, -0.025, 0], sweep_radius_mm=100, reading_sd_mm=0.003)
    compare(
        "lean of the head for 0.05 mm total on a sweep of 100 mm",
        found.lean_right_mm_m.value,
        0.25,
        compare.by_hand,
        abs=1e-6,
        unit="mm/m",
    )
    compare(
        "lean of the head over 300 mm",
        found.lean_right_mm_m.value * 0.3,
        0.075,
        compare.by_hand,
        abs=1e-6,
        unit="mm",
    )
    compare(
        "direction in which a leaning head stands high",
        found.high_deg,
        0.0,
        compare.by_hand,
        abs=1e-6,
        unit="deg",
    )


def test_a_leaning_cutter_mills_a_dish(compare):
    """Derived: 50 mm cutter, 0.25 mm/m; full width, and 40 mm of it."""
    compare(
        "dish under a 50 mm cutter that leans 0.25 mm/m",
        dish_mm(0.25, 50, np.array([50, 40])) * 1000,
        [6.25, 2.5],
        compare.by_hand,
        abs=0.01,
        unit="um",
        each=("full width", "40 mm of it"),
    )


def test_four_readings_take_three_jaws_for_an_eccentricity_and_are_refused(compare):
    """Derived: at 0, 90, 180 and 270 degrees cos 3t equals cos t up to its sign."""
    with pytest.raises(RangeError, match="would pass for it"):
        runout([0, 90, 180, 270], [0.01, 0, -0.01, 0])
    angle = np.arange(12) * 30.0
    found = runout(angle, 0.010 * np.cos(np.radians(3 * angle)))
    compare(
        "eccentricity where three jaws alone are seen",
        found.eccentricity_mm.value,
        0,
        EXACTLY,
        abs=1e-9,
        unit="mm",
    )
    compare("size of a three-lobed wave", found.lobes_mm[1].value, 0.010, EXACTLY, abs=1e-9, unit="mm")


@pytest.mark.parametrize(("readings", "expected"), [(12, 0.0012), (24, 0.0009)])
def test_an_amplitude_is_known_to_root_two_over_n_of_the_scatter(compare, readings, expected):
    """The textbook's sd = sigma * sqrt(2 / n) of least squares, sigma 0.003 mm; found here by many trials."""
    generator = np.random.default_rng(31)
    angle = np.arange(readings) * 360 / readings
    sizes = [
        runout(angle, 0.05 * np.cos(np.radians(angle)) + generator.normal(0, 0.003, readings)).eccentricity_mm
        for _ in range(1500)
    ]
    told = 0.003 * np.sqrt(2 / readings)
    assert round(told, 4) == expected
    compare(
        f"scatter of an eccentricity from {readings} readings, found by 1500 trials",
        np.std([one.value for one in sizes]),
        told,
        by_hand("least squares, textbook: sigma sqrt(2 / n)"),
        rel=0.06,
        unit="mm",
        why="scatter of 1500 trials",
    )
    assert 0.93 < np.mean([low <= 0.05 <= high for low, high in (one.interval for one in sizes)]) < 0.97


def test_total_reading_is_twice_the_eccentricity_and_vectors_part_chuck_from_work(compare):
    angle = np.arange(12) * 30.0
    spindle, part = 0.02 * np.exp(1j * np.radians(40)), 0.01 * np.exp(1j * np.radians(200))

    def turned(vector):
        return runout(angle, np.real(vector * np.exp(-1j * np.radians(angle))))

    first, second = turned(spindle + part), turned(spindle - part)
    assert first.total_mm == pytest.approx(2 * first.eccentricity_mm.value, rel=0.04)
    found = split_by_turning(first.vector_mm, second.vector_mm)
    compare(
        "run-out of the spindle parted from that of the work",
        [found.spindle_mm.real, found.spindle_mm.imag],
        [spindle.real, spindle.imag],
        EXACTLY,
        abs=1e-9,
        unit="mm",
    )
    compare(
        "run-out of the work parted from that of the spindle",
        [found.part_mm.real, found.part_mm.imag],
        [part.real, part.imag],
        EXACTLY,
        abs=1e-9,
        unit="mm",
    )
    compare(
        "lean of a bar whose run-out grows by 0.02 mm in 200 mm",
        bent_bar_mm_m(found.part_mm, found.part_mm + 0.02, 200),
        0.1,
        by_hand("0.02 mm over 200 mm"),
        rel=1e-6,
        unit="mm/m",
    )


def test_the_tram_of_an_uneven_table_says_so(compare):
    found = tram([0, 90, 180, 270], [0.01, -0.01, 0.01, -0.01], sweep_radius_mm=100, reading_sd_mm=0.003)
    compare(
        "lean of a table that is saddle-shaped",
        found.lean_right_mm_m.value,
        0,
        EXACTLY,
        abs=1e-9,
        unit="mm/m",
    )
    compare("unevenness of a saddle-shaped table", found.uneven_mm, 0.01, EXACTLY, rel=1e-6, unit="mm")
    with pytest.raises(RangeError, match="right, back, left, front"):
        tram([0, 10, 20, 30], [0, 0, 0, 0], sweep_radius_mm=100, reading_sd_mm=0.003)


def test_the_interval_of_the_tram_holds_the_lean_nineteen_times_in_twenty():
    generator = np.random.default_rng(32)
    angle = np.array([0, 90, 180, 270.0])
    true = 100 * (0.2e-3 * np.cos(np.radians(angle)) - 0.1e-3 * np.sin(np.radians(angle)))
    held = []
    for _ in range(1500):
        found = tram(angle, true + generator.normal(0, 0.003, 4), sweep_radius_mm=100, reading_sd_mm=0.003)
        low, high = found.lean_back_mm_m.interval
        held.append(low <= -0.1 <= high)
    assert 0.93 < np.mean(held) < 0.98
