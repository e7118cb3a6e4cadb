"""A meter's lag from a step and beside the encoder, its scale, its faults, and two meters compared."""

from fractions import Fraction
from types import SimpleNamespace

import numpy as np
import pytest
from simulate.coast_log import Display, Truth, meter_speed_rpm, write_log

from machinelab.errors import LogError, RangeError
from machinelab.spindle.meter_agreement import compare_meters
from machinelab.spindle.meter_beside import fit_lag_beside
from machinelab.spindle.meter_calibration import calibrate, wrong_mark_ratio
from machinelab.spindle.meter_step import fit_step


def stepped_log(seed, *, lag_s=0.8, dead_s=0.1, before=1000.0, after=300.0, hold_s=0.25, glitches=0.0):
    """A display that lags, holds and rounds, shown a sudden change at 5 s; rows at uneven times."""
    rng = np.random.default_rng([seed, 5])
    rows = np.cumsum(0.1 * (1 + 0.3 * rng.uniform(-1, 1, 160)))
    phase = rng.uniform(0, hold_s)
    taken = rows if hold_s == 0 else phase + hold_s * np.floor((rows - phase) / hold_s)
    gone = np.maximum(taken - 5.0 - dead_s, 0) / lag_s
    fresh, back = np.unique(taken, return_inverse=True)
    shown = after + (before - after) * np.exp(-gone) + 0.4 * rng.standard_normal(fresh.size)[back]
    shown = np.where(rng.random(rows.size) < glitches, shown * 2, shown)
    return SimpleNamespace(time_s=np.round(rows, 3), speed_rpm=np.round(shown))


def holds(estimate, truth):
    return estimate.interval[0] <= truth <= estimate.interval[1]


@pytest.mark.parametrize("lag_s", [0.3, 0.8, 2.0])
@pytest.mark.parametrize(("before", "after"), [(1000.0, 300.0), (200.0, 1500.0), (1200.0, 0.0)])
def test_the_lag_is_found_from_a_step_either_way(lag_s, before, after):
    found = fit_step(stepped_log(1, lag_s=lag_s, before=before, after=after), switched_s=5.0)
    assert found.lag_s.value == pytest.approx(lag_s, rel=0.06)
    assert found.dead_time_s.value == pytest.approx(0.1, abs=0.1)
    assert found.before_rpm.value == pytest.approx(before, abs=2)
    assert found.after_rpm.value == pytest.approx(after, abs=4)


@pytest.mark.slow
@pytest.mark.parametrize("hold_s", [0.0, 0.25])
def test_the_interval_of_the_lag_holds_the_truth_in_nine_of_ten_steps(hold_s):
    hits = sum(holds(fit_step(stepped_log(seed, hold_s=hold_s)).lag_s, 0.8) for seed in range(100))
    assert hits >= 90


def test_wild_readings_do_not_pull_the_lag():
    assert fit_step(stepped_log(2, glitches=0.04)).lag_s.value == pytest.approx(0.8, rel=0.1)


def test_the_fitted_step_follows_the_readings_and_says_that_the_display_holds():
    log = stepped_log(3)
    found = fit_step(log)
    assert found.dead_time_s is None
    assert np.median(np.abs(found.residuals_rpm)) < 3
    assert found.shown_rpm(np.array([0.0, 30.0])) == pytest.approx([1000, 300], abs=3)
    assert "holds each number" in found.notes[0]
    assert fit_step(stepped_log(3, hold_s=0.0)).notes == ()


@pytest.mark.parametrize(
    ("log", "words"),
    [
        (stepped_log(1, before=1000.0, after=997.0), "too little to tell a lag"),
        (stepped_log(1, lag_s=0.02), "too quick for its lag to matter"),
        (SimpleNamespace(time_s=[0, 1, 2], speed_rpm=[3, 2, 1]), "at least 10"),
    ],
)
def test_a_log_without_a_usable_step_is_refused_in_words(log, words):
    with pytest.raises(LogError, match=words):
        fit_step(log)


def test_the_lag_is_found_from_a_coast_beside_the_encoder():
    truth = Truth(1200.0, 3.1, 0.021, 9e-5)
    time_s, shown = write_log(truth, Display(lag_s=0.8, glitches=0.01), seed=4)
    true = meter_speed_rpm(truth, 0, 60.0)
    encoder_s = np.arange(0, 40, 0.05)
    encoder = SimpleNamespace(time_s=encoder_s, speed_rpm=true(encoder_s))
    found = fit_lag_beside(SimpleNamespace(time_s=time_s, speed_rpm=1.01 * shown), encoder)
    assert found.lag_s.value == pytest.approx(0.8, abs=0.06)
    assert found.dead_time_s.value == pytest.approx(0.0, abs=0.08)
    assert found.meter_scale.value == pytest.approx(1.01, abs=1e-3)


def test_logs_of_different_times_cannot_be_laid_beside_each_other():
    early = stepped_log(1)
    late = SimpleNamespace(time_s=early.time_s + 100, speed_rpm=early.speed_rpm)
    with pytest.raises(LogError, match="one clock"):
        fit_lag_beside(early, late)


SPEEDS = np.array([100.0, 250.0, 400.0, 600.0, 800.0, 1000.0, 1200.0])


def test_scale_and_zero_are_found_and_the_reading_is_turned_back():
    shown = np.round(1.013 * SPEEDS + 4 + 0.3 * np.sin(SPEEDS))
    found = calibrate(SPEEDS, shown, resolution_rpm=1.0)
    assert holds(found.meter_scale, 1.013)
    assert holds(found.zero_rpm, 4.0)
    assert found.true_rpm(shown) == pytest.approx(SPEEDS, abs=1.5)
    assert found.error_share(1000.0) == pytest.approx(0.017, abs=1e-3)
    assert any("does not go through zero" in note for note in found.notes)


def test_a_true_meter_has_no_fault_to_name():
    rng = np.random.default_rng(3)
    found = calibrate(SPEEDS, np.round(SPEEDS + rng.normal(0, 0.5, SPEEDS.size)), resolution_rpm=1.0)
    assert found.notes == ()
    assert found.mark_ratio is None
    assert found.odd_speeds_rpm == ()


def test_perfect_readings_still_carry_the_doubt_of_the_display():
    found = calibrate(SPEEDS, SPEEDS, resolution_rpm=1.0)
    assert found.zero_rpm.expanded_uncertainty > 0.3
    assert found.meter_scale.expanded_uncertainty > 1e-4


@pytest.mark.parametrize("ratio", [Fraction(4, 3), Fraction(2), Fraction(1, 2), Fraction(3, 4), Fraction(8)])
def test_a_wrong_number_of_marks_is_named(ratio):
    found = calibrate(SPEEDS, np.round(float(ratio) * SPEEDS), resolution_rpm=1.0)
    assert found.mark_ratio == ratio
    assert f"{ratio.numerator} marks pass" in found.notes[0]


def test_missed_pulses_at_the_highest_speeds_are_named_and_do_not_bend_the_line():
    shown = np.where(SPEEDS > 1100, 0.9 * SPEEDS, SPEEDS)
    found = calibrate(SPEEDS, shown, resolution_rpm=1.0)
    assert found.odd_speeds_rpm == (1200.0,)
    assert found.meter_scale.value == pytest.approx(1.0, abs=1e-3)
    assert any("pulses are missed" in note for note in found.notes)
    doubled = np.where(SPEEDS < 150, 2 * SPEEDS, SPEEDS)
    assert any("counted twice" in note for note in calibrate(SPEEDS, doubled, resolution_rpm=1.0).notes)


@pytest.mark.parametrize("slope", [0.0, 0.99, 1.0, 1.01, 1.06, 9.0])
def test_an_ordinary_error_of_scale_is_no_wrong_mark_count(slope):
    assert wrong_mark_ratio(slope) is None


@pytest.mark.parametrize(
    ("true", "shown", "words"),
    [
        ([100, 200, 300, 400], [100, 200, 300, 400], "at least 5 speeds"),
        ([100, 200, 300, 400, 500], [100, 200], "each speed needs its reading"),
        ([500, 510, 520, 530, 540], [500, 510, 520, 530, 540], "twice as much"),
        ([0, 100, 200, 300, 400], [0, 100, 200, 300, 400], "above zero"),
    ],
)
def test_too_few_or_too_like_speeds_are_refused_in_words(true, shown, words):
    with pytest.raises(RangeError, match=words):
        calibrate(true, shown)


@pytest.mark.parametrize("late_s", [-0.7, 0.0, 0.3, 1.1])
def test_two_meters_are_laid_over_each_other_before_they_are_compared(late_s):
    truth = Truth(1200.0, 3.1, 0.021, 9e-5)
    speed = meter_speed_rpm(truth, 0, 60.0)
    rng = np.random.default_rng(6)
    one_s, other_s = np.arange(0, 40, 0.1), np.arange(0.03, 40, 0.13)
    one = np.round(speed(one_s) + rng.normal(0, 0.5, one_s.size))
    other = np.round(1.0 * speed(other_s - late_s) + 3 + rng.normal(0, 0.5, other_s.size))
    found = compare_meters(
        SimpleNamespace(time_s=one_s, speed_rpm=one), SimpleNamespace(time_s=other_s, speed_rpm=other)
    )
    assert found.shift_s == pytest.approx(late_s, abs=0.1)
    assert found.mean_difference_rpm.value == pytest.approx(3.0, abs=1.0)
    assert found.lowest_difference_rpm < found.mean_difference_rpm.value < found.highest_difference_rpm


def test_meters_at_one_steady_speed_or_apart_in_time_are_refused_in_words():
    time_s = np.arange(0, 10, 0.1)
    steady = SimpleNamespace(time_s=time_s, speed_rpm=np.full(time_s.size, 600.0))
    with pytest.raises(LogError, match="hardly changes"):
        compare_meters(steady, steady)
    with pytest.raises(LogError, match="share 0 readings"):
        compare_meters(steady, SimpleNamespace(time_s=time_s + 50, speed_rpm=steady.speed_rpm))
