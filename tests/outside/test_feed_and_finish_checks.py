"""Power feed, finish and milling chips against figures worked out by hand or by numbers alone."""

import json
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from inspection.source import NO_SOURCE, PRACTICE, Source, by_hand, run_here, source_of

from machinelab.errors import RangeError
from machinelab.leadscrew.feed import (
    direction_change,
    feed_per_turn_mm,
    independent_feed_mm_min,
    rapid_feed_mm_min,
    sagged_feed_mm,
    straight_reversal_mm_min,
)
from machinelab.leadscrew.feed_knob import (
    even_knob_mm_min,
    even_knob_step_mm_min,
    even_knob_step_share,
    ratio_knob_mm_min,
    ratio_knob_step_share,
)
from machinelab.leadscrew.gearing import nearest_ratio, screw_steps, steps_per_count
from machinelab.leadscrew.stepper_rate import feed_step_rate_hz
from machinelab.work.finish import (
    expected_roughness,
    feed_for_finish_mm,
    largest_finish_feed_mm,
    mean_roughness_um,
    nearly_mean_roughness_um,
    nearly_peak_to_valley_um,
    peak_to_valley_um,
)
from machinelab.work.milling_chip import (
    feed_per_tooth_mm,
    heaviest_tooth_mm,
    nearly_mean_chip_mm,
    peak_chip_mm,
    tooth_feed_mm,
)
from machinelab.work.rotating_tools import milling

ROOM = "work"
STEPPED = run_here(
    "the nut followed in steps of ten microseconds", "the step, and when a carriage counts as moving"
)
RIDGE = run_here(
    "one ridge of circles in a hundred thousand points", "higher terms that the formula leaves out"
)

DATA = Path(__file__).parent / "data" / "feed_and_finish.json"
ROWS = {row["id"]: row for row in json.loads(DATA.read_text(encoding="utf-8"))}


def test_pulses_of_a_hundred_millimetres_a_minute(compare):
    """Derived by hand: 100/60/3 turns a second, 3200 pulses each."""
    row = ROWS["E01"]
    found = feed_step_rate_hz(100, 3, 3200)
    compare.row(row, found, unit="Hz")


def test_a_spindle_that_sags_by_a_tenth_feeds_a_ninth_more(compare):
    """Derived by hand: the same travel in nine tenths of the turns."""
    before, after = ROWS["E03"]["expected"]
    compare(
        "feed of 60 mm/min at 600 rpm",
        feed_per_turn_mm(60, speed_rpm=600),
        before,
        source_of(ROWS["E03"]),
        abs=1e-12,
        unit="mm",
    )
    compare(
        "feed after the spindle sags by a tenth",
        sagged_feed_mm(before, sag_share=0.1),
        after,
        source_of(ROWS["E03"]),
        abs=ROWS["E03"]["tolerance"],
        unit="mm",
    )
    compare(
        "feed of 60 mm/min at 540 rpm",
        feed_per_turn_mm(60, speed_rpm=540),
        after,
        source_of(ROWS["E03"]),
        abs=ROWS["E03"]["tolerance"],
        unit="mm",
    )
    assert independent_feed_mm_min(before, speed_rpm=600) == pytest.approx(60)


def test_a_ten_bit_knob_is_coarse_at_the_slow_end(compare):
    """Derived by hand: 500 mm/min in 1023 steps."""
    step, share = ROWS["E04"]["expected"]
    compare(
        "step of a ten-bit knob to 500 mm/min",
        even_knob_step_mm_min(500, knob_bits=10),
        step,
        source_of(ROWS["E04"]),
        abs=1e-9,
        unit="mm/min",
    )
    compare(
        "step of a ten-bit knob over a feed of 10 mm/min",
        even_knob_step_share(10, fastest_mm_min=500, knob_bits=10),
        share,
        source_of(ROWS["E04"]),
        abs=1e-9,
    )


def test_both_knobs_walked_count_by_count_step_as_their_formulas_say():
    """By numbers alone: every count of a converter, the jumps between them."""
    counts = np.arange(1024) / 1023
    even = even_knob_mm_min(counts, fastest_mm_min=500, dead_band_share=0.0)
    assert np.diff(even) == pytest.approx(even_knob_step_mm_min(500, knob_bits=10), rel=1e-9)
    ratio = ratio_knob_mm_min(counts, slowest_mm_min=5, fastest_mm_min=500, dead_band_share=0.0)[1:]
    assert ratio[1:] / ratio[:-1] - 1 == pytest.approx(
        ratio_knob_step_share(5, fastest_mm_min=500, knob_bits=10), rel=1e-9
    )
    assert even[-1] == pytest.approx(500)
    assert ratio[-1] == pytest.approx(500)


def test_inside_the_dead_band_nothing_moves():
    turned = np.array([0.0, 0.03, 0.05])
    assert not even_knob_mm_min(turned, fastest_mm_min=500, dead_band_share=0.05).any()
    assert not ratio_knob_mm_min(turned, slowest_mm_min=5, fastest_mm_min=500, dead_band_share=0.05).any()
    with pytest.raises(RangeError, match="fully up"):
        even_knob_mm_min(1.2, fastest_mm_min=500, dead_band_share=0.05)
    with pytest.raises(RangeError, match="less than 1"):
        even_knob_mm_min(0.5, fastest_mm_min=500, dead_band_share=1)


def test_a_feed_that_follows_the_spindle_keeps_its_feed_while_the_spindle_sags(compare):
    """A count of edges through a sag: the screw follows the count, so speed does not come into it."""
    feed = Fraction(1, 10)
    ratio = nearest_ratio(steps_per_count(feed, Fraction(127, 40), 4000, 2700), 9999, 9999)
    speeds_rpm = np.linspace(600, 540, 61)
    counts = np.cumsum(np.round(speeds_rpm / 60 * 2700)).astype(np.int64)
    moved_mm = np.diff(screw_steps(counts, ratio)) * float(Fraction(127, 40) / 4000)
    per_turn = moved_mm / (np.diff(counts) / 2700)
    compare.worst(
        "feed a turn while the spindle sags",
        per_turn,
        0.1,
        run_here("a count of edges through a sag", "whole counts and steps"),
        rel=2e-3,
        unit="mm",
    )


@pytest.mark.parametrize("backlash_mm", [0.0, 0.1, 0.4])
def test_a_change_of_direction_lived_through_step_by_step(compare, backlash_mm):
    """The nut followed in time: it slows, waits, starts back, and the carriage follows after the backlash."""
    feed, slowing, wait = 8.0, 100.0, 0.02
    dt = 1e-5
    time = np.arange(0, 1.0, dt)
    back = time - feed / slowing - wait
    speed = np.where(time < feed / slowing, feed - slowing * time, 0.0)
    speed = np.where(back > 0, -np.minimum(slowing * back, feed), speed)
    nut = np.cumsum(speed) * dt
    carriage = np.minimum.accumulate(np.where(time > feed / slowing, nut + backlash_mm, np.inf))
    at_rest = float(nut.max())
    moves = time[np.argmax(carriage < at_rest - 1e-6)]
    full = max(moves, time[np.argmax(speed <= -feed * (1 - 1e-9))])
    found = direction_change(
        feed, slowing_mm_s2=slowing, set_up_s=0.0, resonance_hz=100, ring_periods=2, backlash_mm=backlash_mm
    )
    compare(f"overrun, backlash {backlash_mm} mm", found.overrun_mm, at_rest, STEPPED, abs=1e-4, unit="mm")
    compare(
        f"time standing, backlash {backlash_mm} mm",
        found.standing_s,
        moves - feed / slowing,
        STEPPED,
        abs=5e-4,
        unit="s",
    )
    compare(
        f"time to full feed back, backlash {backlash_mm} mm",
        found.reversal_s,
        full,
        STEPPED,
        abs=5e-4,
        unit="s",
    )


def test_reversal_and_rapid_travel_by_hand(compare):
    """Common practice, no source: half; the rest by hand for a 3 mm screw geared two to one."""
    compare(
        "largest feed that may turn straight round",
        straight_reversal_mm_min(400, 3, 2, 200),
        400 / 200 * 60 / 2 * 3 * 0.5,
        by_hand("common practice, no source: half the start rate"),
        rel=1e-6,
        unit="mm/min",
    )
    compare(
        "rapid feed at 800 rpm of the stepper",
        rapid_feed_mm_min(800, 3, 2),
        800 / 2 * 3 / 2,
        by_hand("3 mm screw geared two to one"),
        rel=1e-6,
        unit="mm/min",
    )
    with pytest.raises(RangeError, match="only nearly"):
        rapid_feed_mm_min(800, 3.175, 2)
    with pytest.raises(RangeError, match="stand"):
        sagged_feed_mm(0.1, sag_share=1.0)


@pytest.mark.parametrize("place", [0, 1])
def test_finish_of_two_feeds_by_all_formulas(compare, place):
    """Textbook f^2/8r and f^2/32r; the exact height and f^2/(18 sqrt3 r) derived by hand."""
    row = ROWS["D-finish"]
    feed, radius = (row["inputs"][name][place] for name in ("feed_mm", "radius_mm"))
    found = [
        reckon(feed, nose_radius_mm=radius)
        for reckon in (
            nearly_peak_to_valley_um,
            peak_to_valley_um,
            nearly_mean_roughness_um,
            mean_roughness_um,
        )
    ]
    compare(
        f"finish of {feed} mm with a nose of {radius} mm",
        found,
        row["expected"][place],
        source_of(row),
        abs=row["tolerance"],
        unit="um",
        each=("Rt, nearly", "Rt", "Ra, nearly", "Ra"),
    )
    assert feed_for_finish_mm(found[-1], nose_radius_mm=radius) == pytest.approx(feed)


@pytest.mark.parametrize("share", [0.1, 0.4, 0.8])
def test_a_row_of_round_ridges_measured_by_numbers_alone(compare, share):
    """One ridge of circles in a hundred thousand points: its height, and its mean distance from its mean."""
    radius, feed = 0.4, 0.4 * share
    x = (np.arange(100_000) + 0.5) / 100_000 * feed - feed / 2
    profile_um = 1000 * (radius - np.sqrt(radius**2 - x**2))
    roughness = np.mean(np.abs(profile_um - profile_um.mean()))
    compare(
        f"peak to valley, feed {share} of the nose",
        peak_to_valley_um(feed, nose_radius_mm=radius),
        profile_um.max(),
        RIDGE,
        rel=1e-3,
        unit="um",
    )
    compare(
        f"mean roughness, feed {share} of the nose",
        mean_roughness_um(feed, nose_radius_mm=radius),
        roughness,
        RIDGE,
        rel=0.06,
        unit="um",
    )
    if share == 0.1:
        compare(
            f"mean roughness closely, feed {share} of the nose",
            mean_roughness_um(feed, nose_radius_mm=radius),
            roughness,
            RIDGE,
            rel=2e-3,
            unit="um",
        )


def test_a_feed_too_coarse_for_its_nose_is_refused_and_a_slow_cut_tears(compare):
    compare(
        "largest feed for a nose of 0.4 mm",
        largest_finish_feed_mm(0.4),
        0.32,
        Source(PRACTICE, "feed up to four fifths of the nose radius", NO_SOURCE),
        rel=1e-6,
        unit="mm",
    )
    with pytest.raises(RangeError, match="leaves gaps"):
        peak_to_valley_um(1.0, nose_radius_mm=0.4)
    slow, fast = (expected_roughness(1.0, cutting_speed_m_min=speed) for speed in (25, 120))
    assert (slow.least_roughness_um, slow.most_roughness_um) == (1.5, 3.0)
    assert (fast.least_roughness_um, fast.most_roughness_um) == (1.0, 3.0)


def test_a_narrow_cut_thins_the_chip(compare):
    """Derived by hand; and by stepping along the arc of the tooth."""
    row = ROWS["D-thinning"]
    shares = np.array(row["inputs"]["share"])
    found = peak_chip_mm(1.0, width_mm=10 * shares, diameter_mm=10)
    compare.row(row, found, each=[f"width {one} of the diameter" for one in shares])
    for share in (0.05, 0.3, 0.5, 0.7, 1.0):
        arc = np.linspace(0, np.arccos(1 - 2 * share), 100_001)
        thickest = np.max(np.sin(arc))
        compare(
            f"thickest chip at a width of {share}",
            peak_chip_mm(1.0, width_mm=share, diameter_mm=1),
            thickest,
            run_here("stepping along the arc of the tooth", "the size of the step"),
            rel=1e-6,
            unit="mm",
        )
        assert tooth_feed_mm(thickest, width_mm=share, diameter_mm=1) == pytest.approx(1.0, rel=1e-6)


def test_the_shop_formula_for_the_mean_chip_is_within_seven_per_cent_up_to_a_third(compare):
    """Against the exact mean along the arc, from the milling calculation."""
    for share in (0.02, 0.1, 0.2, 1 / 3):
        exact = milling(
            depth_mm=1,
            width_mm=10 * share,
            feed_per_tooth_mm=0.05,
            cutter_teeth=2,
            diameter_mm=10,
            speed_rpm=500,
            specific_force_1_n_mm2=1500,
            chip_exponent=0.22,
        ).chip_thickness_mm
        found = nearly_mean_chip_mm(0.05, width_mm=10 * share, diameter_mm=10)
        compare(
            f"mean chip by the shop formula at a width of {share:.2f}",
            found,
            exact,
            run_here("exact mean along the arc", "the shop formula is a rough one"),
            rel=0.07,
            unit="mm",
        )


def test_a_cutter_that_runs_out_more_than_its_feed_cuts_with_one_tooth(compare):
    """Two teeth by hand: they take f + e and f - e, until the second one takes nothing."""
    compare(
        "feed a tooth of 48 mm/min at 800 rpm, three teeth",
        feed_per_tooth_mm(48, speed_rpm=800, cutter_teeth=3),
        0.02,
        by_hand("48 / 800 / 3"),
        rel=1e-6,
        unit="mm",
    )
    for runout in (0.0, 0.01, 0.02, 0.05):
        second = max(0.02 - runout, 0.0)
        found = heaviest_tooth_mm(0.02, runout_mm=runout, cutter_teeth=2)
        assert found + second == pytest.approx(0.04), "both together take the feed of a turn"
