"""Bench tests of the motor: what they find in readings whose truth is known, and what they refuse."""

import numpy as np
import pytest

from machinelab.errors import RangeError
from machinelab.spindle.back_emf import compare_back_emf, generator_test
from machinelab.spindle.motor_bench import locked_shaft, ohmmeter, running_test
from machinelab.spindle.motor_no_load import no_load_drag

RAD_S = np.pi / 30
TRUE_OHM, TRUE_DROP_V, TRUE_BACK_EMF = 1.2, 2.0, 0.288
CURRENTS = np.array([0.6, 1.5, 3.0, -0.6, -1.5, -3.0])
SPEEDS = np.array([-2000.0, -1300, -600, 500, 1000, 1500, 2000, 2500])


def locked_readings(chance, angles=8):
    """Volts at several angles: each has its own resistance under the brushes, each reading its noise."""
    angle = np.repeat(np.linspace(0, 315, angles), len(CURRENTS))
    current = np.tile(CURRENTS, angles)
    at_angle = np.repeat(chance.normal(0, 0.06, angles), len(CURRENTS))
    volts = TRUE_DROP_V * np.sign(current) + (TRUE_OHM + at_angle) * current
    return volts + chance.normal(0, 0.03, len(volts)), current, angle


def running_readings(chance, noise_v=0.1):
    speed = np.array([1000, 2000, 3000, 4000, 900, 1900, 2800, 3700.0])
    current = np.array([0.4, 0.45, 0.5, 0.55, 4.0, 5.0, 6.0, 5.5])
    volts = TRUE_DROP_V + TRUE_BACK_EMF * speed * RAD_S + TRUE_OHM * current
    return speed, volts + chance.normal(0, noise_v, len(speed)), current


def holds(estimate, truth):
    return estimate.interval[0] <= truth <= estimate.interval[1]


def test_locked_shaft_intervals_hold_the_truth_95_times_in_100():
    runs = [locked_shaft(v, i, angle_deg=a) for v, i, a in map(locked_readings, chances(400))]
    held = [holds(run.resistance, TRUE_OHM) for run in runs]
    assert 0.92 <= np.mean(held) <= 0.98
    assert 0.92 <= np.mean([holds(run.brush_drop, TRUE_DROP_V) for run in runs]) <= 0.98


def test_running_intervals_hold_the_truth_95_times_in_100():
    runs = [running_test(n, voltage_v=v, current_a=i) for n, v, i in map(running_readings, chances(400))]
    assert 0.92 <= np.mean([holds(run.back_emf, TRUE_BACK_EMF) for run in runs]) <= 0.98
    assert 0.92 <= np.mean([holds(run.resistance, TRUE_OHM) for run in runs]) <= 0.98
    assert 0.92 <= np.mean([holds(run.brush_drop, TRUE_DROP_V) for run in runs]) <= 0.98


def chances(count):
    return [np.random.default_rng(seed) for seed in range(count)]


def test_locked_shaft_shows_how_the_resistance_changes_with_the_angle():
    volts, current, angle = locked_readings(np.random.default_rng(3))
    found = locked_shaft(volts, current, angle_deg=angle)
    assert len(found.by_angle_ohm) == 8
    assert np.std(found.by_angle_ohm) == pytest.approx(0.06, rel=0.8)
    assert found.warnings == ()


def test_current_fed_one_way_only_is_told():
    volts, current, angle = locked_readings(np.random.default_rng(3))
    forward = current > 0
    found = locked_shaft(volts[forward], current[forward], angle_deg=angle[forward])
    assert "one way only" in found.warnings[0]


def test_readings_that_lack_a_figure_or_carry_no_current_are_left_out():
    volts, current, angle = locked_readings(np.random.default_rng(3))
    spoilt = [np.append(column, extra) for column, extra in ((volts, np.nan), (current, 3.0), (angle, 0.0))]
    spoilt = [np.append(column, extra) for column, extra in zip(spoilt, (0.1, 0.0, 45.0), strict=True)]
    plain = locked_shaft(volts, current, angle_deg=angle)
    assert locked_shaft(spoilt[0], spoilt[1], angle_deg=spoilt[2]).resistance == plain.resistance


@pytest.mark.parametrize(
    ("kept", "words"),
    [(slice(0, 30), "5 angles"), (np.tile([True, True, False] * 2, 8), "2 sizes of current")],
)
def test_a_locked_shaft_test_with_too_little_in_it_is_refused(kept, words):
    volts, current, angle = locked_readings(np.random.default_rng(3))
    with pytest.raises(RangeError, match=words):
        locked_shaft(volts[kept], current[kept], angle_deg=angle[kept])


def test_columns_of_unequal_length_are_refused():
    with pytest.raises(RangeError, match="voltage_v 2, current_a 3"):
        locked_shaft([1, 2], [1, 2, 3], angle_deg=[0, 0, 0])


def test_points_without_load_cannot_tell_the_constants_apart():
    speed = np.array([500, 1000, 1500, 2000, 3000, 4000.0])
    current = 0.35 + 5e-5 * speed
    volts = TRUE_DROP_V + TRUE_BACK_EMF * speed * RAD_S + TRUE_OHM * current
    with pytest.raises(RangeError, match="Add points under load"):
        running_test(speed, voltage_v=volts, current_a=current)


def test_points_at_one_speed_cannot_tell_the_constants_apart():
    current = np.array([0.5, 1, 2, 3, 4, 5])
    with pytest.raises(RangeError, match="at other speeds"):
        running_test(np.full(6, 2000.0), voltage_v=62 + 1.2 * current, current_a=current)


def test_points_that_never_moved_are_refused_without_a_warning():
    with pytest.raises(RangeError, match="cannot tell"):
        running_test(np.zeros(6), voltage_v=np.arange(6.0), current_a=np.arange(6.0))


def test_exact_running_readings_give_the_constants_exactly():
    speed, volts, current = running_readings(np.random.default_rng(0), noise_v=0.0)
    found = running_test(speed, voltage_v=volts, current_a=current)
    truth = (TRUE_BACK_EMF, TRUE_OHM, TRUE_DROP_V)
    assert (found.back_emf.value, found.resistance.value, found.brush_drop.value) == pytest.approx(truth)
    assert found.condition_number < 30
    assert np.max(np.abs(found.residuals_v)) < 1e-9


def test_steady_ohmmeter_readings_are_an_upper_bound_and_scattered_ones_no_method():
    assert not ohmmeter([1.30, 1.32, 1.28, 1.35]).film_dominated
    assert "upper bound" in ohmmeter([1.30, 1.32, 1.28, 1.35]).meaning
    assert ohmmeter([1.3, 2.4, 1.1, 1.9]).film_dominated
    with pytest.raises(RangeError, match="2 readings of the ohmmeter"):
        ohmmeter([1.3, 1.4])


def test_a_straight_generator_line_is_called_straight_and_its_interval_holds():
    held, straight = [], []
    for chance in chances(300):
        volts = TRUE_BACK_EMF * SPEEDS * RAD_S + chance.normal(0, 0.15, len(SPEEDS))
        found = generator_test(SPEEDS, voltage_v=volts)
        held.append(holds(found.back_emf, TRUE_BACK_EMF))
        straight.append(found.straight)
    assert 0.92 <= np.mean(held) <= 0.98
    assert np.mean(straight) >= 0.90, "two tests, each of them wrong five times in a hundred at most"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda volts: volts + 1.5, "one of the meters is off"),
        (lambda volts: volts * (1 - 0.04 * np.abs(SPEEDS) / 2500), "bends by"),
    ],
)
def test_an_offset_or_a_bend_of_the_generator_line_is_told(change, words):
    clean = TRUE_BACK_EMF * SPEEDS * RAD_S
    noise = np.random.default_rng(5).normal(0, 0.05, len(SPEEDS))
    found = generator_test(SPEEDS, voltage_v=change(clean) + noise)
    assert not found.straight
    assert any(words in warning for warning in found.warnings)


def test_a_generator_test_one_way_only_is_told_and_one_with_four_speeds_refused():
    forward = SPEEDS[SPEEDS > 0]
    found = generator_test(forward, voltage_v=TRUE_BACK_EMF * forward * RAD_S)
    assert any("other way" in warning for warning in found.warnings)
    with pytest.raises(RangeError, match="4 speeds"):
        generator_test(SPEEDS[:4], voltage_v=TRUE_BACK_EMF * SPEEDS[:4] * RAD_S)


@pytest.mark.parametrize(
    ("apart", "agree", "words"),
    [(0.02, True, "agree"), (0.04, False, "repeat both"), (-0.07, False, "off neutral")],
)
def test_two_ways_to_the_back_emf_agree_within_three_percent(apart, agree, words):
    found = compare_back_emf(TRUE_BACK_EMF, other_back_emf_v_s_per_rad=TRUE_BACK_EMF * (1 + apart))
    assert found.agree is agree
    assert words in found.meaning


def test_the_drag_of_a_motor_without_load_is_taken_apart():
    speed = np.array([500.0, 1000, 1500, 2000, 3000, 4000])
    share = speed / 4000
    amperes = (0.09 + 0.03 * share + 0.02 * share**2) / TRUE_BACK_EMF
    found = no_load_drag(speed, no_load_current_a=amperes, back_emf_v_s_per_rad=TRUE_BACK_EMF)
    parts = (found.friction_nm.value, found.viscous_nm.value, found.fan_nm.value)
    assert parts == pytest.approx((0.09, 0.03, 0.02))
    assert found.torque_nm(4000) == pytest.approx(0.14)
