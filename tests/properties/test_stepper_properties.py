"""The stepper by limits, inverses and ordering: what must hold for any motor, driver and screw."""

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from machinelab.errors import RangeError
from machinelab.leadscrew.screw_friction import holds_itself, lowering_torque_nm, screw_torque_nm
from machinelab.leadscrew.stepper_rate import (
    lowest_limit,
    spindle_speed_of_stepper_rpm,
    step_rate_hz,
    step_speed_limit_rpm,
    stepper_speed_rpm,
)
from machinelab.leadscrew.stepper_resonance import hunting_bands, hunting_growth_per_s, low_band
from machinelab.leadscrew.stepper_stiffness import rotor_lag_deg
from machinelab.leadscrew.stepper_torque import (
    available_torque_nm,
    in_phase_corner_rpm,
    pull_out_bound_nm,
    pull_out_torque_nm,
)

windings = st.fixed_dictionaries(
    {
        "full_steps": st.sampled_from([200, 400]),
        "torque_constant_nm_per_a": st.floats(0.1, 2.0),
        "phase_current_a": st.floats(0.5, 8.0),
        "driver_supply_v": st.floats(12.0, 100.0),
        "inductance_h": st.floats(5e-4, 1e-2),
        "winding_resistance_ohm": st.floats(0.2, 4.0),
    }
)
speeds = st.floats(0.0, 5000.0)
leads = st.fractions(Fraction(1, 5), 25, max_denominator=500)
screws = st.fixed_dictionaries(
    {
        "screw_travel_mm": st.floats(1.0, 8.0),
        "mean_diameter_mm": st.floats(8.0, 40.0),
        "screw_friction": st.floats(0.0, 0.4),
        "flank_angle_deg": st.floats(0.0, 30.0),
    }
)
# Rounding of the sums of squares on the way.
ROUNDING_NM = 1e-9


@given(windings, speeds)
def test_the_answer_never_passes_the_bound(winding, rpm):
    assert pull_out_torque_nm(rpm, **winding) <= pull_out_bound_nm(rpm, **winding) + ROUNDING_NM


@given(windings)
def test_up_to_the_corner_the_torque_is_that_of_standstill(winding):
    corner = float(in_phase_corner_rpm(**winding))
    low = winding["torque_constant_nm_per_a"] * winding["phase_current_a"]
    if corner > 0:
        assert pull_out_torque_nm(0.999 * corner, **winding) == pytest.approx(low, rel=1e-9)
    else:
        assert pull_out_torque_nm(0.0, **winding) < low * (1 + 1e-9)


@given(windings)
def test_the_torque_falls_with_speed_and_never_rises_again(winding):
    curve = pull_out_torque_nm(np.linspace(0, 6000, 400), **winding)
    assert np.all(np.diff(curve) <= ROUNDING_NM)


@given(windings, speeds, st.floats(1.0, 3.0))
def test_more_volts_or_more_current_never_take_torque_away(winding, rpm, times):
    before = pull_out_torque_nm(rpm, **winding)
    for name in ("driver_supply_v", "phase_current_a"):
        assert pull_out_torque_nm(rpm, **winding | {name: times * winding[name]}) >= before - ROUNDING_NM


@given(windings, st.floats(1.05, 3.0))
def test_at_high_speed_answer_and_bound_are_one_where_the_current_allows(winding, times):
    # The current ahead of the rotor tends to K / (N L); the driver must be set to more than that.
    teeth = winding["full_steps"] / 4
    ahead_a = winding["torque_constant_nm_per_a"] / (teeth * winding["inductance_h"])
    generous = winding | {"phase_current_a": times * ahead_a}
    far = 40 * max(float(in_phase_corner_rpm(**generous)), 100.0)
    assert pull_out_torque_nm(far, **generous) == pytest.approx(pull_out_bound_nm(far, **generous), rel=1e-6)


@given(windings)
def test_a_driver_set_below_that_current_has_no_torque_left_in_the_end(winding):
    teeth = winding["full_steps"] / 4
    ahead_a = winding["torque_constant_nm_per_a"] / (teeth * winding["inductance_h"])
    starved = winding | {"phase_current_a": 0.5 * ahead_a}
    assert pull_out_torque_nm(1e6, **starved) == 0


@given(windings)
def test_an_array_of_speeds_gives_each_speed_its_own_torque(winding):
    rpm = np.array([0.0, 30.0, 300.0, 900.0, 4000.0, np.nan])
    together = pull_out_torque_nm(rpm, **winding)
    assert np.isnan(together[-1])
    assert together[:-1] == pytest.approx([float(pull_out_torque_nm(one, **winding)) for one in rpm[:-1]])
    assert pull_out_torque_nm(-rpm[:-1], **winding) == pytest.approx(together[:-1])


@given(st.floats(0, 5), st.floats(0, 1), st.floats(0, 1e-3), speeds)
def test_losses_only_take_away_and_nothing_goes_below_nothing(made, detent, drag, rpm):
    left = available_torque_nm(made, stepper_speed_rpm=rpm, detent_torque_nm=detent, iron_drag_nm_s=drag)
    assert 0 <= left <= made


@given(leads, leads, st.fractions(100, 50_000, max_denominator=20), st.floats(1.0, 1e6))
def test_the_speed_at_a_limit_asks_just_that_many_pulses(thread, screw, steps, rate):
    rpm = step_speed_limit_rpm(rate, thread, screw, steps)
    assert step_rate_hz(rpm, thread, screw, steps) == pytest.approx(rate)
    assert step_rate_hz(-rpm, -thread, screw, steps) == pytest.approx(rate)


@given(leads, leads, st.fractions(Fraction(1, 5), 5, max_denominator=60), st.floats(1.0, 3000.0))
def test_spindle_and_stepper_speeds_are_each_others_reverse(thread, screw, gearing, rpm):
    there = stepper_speed_rpm(rpm, thread, screw, gearing)
    assert spindle_speed_of_stepper_rpm(there, thread, screw, gearing) == pytest.approx(rpm)


@given(st.dictionaries(st.text(max_size=5), st.floats(0, 1e4) | st.just(math.nan), max_size=6))
def test_the_lowest_limit_is_below_all_that_are_known(limits):
    found = lowest_limit(limits)
    known = [limit for limit in limits.values() if not math.isnan(limit)]
    assert all(found.speed_rpm <= limit for limit in known)
    assert math.isnan(found.speed_rpm) == (not known)
    assert not known or limits[found.set_by] == found.speed_rpm


@pytest.mark.parametrize("limits", [{"pulses": -1.0}, [3.0], None])
def test_limits_that_are_none_are_refused(limits):
    with pytest.raises(RangeError):
        lowest_limit(limits)


@given(screws, st.floats(1.0, 5000.0))
def test_friction_alone_tells_driving_from_lowering(screw, force):
    work_nm = force * screw["screw_travel_mm"] / 2000 / math.pi
    driving, lowering = screw_torque_nm(force, **screw), lowering_torque_nm(force, **screw)
    assert driving >= work_nm * (1 - 1e-9)
    assert lowering >= -work_nm * (1 + 1e-9)
    assert holds_itself(**screw) == (lowering > 0)
    smooth = screw | {"screw_friction": 0.0}
    assert screw_torque_nm(force, **smooth) == pytest.approx(work_nm)
    assert lowering_torque_nm(force, **smooth) == pytest.approx(-work_nm)


def test_a_screw_that_would_jam_is_refused():
    with pytest.raises(RangeError, match="jams"):
        screw_torque_nm(100, screw_travel_mm=50, mean_diameter_mm=10, screw_friction=0.7, flank_angle_deg=15)


def test_beyond_its_peak_torque_a_rotor_has_no_lag():
    assert math.isnan(rotor_lag_deg(1.001, peak_torque_nm=1.0, full_steps=200))
    assert rotor_lag_deg(1.0, peak_torque_nm=1.0, full_steps=200) == pytest.approx(1.8)
    assert rotor_lag_deg(1.0, peak_torque_nm=1.0, full_steps=400) == pytest.approx(0.9)


def test_hunting_is_left_open_where_the_volts_do_not_carry_the_load():
    drive = {
        "full_steps": 200,
        "torque_constant_nm_per_a": 0.48,
        "driver_supply_v": 36,
        "inductance_h": 3.2e-3,
        "winding_resistance_ohm": 1.13,
        "moved_inertia_kg_m2": 7.8e-5,
        "iron_drag_nm_s": 1e-3,
    }
    growth = hunting_growth_per_s([100.0, 2000.0, np.nan], load_at_motor_nm=1.0, **drive)
    assert np.isfinite(growth[0])
    assert np.isnan(growth[1:]).all()
    assert hunting_growth_per_s(300.0, load_at_motor_nm=0.2, **drive) > 0
    damped = drive | {"iron_drag_nm_s": 2e-2}
    assert hunting_growth_per_s(300.0, load_at_motor_nm=0.2, **damped) < 0


@pytest.mark.slow
def test_a_swing_that_is_followed_in_time_grows_as_the_eigenvalue_says():
    """The equations of winding and rotor integrated as they are, not made linear, from a small push."""
    from scipy.integrate import solve_ivp

    k, volts, henry, ohm, inertia, drag, load, teeth = 0.48, 36.0, 3.2e-3, 1.13, 7.8e-5, 1e-3, 0.2, 50
    w0 = 500 * math.pi / 30

    def change(_, state):
        ahead, in_phase, w, phi = state
        return (
            (-volts * math.sin(phi) - ohm * ahead + teeth * w * henry * in_phase) / henry,
            (volts * math.cos(phi) - ohm * in_phase - teeth * w * henry * ahead - k * w) / henry,
            (k * in_phase - drag * w - load) / inertia,
            teeth * (w0 - w),
        )

    from scipy.optimize import fsolve

    in_phase = (load + drag * w0) / k
    rest = fsolve(lambda x: np.array(change(0, (x[0], in_phase, w0, x[1])))[:2], [-2.0, 0.5])
    start = [rest[0], in_phase, w0 * (1 + 1e-6), rest[1]]
    run = solve_ivp(change, (0, 0.5), start, rtol=1e-10, atol=1e-13, max_step=1e-4, dense_output=True)
    swing = np.abs(run.y[2] / w0 - 1)
    early, late = (swing[(run.t > a) & (run.t < a + 0.05)].max() for a in (0.25, 0.45))
    growth = hunting_growth_per_s(
        500.0,
        full_steps=4 * teeth,
        torque_constant_nm_per_a=k,
        driver_supply_v=volts,
        inductance_h=henry,
        winding_resistance_ohm=ohm,
        moved_inertia_kg_m2=inertia,
        iron_drag_nm_s=drag,
        load_at_motor_nm=load,
    )
    assert growth > 0
    assert math.log(late / early) / 0.2 == pytest.approx(float(growth), rel=0.05)


def test_bands_are_read_off_the_curve_and_a_missing_point_ends_one():
    growth = [1.0, 1.0, -1.0, np.nan, 3.0, 3.0, np.nan]
    bands = hunting_bands(growth, stepper_speed_rpm=[0, 100, 200, 300, 400, 500, 600])
    assert [(band.lowest_rpm, band.highest_rpm) for band in bands] == [(0, 150), (400, 500)]
    assert hunting_bands([-1.0, -2.0], stepper_speed_rpm=[1, 2]) == ()
    with pytest.raises(RangeError, match="2 speeds for 3"):
        hunting_bands([1.0, 2.0, 3.0], stepper_speed_rpm=[1, 2])


def test_a_speed_lies_in_its_band_or_not():
    band = low_band(100.0, full_steps=200, part=1)
    assert band.holds(30.0)
    assert not band.holds(20.0)
    assert not band.holds(40.0)
