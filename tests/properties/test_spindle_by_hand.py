"""What the drive and the meters come to, worked out beside them by hand or by another library's routine."""

import math
from dataclasses import replace
from fractions import Fraction
from types import SimpleNamespace

import numpy as np
import pytest
from scipy import stats

from machinelab.errors import LogError, RangeError
from machinelab.spindle import motor_limits
from machinelab.spindle.drive_train import DriveTrain
from machinelab.spindle.meter_agreement import compare_meters
from machinelab.spindle.meter_beside import fit_lag_beside
from machinelab.spindle.meter_calibration import calibrate, wrong_mark_ratio
from machinelab.spindle.meter_lag import lagged_copy, shown_by_a_lagging_meter
from machinelab.spindle.meter_readings import fresh_readings
from machinelab.spindle.meter_step import fit_step
from machinelab.spindle.motor_heat import USUAL_FORM_FACTORS, continuous_current_a
from machinelab.spindle.motor_limits import continuous_envelope, short_time_envelope, top_speed_rpm

TRAIN = DriveTrain(
    3,
    supply_v=130.0,
    back_emf_v_s_per_rad=0.288,
    armature_resistance_ohm=1.2,
    rated_current_a=6.0,
    rated_motor_speed_rpm=4000.0,
    brush_drop_v=2.0,
    no_load_torque_nm=0.05,
    highest_motor_speed_rpm=4200.0,
    drive_current_a=9.0,
    form_factor=1.2,
    standstill_share=0.4,
    belt_efficiency=0.9,
    slip_torque_nm=2.0,
    spindle_drag_nm=0.3,
)
RPM = math.pi / 30


def at_the_spindle(current_a):
    """K times the current less the motor's own friction, through belt and ratio, less the spindle's drag."""
    return max(3 * 0.9 * (0.288 * current_a - 0.05) - 0.3, 0.0)


@pytest.mark.parametrize("speed_rpm", [0.0, 0.1, 200.0, 900.0, 1200.0, 1340.0, 1400.0, 1401.0, 1500.0])
def test_each_limit_of_the_drive_is_its_current_or_belt_or_speed_worked_out_by_hand(speed_rpm):
    motor_rpm = 3 * speed_rpm
    by_hand = {
        motor_limits.SUPPLY: at_the_spindle((130 - 2 - 0.288 * motor_rpm * RPM) / 1.2),
        motor_limits.DRIVE: at_the_spindle(9.0),
        motor_limits.MAGNETS: at_the_spindle(3 * 6.0),
        motor_limits.BRUSHES: at_the_spindle(2.5 * 6.0 * min(4000 / max(motor_rpm, 1), 1)),
        motor_limits.BELT: 3 * 2.0,
        motor_limits.TOP: math.inf if motor_rpm <= 4200 else 0.0,
    }
    found = short_time_envelope(speed_rpm, TRAIN)
    assert {name: float(limit) for name, limit in found.limits_nm.items()} == pytest.approx(by_hand)
    assert float(found.torque_nm) == pytest.approx(min(by_hand.values()))
    assert float(found.power_w) == pytest.approx(min(by_hand.values()) * speed_rpm * RPM)
    assert by_hand[str(found.binding)] == pytest.approx(min(by_hand.values()))


def test_each_limit_binds_where_the_others_are_taken_away():
    speeds = np.array([50.0, 1330.0, 1410.0])
    assert list(short_time_envelope(speeds, TRAIN).binding) == [
        motor_limits.BELT,
        motor_limits.SUPPLY,
        motor_limits.SUPPLY,
    ]
    assert short_time_envelope(1410.0, replace(TRAIN, supply_v=180.0)).binding == motor_limits.TOP
    assert short_time_envelope(1390.0, replace(TRAIN, supply_v=180.0)).binding != motor_limits.TOP
    gripping = replace(TRAIN, slip_torque_nm=math.nan)
    assert motor_limits.BELT not in short_time_envelope(speeds, gripping).limits_nm
    assert short_time_envelope(50.0, gripping).binding == motor_limits.DRIVE
    undriven = replace(gripping, drive_current_a=math.nan)
    assert motor_limits.DRIVE not in short_time_envelope(speeds, undriven).limits_nm
    assert short_time_envelope(50.0, undriven).binding == motor_limits.BRUSHES
    assert short_time_envelope(50.0, replace(undriven, rated_current_a=60.0)).binding == motor_limits.SUPPLY
    endless = replace(TRAIN, highest_motor_speed_rpm=math.nan)
    assert motor_limits.TOP not in short_time_envelope(speeds, endless).limits_nm
    missing = short_time_envelope(np.array([math.nan, 50.0]), TRAIN)
    assert list(missing.binding) == ["not known", motor_limits.BELT]
    assert np.isnan(missing.torque_nm[0])


@pytest.mark.parametrize("speed_rpm", [0.0, 300.0, 1000.0])
def test_without_end_the_motor_carries_what_its_own_heat_allows(speed_rpm):
    all_day_a = continuous_current_a(
        3 * speed_rpm,
        rated_current_a=6.0,
        rated_motor_speed_rpm=4000.0,
        standstill_share=0.4,
        form_factor=1.2,
        rated_form_factor=USUAL_FORM_FACTORS["smoothed"],
    )
    found = continuous_envelope(speed_rpm, TRAIN)
    assert float(found.limits_nm[motor_limits.HEAT]) == pytest.approx(at_the_spindle(float(all_day_a)))
    assert found.binding == motor_limits.HEAT
    assert set(found.limits_nm) == {*short_time_envelope(speed_rpm, TRAIN).limits_nm, motor_limits.HEAT}


def test_the_top_speed_is_the_motors_own_or_what_is_left_of_the_supply_over_the_ratio():
    light_a = (0.05 + 0.3 / (3 * 0.9)) / 0.288
    by_supply = (130 - 2 - 1.2 * light_a) / 0.288 / RPM / 3
    assert top_speed_rpm(replace(TRAIN, highest_motor_speed_rpm=math.nan)) == pytest.approx(by_supply)
    assert top_speed_rpm(TRAIN) == pytest.approx(min(by_supply, 1400))
    assert top_speed_rpm(replace(TRAIN, highest_motor_speed_rpm=3000.0)) == pytest.approx(1000)
    for ratio in (0, -1):
        with pytest.raises(RangeError, match="motor_turns_per_spindle_turn"):
            top_speed_rpm(replace(TRAIN, motor_turns_per_spindle_turn=ratio))


# A meter 2 % high with 3 rpm at standstill and readings that scatter about the line.
TRUE_RPM = np.array([100.0, 250.0, 400.0, 700.0, 1100.0, 1500.0])
OFF_RPM = np.array([0.8, -1.1, 0.6, 0.4, -1.2, 0.5])


def test_scale_and_zero_of_a_meter_have_the_intervals_of_a_linear_regression():
    shown = 1.02 * TRUE_RPM + 3 + OFF_RPM
    line = stats.linregress(TRUE_RPM, shown)
    times = stats.t.ppf(0.975, TRUE_RPM.size - 2)
    found = calibrate(TRUE_RPM, shown)
    assert found.meter_scale.value == pytest.approx(line.slope)
    assert found.meter_scale.interval == pytest.approx(
        (line.slope - times * line.stderr, line.slope + times * line.stderr)
    )
    assert found.zero_rpm.interval == pytest.approx(
        (line.intercept - times * line.intercept_stderr, line.intercept + times * line.intercept_stderr)
    )
    assert found.largest_residual_rpm == pytest.approx(
        max(abs(shown - line.slope * TRUE_RPM - line.intercept))
    )
    assert found.true_rpm(line.slope * 500 + line.intercept) == pytest.approx(500)
    assert found.error_share(500.0) == pytest.approx((line.slope * 500 + line.intercept) / 500 - 1)
    assert found.odd_speeds_rpm == ()
    assert found.mark_ratio is None


def test_a_display_with_steps_makes_the_line_no_surer_than_its_rounding():
    shown = 1.02 * TRUE_RPM + 3
    spread = math.sqrt(sum((TRUE_RPM - TRUE_RPM.mean()) ** 2))
    half = stats.t.ppf(0.975, TRUE_RPM.size - 2) * 10 / math.sqrt(12)
    found = calibrate(TRUE_RPM, shown, resolution_rpm=10)
    low, high = found.meter_scale.interval
    assert (high - low) / 2 == pytest.approx(half / spread)
    low, high = found.zero_rpm.interval
    assert (high - low) / 2 == pytest.approx(
        half * math.sqrt(1 / TRUE_RPM.size + (TRUE_RPM.mean() / spread) ** 2)
    )


@pytest.mark.parametrize(
    ("odd_rpm", "is_odd"), [(1.021, True), (1.019, False), (0.979, True), (0.981, False)]
)
def test_a_reading_is_odd_beyond_two_in_a_hundred_of_the_others(odd_rpm, is_odd):
    shown = TRUE_RPM.copy()
    shown[-1] *= odd_rpm
    found = calibrate(TRUE_RPM, shown)
    assert found.odd_speeds_rpm == ((1500.0,) if is_odd else ())
    words = " ".join(found.notes)
    assert ("pulses are missed" in words) == (is_odd and odd_rpm < 1)
    assert ("counted twice" in words) == (is_odd and odd_rpm > 1)


def test_two_steps_of_a_coarse_display_are_no_oddity():
    shown = TRUE_RPM.copy()
    shown[0] += 19
    assert calibrate(TRUE_RPM, shown, resolution_rpm=10).odd_speeds_rpm == ()
    shown[0] += 2
    assert calibrate(TRUE_RPM, shown, resolution_rpm=10).odd_speeds_rpm == (100.0,)


def test_with_five_speeds_none_is_set_aside_and_with_fewer_there_is_no_calibration():
    five = TRUE_RPM[:5].copy()
    shown = five.copy()
    shown[-1] *= 1.5
    assert calibrate(five, shown).odd_speeds_rpm == ()
    with pytest.raises(RangeError, match="there are 4"):
        calibrate(five[:4], shown[:4])
    with pytest.raises(RangeError, match="there are 4"):
        calibrate(five, [*five[:4], math.nan])
    with pytest.raises(RangeError, match="6 true speeds and 5 readings"):
        calibrate(TRUE_RPM, five)
    assert calibrate(
        [500, 600, 700, 800, 1000], [500, 600, 700, 800, 1000]
    ).meter_scale.value == pytest.approx(1)
    for speeds in ([501, 600, 700, 800, 1000], [0, 600, 700, 800, 1000]):
        with pytest.raises(RangeError, match="true speeds run from"):
            calibrate(speeds, speeds)


@pytest.mark.parametrize("scale", ["4/3", "1/2", "8", "1/8", "7/8"])
def test_a_wrong_count_of_marks_is_known_within_one_in_a_hundred(scale):
    ratio = Fraction(scale)
    for off in (0.9901, 1.0, 1.0099):
        assert wrong_mark_ratio(float(ratio) * off) == ratio
    assert wrong_mark_ratio(float(ratio) * 1.0101) != ratio
    assert wrong_mark_ratio(9.0) is None
    assert wrong_mark_ratio(1.0) is None
    assert wrong_mark_ratio(0.0) is None


def test_the_notes_say_what_is_wrong_and_nothing_else():
    assert calibrate(TRUE_RPM, TRUE_RPM, resolution_rpm=1).notes == ()
    assert "+4.0 rpm at standstill" in calibrate(TRUE_RPM, TRUE_RPM + 4).notes[0]
    assert "-4.0 rpm at standstill" in calibrate(TRUE_RPM, TRUE_RPM - 4).notes[0]
    assert "It reads +0.50 % off" in calibrate(TRUE_RPM, 1.005 * TRUE_RPM).notes[0]
    (marks,) = calibrate(TRUE_RPM, 1.5 * TRUE_RPM).notes
    assert marks.startswith(
        "It shows 3/2 of the true speed: 3 marks pass the pickup where the meter is set for 2."
    )


def log(time_s, speed_rpm):
    return SimpleNamespace(time_s=np.asarray(time_s, float), speed_rpm=np.asarray(speed_rpm, float))


def run_up(time_s):
    return 300 + 700 / (1 + np.exp(-(np.asarray(time_s) - 12)))


@pytest.mark.parametrize("late_s", [-0.8, 0.0, 1.3])
def test_two_meters_differ_by_mean_and_limits_of_agreement_as_reckoned_by_hand(late_s):
    time_s = np.arange(0, 30, 0.1)
    wobble = np.where(np.arange(time_s.size) % 2, 1.5, -1.5)
    found = compare_meters(log(time_s, run_up(time_s) + wobble), log(time_s, run_up(time_s - late_s) + 5))
    assert found.shift_s == pytest.approx(late_s, abs=0.02)
    n = found.pairs_compared
    assert n == pytest.approx(time_s.size - abs(late_s) / 0.1, abs=1)
    assert found.mean_difference_rpm.value == pytest.approx(5, abs=0.1)
    spread = 1.5 * math.sqrt(n / (n - 1))
    low, high = found.lowest_difference_rpm, found.highest_difference_rpm
    assert (low + high) / 2 == pytest.approx(found.mean_difference_rpm.value)
    assert (high - low) / 2 == pytest.approx(1.96 * spread, rel=0.02)
    low, high = found.mean_difference_rpm.interval
    assert (high - low) / 2 == pytest.approx(stats.t.ppf(0.975, n - 1) * spread / math.sqrt(n), rel=0.02)


@pytest.mark.parametrize(("first", "shared"), [(80, 20), (81, 19)])
def test_twenty_shared_readings_are_enough_to_compare_two_meters(first, shared):
    time_s = np.arange(100) * 0.1 + 10
    one, other = log(time_s, run_up(time_s)), log(time_s[first:], run_up(time_s[first:]))
    if shared >= 20:
        with pytest.raises(LogError, match="hardly changes"):
            compare_meters(one, log(time_s[first:], run_up(time_s[first:])))
        return
    with pytest.raises(LogError, match=f"share {shared} readings; at least 20"):
        compare_meters(one, other)


@pytest.mark.parametrize("change", [0.049, 0.051])
def test_a_run_whose_speed_changes_by_a_twentieth_can_be_compared(change):
    time_s = np.arange(0, 30, 0.1)
    speed = 1000 * (1 - change + change / (1 + np.exp(-3 * (time_s - 12))))
    if change > 0.05:
        assert compare_meters(
            log(time_s, speed), log(time_s, speed)
        ).mean_difference_rpm.value == pytest.approx(0, abs=0.1)
        return
    with pytest.raises(LogError, match="hardly changes"):
        compare_meters(log(time_s, speed), log(time_s, speed))


@pytest.mark.parametrize("lag_s", [0.2, 0.8])
@pytest.mark.parametrize("speed", [lambda t: 1000 - 40 * t, lambda t: 100 + 60 * t])
def test_a_lagging_meter_follows_a_slope_late_by_its_lag_once_it_has_settled(lag_s, speed):
    time_s = np.linspace(0, 10, 60)
    by_hand = speed(time_s) - (speed(1.0) - speed(0.0)) * lag_s * (1 - np.exp(-time_s / lag_s))
    assert shown_by_a_lagging_meter(time_s, speed, lag_s, first_s=0.0) == pytest.approx(by_hand, abs=1e-3)
    assert shown_by_a_lagging_meter(time_s, speed, 0, first_s=0.0) == pytest.approx(speed(time_s))
    rows = speed(np.arange(0, 5, 0.1))
    late = lagged_copy(rows, 0.1, lag_s)
    at = np.arange(0, 5, 0.1)
    assert late == pytest.approx(rows - (rows[1] - rows[0]) / 0.1 * lag_s * (1 - np.exp(-at / lag_s)))


@pytest.mark.parametrize("switched_s", [None, 3.75])
def test_a_step_without_noise_gives_back_level_change_lag_and_dead_time(switched_s):
    time_s = np.arange(0, 12, 0.05)
    shown = np.round(900 - 600 * (1 - np.exp(-np.maximum(time_s - 4, 0) / 0.6)), 1)
    found = fit_step(log(time_s, shown), switched_s=switched_s)
    assert found.lag_s.value == pytest.approx(0.6, rel=1e-3)
    assert found.begins_s.value == pytest.approx(4, abs=1e-3)
    assert found.before_rpm.value == pytest.approx(900, rel=1e-4)
    assert found.after_rpm.value == pytest.approx(300, rel=1e-3)
    for estimate, truth in (
        (found.lag_s, 0.6),
        (found.begins_s, 4),
        (found.before_rpm, 900),
        (found.after_rpm, 300),
    ):
        low, high = estimate.interval
        assert low < truth < high
        assert 0 < high - low < 0.01 * truth
    assert found.shown_rpm([0.0, 4.0, 4.6, 100.0]) == pytest.approx(
        [900, 900, 900 - 600 * (1 - math.exp(-1)), 300], rel=2e-3
    )
    assert (found.dead_time_s is None) == (switched_s is None)
    if switched_s is not None:
        assert found.dead_time_s.value == pytest.approx(0.25, abs=1e-3)
        width = [high - low for low, high in (found.dead_time_s.interval, found.begins_s.interval)]
        assert width[0] == pytest.approx(width[1])
    assert found.notes == ()
    assert found.time_s.size == found.weights.size == found.residuals_rpm.size == time_s.size
    assert abs(found.residuals_rpm).max() < 1


def test_readings_that_lie_on_the_curve_to_the_last_bit_are_fitted_without_a_murmur():
    time_s = np.arange(0, 12, 0.05)
    shown = 900 - 600 * (1 - np.exp(-np.maximum(time_s - 4, 0) / 0.6))
    assert fit_step(log(time_s, shown)).lag_s.value == pytest.approx(0.6)


def test_a_residual_is_the_reading_less_the_fit_and_a_wild_one_weighs_nothing():
    time_s = np.arange(0, 12, 0.05)
    shown = np.round(900 - 600 * (1 - np.exp(-np.maximum(time_s - 4, 0) / 0.6)))
    shown[20] += 200
    found = fit_step(log(time_s, shown))
    assert found.residuals_rpm[20] == pytest.approx(200, abs=2)
    assert found.weights[20] == pytest.approx(0, abs=1e-6)
    assert np.median(found.weights) > 0.9


@pytest.mark.parametrize("dead_s", [0.0, 0.4])
def test_lag_dead_time_and_scale_come_back_from_a_run_beside_the_encoder(dead_s):
    time_s = np.arange(0, 20, 0.02)
    true = np.where(time_s < 5, 1000.0, 1000 * np.exp(-np.maximum(time_s - 5, 0) / 2.5))
    late = 1.03 * shown_by_a_lagging_meter(
        time_s - dead_s, lambda at: np.interp(at, time_s, true), 0.7, first_s=0.0
    )
    found = fit_lag_beside(log(time_s[:700:5], late[:700:5]), log(time_s, true))
    assert found.lag_s.value == pytest.approx(0.7, rel=0.01)
    assert found.dead_time_s.value == pytest.approx(dead_s, abs=0.01)
    assert found.meter_scale.value == pytest.approx(1.03, rel=1e-3)
    for estimate, truth in ((found.lag_s, 0.7), (found.dead_time_s, dead_s), (found.meter_scale, 1.03)):
        low, high = estimate.interval
        assert low - 1e-3 < truth < high + 1e-3
        assert high - low < 0.1
    assert abs(found.residuals_rpm).max() < 2


def test_a_held_number_counts_once_and_is_dated_to_the_middle_of_the_time_in_which_it_came():
    time_s = np.arange(0, 10, 0.1)
    held = np.repeat(np.r_[np.full(4, 1000), np.arange(950, 450, -50), np.full(6, 500)], 5)
    found = fresh_readings(log(time_s, held))
    changes = np.flatnonzero(np.diff(held)) + 1
    steady = [n for n in range(held.size) if n < changes[0] or n >= changes[-1]]
    counted = sorted({*changes, *steady})
    assert found.shown_rpm == pytest.approx(held[counted])
    assert found.time_s[1:] == pytest.approx(time_s[counted][1:] - 0.05)
    assert found.time_doubt_s[1:] == pytest.approx(0.1 / math.sqrt(12))
    assert found.step_rpm == 50
    assert f"{held.size} rows hold {len(counted)} readings" in found.notes[0]
    moving = found.turning_during(2.0, 5.0)
    assert moving.time_s.min() > 2
    assert moving.time_s.max() < 5
    assert (
        moving.shown_rpm.size
        == moving.time_doubt_s.size
        == int(((found.time_s > 2) & (found.time_s < 5)).sum())
    )


def test_a_display_that_is_always_fresh_keeps_every_row_and_doubts_times_by_how_they_are_written():
    time_s = np.arange(0, 5, 0.1)
    found = fresh_readings(log(time_s, 1000 - 37 * np.arange(time_s.size)))
    assert found.shown_rpm.size == time_s.size
    assert found.time_s == pytest.approx(time_s)
    assert found.time_doubt_s == pytest.approx(0.1 / math.sqrt(12))
    assert found.notes == ()
    nine = log(time_s[:9], np.arange(9))
    with pytest.raises(LogError, match="has 9 readings; at least 10"):
        fresh_readings(nine)
    with pytest.raises(LogError, match="has 9 readings"):
        fresh_readings(log(time_s[:10], [*range(9), math.nan]))
    assert fresh_readings(log(time_s[:10], np.arange(10))).shown_rpm.size == 10
