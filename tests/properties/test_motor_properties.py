"""What must hold for every motor, drive and belt: the envelope, its limits, heat, trim and knobs."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from machinelab.errors import RangeError
from machinelab.spindle.drive_train import DriveTrain
from machinelab.spindle.motor import armature_current_a, no_load_speed_rpm, shaft_power_w
from machinelab.spindle.motor_heat import continuous_current_a, cooling_share
from machinelab.spindle.motor_limits import (
    DRIVE,
    HEAT,
    SUPPLY,
    TOP,
    continuous_envelope,
    short_time_envelope,
    top_speed_rpm,
)
from machinelab.spindle.motor_overload import minutes_to_limit
from machinelab.spindle.motor_regulation import largest_compensation_ohm, wiper_share
from machinelab.spindle.motor_temperature import hot_resistance_ohm, winding_temperature_degc
from machinelab.spindle.ratio_choice import (
    ratio_for_top_speed,
    reflected_inertia_kg_m2,
    step_change_rpm,
    what_ratio_gives,
)

# Each case works a whole run, box or card out.
pytestmark = pytest.mark.slow

# SciPy is loaded at the first call, which must not count as slow.
at_ease = settings(deadline=None)
SPEEDS = np.linspace(0, 4000, 81)


def between(low, high):
    return st.floats(low, high, allow_nan=False)


trains = st.builds(
    DriveTrain,
    motor_turns_per_spindle_turn=between(0.8, 8),
    supply_v=between(40, 240),
    back_emf_v_s_per_rad=between(0.08, 1.0),
    armature_resistance_ohm=between(0.2, 6),
    rated_current_a=between(1, 15),
    rated_motor_speed_rpm=between(1000, 5000),
    brush_drop_v=between(0, 3),
    no_load_torque_nm=between(0, 0.4),
    highest_motor_speed_rpm=st.one_of(st.just(float("nan")), between(1500, 6000)),
    drive_current_a=st.one_of(st.just(float("nan")), between(1, 30)),
    form_factor=between(1, 1.6),
    standstill_share=between(0.2, 1),
    belt_efficiency=between(0.85, 1),
    slip_torque_nm=st.one_of(st.just(float("nan")), between(0.5, 20)),
    spindle_drag_nm=between(0, 0.5),
)


@at_ease
@given(trains)
def test_the_envelope_never_lies_above_the_armature_line(train):
    found = short_time_envelope(SPEEDS, train)
    assert np.all(found.torque_nm <= found.limits_nm[SUPPLY] + 1e-12)
    assert np.all(found.torque_nm >= 0)


@at_ease
@given(trains)
def test_work_without_end_never_has_more_torque_than_a_short_time(train):
    assert np.all(
        continuous_envelope(SPEEDS, train).torque_nm <= short_time_envelope(SPEEDS, train).torque_nm + 1e-12
    )


@at_ease
@given(trains)
def test_the_short_time_envelope_falls_with_speed(train):
    assert np.all(np.diff(short_time_envelope(SPEEDS, train).torque_nm) <= 1e-9)


@at_ease
@given(trains, between(0, 100))
def test_more_volts_never_give_less_torque(train, more_v):
    stronger = replace(train, supply_v=train.supply_v + more_v)
    gained = continuous_envelope(SPEEDS, stronger).torque_nm - continuous_envelope(SPEEDS, train).torque_nm
    assert np.all(gained >= -1e-9)


@at_ease
@given(trains)
def test_the_limit_named_is_the_lowest_and_the_envelope_is_that_limit(train):
    found = continuous_envelope(SPEEDS, train)
    for place, name in enumerate(found.binding):
        lowest = min(limit[place] for limit in found.limits_nm.values())
        assert found.limits_nm[str(name)][place] == lowest == found.torque_nm[place]


@at_ease
@given(trains)
def test_nothing_is_left_above_the_top_speed(train):
    top = top_speed_rpm(train)
    assume(top > 1)
    assert continuous_envelope(1.001 * top, train).torque_nm == pytest.approx(0, abs=1e-9)
    if str(short_time_envelope(1.001 * top, train).binding) == TOP:
        assert top == pytest.approx(train.highest_motor_speed_rpm / train.motor_turns_per_spindle_turn)


@at_ease
@given(trains, between(1.1, 4))
def test_a_larger_ratio_scales_torque_up_and_speed_down_and_leaves_the_power(train, times):
    plain = replace(train, spindle_drag_nm=0.0)
    slow = replace(plain, motor_turns_per_spindle_turn=times * train.motor_turns_per_spindle_turn)
    as_is, geared = continuous_envelope(SPEEDS, plain), continuous_envelope(SPEEDS / times, slow)
    assert geared.torque_nm == pytest.approx(times * as_is.torque_nm, rel=1e-9, abs=1e-9)
    assert geared.power_w == pytest.approx(as_is.power_w, rel=1e-9, abs=1e-9)


@at_ease
@given(trains, between(1.2, 3))
def test_the_slow_step_gives_no_less_up_to_where_the_belt_is_changed(train, times):
    train = replace(train, spindle_drag_nm=0.0)
    slow, fast = times * train.motor_turns_per_spindle_turn, train.motor_turns_per_spindle_turn
    assume(top_speed_rpm(replace(train, motor_turns_per_spindle_turn=slow)) > 50)
    change = step_change_rpm(train, slow_ratio=slow, fast_ratio=fast)
    below = np.linspace(0, 0.999 * change, 30)
    by_slow = what_ratio_gives(train, motor_turns_per_spindle_turn=slow, speed_rpm=below)
    by_fast = what_ratio_gives(train, motor_turns_per_spindle_turn=fast, speed_rpm=below)
    assert np.all(by_slow.torque_nm >= by_fast.torque_nm - 1e-6)


def test_steps_named_the_wrong_way_round_are_refused_in_words():
    train = DriveTrain(3, 130, 0.288, 1.2, 6, 4000)
    with pytest.raises(RangeError, match="Exchange them"):
        step_change_rpm(train, slow_ratio=2, fast_ratio=4)


def test_a_limit_that_is_not_known_is_left_out_and_one_that_is_binds():
    train = DriveTrain(3, 130, 0.288, 1.2, 6, 4000)
    assert DRIVE not in short_time_envelope(100, train).limits_nm
    assert str(short_time_envelope(100, replace(train, drive_current_a=7.0)).binding) == DRIVE
    assert str(continuous_envelope(100, replace(train, drive_current_a=7.0)).binding) == HEAT
    assert str(continuous_envelope(100, replace(train, drive_current_a=7.0, slip_torque_nm=0.2)).binding) == (
        "the belt slips"
    )


def test_a_missing_speed_has_a_missing_torque_and_no_limit():
    found = continuous_envelope(np.array([100.0, np.nan]), DriveTrain(3, 130, 0.288, 1.2, 6, 4000))
    assert np.isnan(found.torque_nm).tolist() == [False, True]
    assert found.binding.tolist() == [HEAT, "not known"]


@at_ease
@given(trains, between(0, 1))
def test_no_load_speed_is_where_the_armature_takes_just_the_no_load_current(train, no_load_a):
    circuit = {
        "supply_v": train.supply_v,
        "brush_drop_v": train.brush_drop_v,
        "back_emf_v_s_per_rad": train.back_emf_v_s_per_rad,
        "armature_resistance_ohm": train.armature_resistance_ohm,
    }
    speed = no_load_speed_rpm(no_load_a, **circuit)
    assert armature_current_a(speed, **circuit) == pytest.approx(no_load_a, abs=1e-6)


@at_ease
@given(between(40, 240), between(0.08, 1), between(0.2, 6))
def test_peak_power_of_the_bare_line_is_at_half_speed_and_half_efficiency(supply_v, back_emf, resistance):
    """Textbook: torque falls in a straight line, so power is greatest in its middle."""
    train = DriveTrain(1, supply_v, back_emf, resistance, 1e6, 1e9, brush_drop_v=0, belt_efficiency=1)
    top = top_speed_rpm(train)
    speeds = np.linspace(0, top, 2001)
    torque = short_time_envelope(speeds, train).limits_nm[SUPPLY]
    power = shaft_power_w(torque, speed_rpm=speeds)
    best = int(np.argmax(power))
    assert speeds[best] == pytest.approx(top / 2, rel=1e-3)
    assert power[best] / (supply_v * torque[best] / back_emf) == pytest.approx(0.5, rel=2e-3)


@at_ease
@given(between(0.2, 1), between(1000, 5000))
def test_cooling_grows_with_speed_up_to_the_rated_one(standstill, rated):
    shares = cooling_share(
        np.linspace(0, 2 * rated, 50), rated_motor_speed_rpm=rated, standstill_share=standstill
    )
    assert np.all(np.diff(shares) >= 0)
    assert shares[0] == pytest.approx(standstill)
    assert shares[-1] == 1


@pytest.mark.parametrize("standstill", [0.25, 0.30, 0.40])
def test_a_tenth_of_the_speed_carries_55_to_70_percent_of_the_torque(standstill):
    """The usual range for motors with their own fan; from memory."""
    carried = continuous_current_a(
        400,
        rated_current_a=1,
        rated_motor_speed_rpm=4000,
        standstill_share=standstill,
        form_factor=1.05,
        rated_form_factor=1.05,
    )
    assert 0.55 <= round(float(carried), 2) <= 0.70


@at_ease
@given(between(0.1, 20), between(0.1, 20), between(0.01, 10))
def test_more_current_never_lasts_longer(continuous, current, more):
    first = minutes_to_limit(current, continuous_current_a=continuous)
    assert minutes_to_limit(current + more, continuous_current_a=continuous) <= first
    assert np.isinf(first) == (current <= continuous) or first > 500


@at_ease
@given(between(0.2, 6), between(-20, 140))
def test_a_winding_is_its_own_thermometer(resistance, degrees):
    hot = hot_resistance_ohm(resistance, winding_degc=degrees)
    assert winding_temperature_degc(hot, resistance_20_ohm=resistance) == pytest.approx(degrees, abs=1e-9)


@at_ease
@given(between(0.3, 4), between(-10, 30), between(0.5, 1.5), between(0.1, 0.9))
def test_a_drive_runs_away_just_when_its_trim_passes_the_cold_resistance(
    resistance, degrees, share, back_emf
):
    """Eigenvalues of armature current and speed with V = Vset + k I, inductance and a bare inertia."""
    limit = largest_compensation_ohm(resistance, coldest_degc=degrees)
    assume(abs(share - 1) > 1e-3)
    inductance, inertia = 5e-3, 1e-3
    cold = hot_resistance_ohm(resistance, winding_degc=degrees)
    loop = np.array(
        [[(share * limit - cold) / inductance, -back_emf / inductance], [back_emf / inertia, 0.0]]
    )
    runs_away = np.max(np.linalg.eigvals(loop).real) > 0
    assert runs_away == (share > 1)


@at_ease
@given(between(1e3, 2e4), between(0, 2e3), between(1e4, 1e5))
def test_a_loaded_knob_rises_from_nothing_and_never_gives_more_than_unloaded(knob, fine, load):
    turned = np.linspace(0, 1, 40)
    handed_on = wiper_share(turned, knob_ohm=knob, fine_ohm=fine, load_ohm=load)
    assert handed_on[0] == 0
    assert np.all(np.diff(handed_on) > 0)
    assert np.all(handed_on <= turned + 1e-12)


@at_ease
@given(between(1000, 6000), between(200, 3000))
def test_the_ratio_for_a_top_speed_gives_that_top_speed(motor_rpm, wanted_rpm):
    ratio = ratio_for_top_speed(motor_rpm, top_speed_rpm=wanted_rpm)
    train = DriveTrain(ratio, 1e6, 0.3, 1.0, 6, 4000, highest_motor_speed_rpm=motor_rpm)
    assert top_speed_rpm(train) == pytest.approx(wanted_rpm)


def test_reflected_inertia_goes_with_the_square_of_the_ratio():
    light = reflected_inertia_kg_m2(1e-3, motor_turns_per_spindle_turn=1, spindle_inertia_kg_m2=0.0)
    assert reflected_inertia_kg_m2(1e-3, motor_turns_per_spindle_turn=3, spindle_inertia_kg_m2=0.0) == (
        pytest.approx(9 * light)
    )
