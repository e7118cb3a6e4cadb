"""Readings of a meter made ready for a fit, a sudden change and a run beside an encoder, by hand."""

import math
from types import SimpleNamespace

import numpy as np
import pytest
from scipy import stats

from machinelab.errors import LogError
from machinelab.spindle.meter_beside import _lagging_copy, fit_lag_beside
from machinelab.spindle.meter_readings import (
    FreshReadings,
    _doubt,
    _written_to,
    fitted,
    fresh_readings,
    of_logarithm,
    roughly_fitted,
)
from machinelab.spindle.meter_step import _first_guess, _step_response, fit_step


def log(time_s, speed_rpm):
    return SimpleNamespace(time_s=np.asarray(time_s, float), speed_rpm=np.asarray(speed_rpm, float))


def half(estimate):
    low, high = estimate.interval
    return (high - low) / 2


@pytest.mark.parametrize(
    ("time_s", "place"),
    [
        ([0.0, 1.0, 5.0], 1.0),
        ([0.0, 0.5, 1.0], 0.1),
        ([0.0, 0.25, 1.5], 0.01),
        ([0.123456, 0.25], 1e-6),
        ([0.0, math.pi], 0.0),
        ([90_000.0, 90_000.25], 0.01),  # Late in a day.
    ],
)
def test_times_are_written_to_the_coarsest_place_that_holds_them_all(time_s, place):
    assert _written_to(np.array(time_s)) == pytest.approx(place)


def test_times_of_no_place_leave_no_doubt_of_their_own():
    found = fresh_readings(log(np.sqrt(np.arange(2, 14)), 100 * np.arange(12)))
    assert np.all(found.time_doubt_s == 0)


def test_readings_at_the_ends_of_a_stretch_and_those_of_zero_are_no_speeds_during_it():
    readings = FreshReadings(
        np.array([1.0, 2.0, 3.0, 4.0, 5.0]),
        np.array([9.0, 0.5, 0.0, 7.0, 6.0]),
        np.array([0.1, 0.2, 0.3, 0.4, 0.5]),
        0.5,
        ("as read",),
    )
    kept = readings.turning_during(1.0, 5.0)
    assert list(kept.time_s) == [2.0, 4.0]
    assert list(kept.shown_rpm) == [0.5, 7.0]
    assert list(kept.time_doubt_s) == [0.2, 0.4]
    assert (kept.step_rpm, kept.notes) == (0.5, ("as read",))


@pytest.mark.parametrize(("held", "collapsed"), [(6, False), (7, True)])
def test_a_display_holds_its_numbers_where_more_than_three_in_ten_of_the_moving_rows_repeat(held, collapsed):
    """Twenty rows between a tenth and nine tenths of the change, of which so many repeat the row before."""
    falling = np.repeat(np.linspace(880, 120, 20 - held), np.where(np.arange(20 - held) < held, 2, 1))
    shown = np.concatenate([np.full(10, 1000.0), falling, np.full(10, 0.0)])
    found = fresh_readings(log(np.arange(40) / 10, shown))
    assert bool(found.notes) is collapsed
    assert found.shown_rpm.size == (40 - held if collapsed else 40)


@pytest.mark.parametrize("creeping", [(960, 950, 940, 930, 920), (90, 80, 60, 40, 20)])
def test_rows_that_repeat_within_a_tenth_of_either_end_say_nothing_of_the_display(creeping):
    """A speed that creeps near its ends stands in several rows, whatever shows it."""
    creep = np.repeat(creeping, 8)
    falling = np.linspace(880, 120, 20)
    rows = [[1000.0], creep, falling, [0.0]] if creeping[0] > 500 else [[1000.0], falling, creep, [0.0]]
    shown = np.concatenate(rows)
    found = fresh_readings(log(np.arange(shown.size) / 10, shown))
    assert found.notes == ()
    assert found.shown_rpm.size == shown.size


def test_a_reading_is_in_doubt_by_half_a_step_and_by_how_far_the_speed_moves_in_the_doubt_of_its_time():
    def steady_rise(time_s, numbers):
        return numbers[0] * time_s, time_s[:, None]

    times = np.array([1.0, 2.0, 3.0])
    readings = FreshReadings(times, 40 * times, np.array([0.0, 0.05, 0.2]), 6.0, ())
    assert _doubt(steady_rise, [40.0], readings, 1000.0) == pytest.approx(
        [3, math.hypot(3, 2), math.hypot(3, 8)]
    )
    fine = FreshReadings(times, 40 * times, np.zeros(3), 0.01, ())
    assert _doubt(steady_rise, [40.0], fine, 1000.0) == pytest.approx(0.1)


def test_a_rough_fit_hardly_takes_a_reading_for_wild_and_a_near_one_weighs_each_by_its_doubt():
    """At 40 rpm a second half of the readings are 9 rpm high and their times are in doubt by a second."""
    times = np.linspace(0, 10, 41)
    doubtful = np.arange(41) % 2 == 1
    readings = FreshReadings(times, 40 * times + 9 * doubtful, np.where(doubtful, 1.0, 0.0), 1.0, ())

    def rise(time_s, numbers):
        return numbers[0] * time_s, np.asarray(time_s)[:, None]

    rough = roughly_fitted(rise, [10.0], readings, size=400.0)
    assert rough.scale == 20.0
    assert np.all(rough.weights > 0.9)
    near = fitted(rise, [40.0], readings, size=400.0)
    doubt = np.hypot(0.5, 40 * readings.time_doubt_s)
    by_hand = np.sum(times * readings.shown_rpm / doubt**2) / np.sum(times**2 / doubt**2)
    assert near.parameters[0] == pytest.approx(by_hand, rel=1e-4)
    assert near.residuals == pytest.approx(near.parameters[0] * times - readings.shown_rpm, abs=1e-6)


def test_an_estimate_of_a_logarithm_becomes_one_of_the_number():
    found = of_logarithm(math.log(3), math.log(2))
    assert (found.value, *found.interval) == pytest.approx((3, 1.5, 6))
    assert math.isfinite(of_logarithm(0.0, 1e6).interval[1])


# --- A sudden change.


def exponential(time_s, *, before=900.0, after=300.0, begins_s=4.0, lag_s=0.6):
    return before + (after - before) * (1 - np.exp(-np.maximum(time_s - begins_s, 0) / lag_s))


def test_the_first_guess_reads_levels_beginning_and_lag_off_the_curve():
    """Beginning where a twentieth of the change is gone, and the lag from there to 63 of 100."""
    time_s = np.arange(0, 12, 0.1)
    before, change, begins_s, log_lag = _first_guess(
        fresh_readings(log(time_s, np.round(exponential(time_s), 1)))
    )
    assert (before, change) == pytest.approx((900, -600), abs=0.1)
    assert begins_s == pytest.approx(4.1)
    assert math.exp(log_lag) == pytest.approx(4.6 - 4.1)


def test_too_small_and_too_quick_a_change_are_told_in_full():
    time_s = np.arange(0, 12, 0.1)
    with pytest.raises(LogError) as refusal:
        fit_step(log(time_s, np.round(exponential(time_s, after=880))))
    assert str(refusal.value) == (
        "The readings change from 900 to 880 rpm, too little to tell a lag. Let the meter see a sudden "
        "change of hundreds of rpm, and log until it is steady again."
    )
    for after in (921, 879):
        assert fit_step(log(time_s, np.round(exponential(time_s, after=after)))).lag_s.value > 0
    quick = np.concatenate([np.full(40, 900.0), [860.0, 800.0, 600.0, 330.0], np.full(40, 300.0)])
    # A twentieth of the change, at either end, is not on the way.
    with pytest.raises(LogError) as refusal:
        fit_step(log(np.arange(quick.size) / 10, quick))
    assert str(refusal.value) == (
        "Only 3 fresh readings on the way from 900 to 300 rpm; at least 4 are needed. Log ten times a "
        "second; if the meter itself shows no more, it is too quick for its lag to matter."
    )
    quick[43] = 340.0
    assert fit_step(log(np.arange(quick.size) / 10, quick)).lag_s.value > 0


@pytest.mark.parametrize("which", range(4))
def test_each_slope_of_a_step_is_what_a_small_change_does(which):
    time_s = np.array([0.0, 3.9, 4.1, 4.6, 5.5, 9.0])
    numbers = np.array([900.0, -600.0, 4.0, math.log(0.6)])
    way = 1e-6 * np.eye(4)[which]
    more, less = (_step_response(time_s, numbers + sign * way)[0] for sign in (1, -1))
    assert _step_response(time_s, numbers)[1][:, which] == pytest.approx((more - less) / 2e-6, abs=1e-3)
    assert _step_response(time_s, numbers)[0] == pytest.approx(exponential(time_s))
    numbers[3] = 8.0
    assert _step_response(time_s, numbers)[0] is not None
    numbers[3] = -8.01
    assert _step_response(time_s, numbers) == (None, None)


def test_levels_beginning_and_lag_of_a_step_have_the_doubts_of_plain_least_squares():
    """Scatter of deviation 2 drawn once; a robust fit loses about a twentieth to plain least squares."""
    time_s = np.arange(400) * math.pi / 60  # Written to no place, so that only the scatter is in doubt.
    noise = np.random.default_rng(8).normal(0, 2, time_s.size)
    found = fit_step(log(time_s, exponential(time_s) + noise))
    numbers = np.array(
        [
            found.before_rpm.value,
            found.after_rpm.value - found.before_rpm.value,
            found.begins_s.value,
            math.log(found.lag_s.value),
        ]
    )
    shown, design = _step_response(time_s, numbers)
    residuals = exponential(time_s) + noise - shown
    assert found.residuals_rpm == pytest.approx(residuals, abs=1e-6)
    freedom = time_s.size - 4
    covariance = np.linalg.inv(design.T @ design) * np.sum(residuals**2) / freedom
    times = stats.t.ppf(0.975, freedom)
    level_sd, change_sd, begins_sd, log_lag_sd = np.sqrt(np.diag(covariance))
    assert half(found.before_rpm) == pytest.approx(times * level_sd, rel=0.1)
    after_sd = math.sqrt(level_sd**2 + change_sd**2 + 2 * covariance[0, 1])
    assert half(found.after_rpm) == pytest.approx(times * after_sd, rel=0.1)
    assert half(found.begins_s) == pytest.approx(times * begins_sd, rel=0.1)
    low, high = found.lag_s.interval
    assert math.log(high / low) / 2 == pytest.approx(times * log_lag_sd, rel=0.1)


# --- Beside an encoder.


def a_fall(time_s):
    return np.where(time_s < 5, 1000.0, 1000 * np.exp(-np.maximum(time_s - 5, 0) / 2.5))


@pytest.mark.parametrize("which", range(3))
def test_each_slope_of_a_lagging_copy_is_what_a_larger_change_does(which):
    true_s = np.arange(0, 20, 0.01)
    true, time_s = a_fall(true_s), np.array([2.0, 5.3, 6.1, 8.0, 12.0])
    numbers = np.array([1.03, 0.2, math.log(0.7)])
    way = 1e-3 * np.eye(3)[which]
    more, less = (_lagging_copy(true_s, true, time_s, numbers + sign * way)[0] for sign in (1, -1))
    slope = (more - less) / 2e-3
    found = _lagging_copy(true_s, true, time_s, numbers)[1][:, which]
    assert found == pytest.approx(slope, abs=0.02 * np.max(np.abs(slope)))


@pytest.mark.parametrize(
    ("which", "taken", "refused"), [(1, 19.9, 20.1), (1, -19.9, -20.1), (2, 8.0, 8.01), (2, -8.0, -8.01)]
)
def test_no_lag_is_tried_beyond_all_sense_and_no_dead_time_longer_than_the_log(which, taken, refused):
    true_s = np.linspace(0, 20, 201)
    numbers = np.array([1.0, 0.0, 0.0])
    for value, possible in ((taken, True), (refused, False)):
        numbers[which] = value
        found = _lagging_copy(true_s, a_fall(true_s), np.array([3.0, 7.0]), numbers)
        assert (found[0] is not None) is possible
        assert (found[1] is not None) is possible


def test_logs_of_different_times_are_told_with_how_many_readings_they_share():
    time_s = np.arange(0, 12, 0.1)
    for shared in (9, 10):
        encoder = log(time_s[: shared + 2], 1000 - 20 * time_s[: shared + 2])
        meter = log(time_s, 1000 - 20 * time_s)
        if shared >= 10:
            assert fit_lag_beside(meter, encoder).meter_scale.value == pytest.approx(1, abs=0.1)
            continue
        with pytest.raises(LogError) as refusal:
            fit_lag_beside(meter, encoder)
        assert str(refusal.value) == (
            "Meter and encoder were not logged over the same time, or hardly: their logs share 9 fresh "
            "readings. Log both at once, with one clock."
        )
