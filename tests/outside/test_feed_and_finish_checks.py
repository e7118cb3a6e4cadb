"""Power feed, finish and milling chips against figures worked out by hand or by numbers alone."""

import json
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

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

DATA = Path(__file__).parent / "data" / "feed_and_finish.json"
ROWS = {row["id"]: row for row in json.loads(DATA.read_text(encoding="utf-8"))}


def test_pulses_of_a_hundred_millimetres_a_minute():
    """Derived by hand: 100/60/3 turns a second, 3200 pulses each."""
    row = ROWS["E01"]
    found = feed_step_rate_hz(100, 3, 3200)
    assert found == pytest.approx(row["expected"], abs=row["tolerance"])


def test_a_spindle_that_sags_by_a_tenth_feeds_a_ninth_more():
    """Derived by hand: the same travel in nine tenths of the turns."""
    before, after = ROWS["E03"]["expected"]
    assert feed_per_turn_mm(60, speed_rpm=600) == pytest.approx(before, abs=1e-12)
    assert sagged_feed_mm(before, sag_share=0.1) == pytest.approx(after, abs=ROWS["E03"]["tolerance"])
    assert feed_per_turn_mm(60, speed_rpm=540) == pytest.approx(after, abs=ROWS["E03"]["tolerance"])
    assert independent_feed_mm_min(before, speed_rpm=600) == pytest.approx(60)


def test_a_ten_bit_knob_is_coarse_at_the_slow_end():
    """Derived by hand: 500 mm/min in 1023 steps."""
    step, share = ROWS["E04"]["expected"]
    assert even_knob_step_mm_min(500, knob_bits=10) == pytest.approx(step, abs=1e-9)
    assert even_knob_step_share(10, fastest_mm_min=500, knob_bits=10) == pytest.approx(share, abs=1e-9)


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


def test_a_feed_that_follows_the_spindle_keeps_its_feed_while_the_spindle_sags():
    """A count of edges through a sag: the screw follows the count, so speed does not come into it."""
    feed = Fraction(1, 10)
    ratio = nearest_ratio(steps_per_count(feed, Fraction(127, 40), 4000, 2700), 9999, 9999)
    speeds_rpm = np.linspace(600, 540, 61)
    counts = np.cumsum(np.round(speeds_rpm / 60 * 2700)).astype(np.int64)
    moved_mm = np.diff(screw_steps(counts, ratio)) * float(Fraction(127, 40) / 4000)
    per_turn = moved_mm / (np.diff(counts) / 2700)
    assert per_turn == pytest.approx(0.1, rel=2e-3)


@pytest.mark.parametrize("backlash_mm", [0.0, 0.1, 0.4])
def test_a_change_of_direction_lived_through_step_by_step(backlash_mm):
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
    assert found.overrun_mm == pytest.approx(at_rest, abs=1e-4)
    assert found.standing_s == pytest.approx(moves - feed / slowing, abs=5e-4)
    assert found.reversal_s == pytest.approx(full, abs=5e-4)


def test_reversal_and_rapid_travel_by_hand():
    """Common practice, no source: half; the rest by hand for a 3 mm screw geared two to one."""
    assert straight_reversal_mm_min(400, 3, 2, 200) == pytest.approx(400 / 200 * 60 / 2 * 3 * 0.5)
    assert rapid_feed_mm_min(800, 3, 2) == pytest.approx(800 / 2 * 3 / 2)
    with pytest.raises(RangeError, match="only nearly"):
        rapid_feed_mm_min(800, 3.175, 2)
    with pytest.raises(RangeError, match="stand"):
        sagged_feed_mm(0.1, sag_share=1.0)


@pytest.mark.parametrize("place", [0, 1])
def test_finish_of_two_feeds_by_all_formulas(place):
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
    assert found == pytest.approx(row["expected"][place], abs=row["tolerance"])
    assert feed_for_finish_mm(found[-1], nose_radius_mm=radius) == pytest.approx(feed)


@pytest.mark.parametrize("share", [0.1, 0.4, 0.8])
def test_a_row_of_round_ridges_measured_by_numbers_alone(share):
    """One ridge of circles in a hundred thousand points: its height, and its mean distance from its mean."""
    radius, feed = 0.4, 0.4 * share
    x = (np.arange(100_000) + 0.5) / 100_000 * feed - feed / 2
    profile_um = 1000 * (radius - np.sqrt(radius**2 - x**2))
    roughness = np.mean(np.abs(profile_um - profile_um.mean()))
    assert peak_to_valley_um(feed, nose_radius_mm=radius) == pytest.approx(profile_um.max(), rel=1e-3)
    assert mean_roughness_um(feed, nose_radius_mm=radius) == pytest.approx(roughness, rel=0.06)
    if share == 0.1:
        assert mean_roughness_um(feed, nose_radius_mm=radius) == pytest.approx(roughness, rel=2e-3)


def test_a_feed_too_coarse_for_its_nose_is_refused_and_a_slow_cut_tears():
    assert largest_finish_feed_mm(0.4) == pytest.approx(0.32)
    with pytest.raises(RangeError, match="leaves gaps"):
        peak_to_valley_um(1.0, nose_radius_mm=0.4)
    slow, fast = (expected_roughness(1.0, cutting_speed_m_min=speed) for speed in (25, 120))
    assert (slow.least_roughness_um, slow.most_roughness_um) == (1.5, 3.0)
    assert (fast.least_roughness_um, fast.most_roughness_um) == (1.0, 3.0)


def test_a_narrow_cut_thins_the_chip():
    """Derived by hand; and by stepping along the arc of the tooth."""
    row = ROWS["D-thinning"]
    shares = np.array(row["inputs"]["share"])
    found = peak_chip_mm(1.0, width_mm=10 * shares, diameter_mm=10)
    assert found == pytest.approx(row["expected"], abs=row["tolerance"])
    for share in (0.05, 0.3, 0.5, 0.7, 1.0):
        arc = np.linspace(0, np.arccos(1 - 2 * share), 100_001)
        thickest = np.max(np.sin(arc))
        assert peak_chip_mm(1.0, width_mm=share, diameter_mm=1) == pytest.approx(thickest, rel=1e-6)
        assert tooth_feed_mm(thickest, width_mm=share, diameter_mm=1) == pytest.approx(1.0, rel=1e-6)


def test_the_shop_formula_for_the_mean_chip_is_within_seven_per_cent_up_to_a_third():
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
        assert found == pytest.approx(exact, rel=0.07)


def test_a_cutter_that_runs_out_more_than_its_feed_cuts_with_one_tooth():
    """Two teeth by hand: they take f + e and f - e, until the second one takes nothing."""
    assert feed_per_tooth_mm(48, speed_rpm=800, cutter_teeth=3) == pytest.approx(0.02)
    for runout in (0.0, 0.01, 0.02, 0.05):
        second = max(0.02 - runout, 0.0)
        found = heaviest_tooth_mm(0.02, runout_mm=runout, cutter_teeth=2)
        assert found + second == pytest.approx(0.04), "both together take the feed of a turn"
