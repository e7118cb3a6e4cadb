"""What is worked out of readings comes back exactly from exact readings, whatever the truth is."""

from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from machinelab.accuracy.alignment import in_the_chuck, level_across, separate_causes
from machinelab.accuracy.suspects import rank_suspects
from machinelab.leadscrew.axis_findings import reversal_uncertainty_um
from machinelab.leadscrew.periodic_error import periodic_error, periodic_targets_mm
from machinelab.leadscrew.positioning import positioning
from machinelab.spindle.coastdown import fit
from machinelab.spindle.meter_agreement import compare_meters
from machinelab.spindle.meter_calibration import calibrate
from machinelab.spindle.meter_step import fit_step
from machinelab.spindle.motor_bench import locked_shaft
from machinelab.spindle.turn_test import turn_test
from machinelab.threads.shoulder_speed import highest_speed_rpm
from machinelab.threads.shoulder_stop import Stopping

few = settings(max_examples=25)
TARGETS = [0.0, 51.0, 103.0, 154.0]
RUNS = st.lists(st.lists(st.floats(-40, 40), min_size=3, max_size=3), min_size=4, max_size=4)


@few
@given(st.floats(0.2, 10), st.floats(0.0, 4.0))
def test_a_locked_shaft_gives_back_resistance_and_brush_drop(resistance_ohm, brush_drop_v):
    angles, current_a = np.repeat(np.arange(0, 360, 60), 3), np.tile([0.6, -1.5, 3.0], 6)
    voltage_v = brush_drop_v * np.sign(current_a) + resistance_ohm * current_a
    found = locked_shaft(voltage_v, current_a, angle_deg=angles)
    assert found.resistance.value == pytest.approx(resistance_ohm, rel=1e-6)
    assert found.brush_drop.value == pytest.approx(brush_drop_v, abs=1e-6)


@few
@given(st.floats(0.5, 2.0))
def test_a_meter_that_shows_a_share_of_the_speed_is_found_to_do_so(scale):
    true_rpm = np.array([100, 300, 600, 900, 1200.0])
    found = calibrate(true_rpm, scale * true_rpm, resolution_rpm=0.01)
    assert found.meter_scale.value == pytest.approx(scale, rel=1e-4)
    low, high = found.meter_scale.interval
    assert low <= scale * (1 + 1e-9)
    assert high >= scale * (1 - 1e-9)


@few
@given(st.floats(0.2, 2.5), st.floats(300, 1500))
def test_a_late_meter_tells_its_lag_whatever_the_step(lag_s, from_rpm):
    time_s = np.arange(0, 4 + 8 * lag_s, 0.1)
    shown = np.where(time_s < 4, from_rpm, from_rpm * np.exp(-np.maximum(time_s - 4, 0) / lag_s))
    found = fit_step(SimpleNamespace(time_s=time_s, speed_rpm=shown))
    assert found.lag_s.value == pytest.approx(lag_s, rel=0.05)


@few
@given(st.floats(-8, 8))
def test_two_meters_apart_by_the_same_everywhere_are_told_so(apart_rpm):
    time_s = np.arange(0, 30, 0.1)
    speed = 300 + 700 / (1 + np.exp(-(time_s - 12)))
    one = SimpleNamespace(time_s=time_s, speed_rpm=speed)
    found = compare_meters(one, SimpleNamespace(time_s=time_s, speed_rpm=speed + apart_rpm))
    assert found.mean_difference_rpm.value == pytest.approx(apart_rpm, abs=0.1)
    back = compare_meters(SimpleNamespace(time_s=time_s, speed_rpm=speed + apart_rpm), one)
    assert back.mean_difference_rpm.value == pytest.approx(-apart_rpm, abs=0.1)


@few
@given(RUNS, RUNS, st.floats(-100, 100))
def test_a_shift_of_the_dial_changes_no_backlash_and_no_spread(up_um, down_um, shift_um):
    found = positioning(TARGETS, up_um, down_um)
    moved = positioning(TARGETS, np.add(up_um, shift_um), np.add(down_um, shift_um))
    assert moved.reversal_um == pytest.approx(found.reversal_um, abs=1e-9)
    assert moved.repeatability_um == pytest.approx(found.repeatability_um, abs=1e-7)
    turned = positioning(TARGETS, down_um, up_um)
    assert turned.reversal_um == pytest.approx(found.reversal_um, abs=1e-9)
    doubt = reversal_uncertainty_um(found, runs=3, reading_sd_um=2.0)
    assert doubt >= reversal_uncertainty_um(found, runs=3, reading_sd_um=1.0)


@few
@given(st.floats(1, 12), st.floats(0.5, 30), st.floats(0, 6.28), st.floats(-0.3, 0.3))
def test_a_drunken_screw_tells_its_swing_at_any_phase(lead_mm, amplitude_um, phase, slope):
    at = periodic_targets_mm(lead_mm)
    error = amplitude_um * np.sin(2 * np.pi * at / lead_mm + phase) + slope * at
    found = periodic_error(at, error, screw_lead_mm=lead_mm)
    assert found.amplitude_um.value == pytest.approx(amplitude_um, rel=1e-6)
    assert found.lead_error_ppm.value == pytest.approx(1000 * slope, abs=1e-4)


@few
@given(st.floats(-0.3, 0.3), st.floats(-0.1, 0.1))
def test_headstock_and_bed_are_told_apart_from_exact_readings(headstock_mm_m, twist_mm_m2):
    size = {"collar_distance_mm": 150, "centre_height_mm": 100}
    shares = in_the_chuck(0.0, 0.004, **size).shares
    taper = shares[0] * headstock_mm_m + shares[1] * twist_mm_m2
    level = level_across(0.0, 0.01, station_distance_mm=150)
    across = level.shares[0] * headstock_mm_m + level.shares[1] * twist_mm_m2
    tests = [in_the_chuck(taper, 0.004, **size), level_across(across, 0.01, station_distance_mm=150)]
    assert separate_causes(tests).headstock_mm_m.value == pytest.approx(headstock_mm_m, abs=1e-6)


@few
@given(st.integers(1, 300), st.integers(100, 20_000))
def test_counts_that_come_back_are_no_counts_lost(turns, per_turn):
    found = turn_test(turns * per_turn, 0, counts_per_spindle_turn=per_turn, turns=turns)
    assert found.counts_hold
    assert found.forward_error_count == 0
    assert found.return_error_count == 0


@few
@given(st.floats(1.0, 5.0), st.floats(0.4, 3.0), st.floats(0.05, 0.6))
def test_a_wider_groove_or_a_quicker_hand_never_asks_for_a_slower_spindle(groove_mm, lead_mm, reaction_s):
    brake = Stopping(brake_drag_per_s=2.5, coulomb_rad_s2=4.0)
    given_ = {"thread_lead_mm": lead_mm, "stopping": brake, "fastest_speed_rpm": 3000}
    here = highest_speed_rpm(groove_mm, reaction_s=reaction_s, **given_)
    assert highest_speed_rpm(1.2 * groove_mm, reaction_s=reaction_s, **given_) >= here
    assert highest_speed_rpm(groove_mm, reaction_s=reaction_s / 2, **given_) >= here


@few
@given(st.sampled_from(["turns loose", "nose moves", "at load reversal"]), st.booleans())
def test_what_is_suspected_adds_up_to_one_whatever_was_answered(question, answer):
    found = rank_suspects({question: answer})
    assert sum(found.probability) == pytest.approx(1.0)
    assert list(found.probability) == sorted(found.probability, reverse=True)


# Without any noise the curve first lies beside all readings alike, or a lag of nothing is looked for.
@example(2.125, 6.103515625e-05, 0.0)
@example(1.375, 0.0, 0.0)
@settings(max_examples=8)
@given(st.floats(1.0, 6.0), st.floats(0.0, 0.1), st.floats(-20, 500))
def test_a_coast_down_gives_back_its_drags_whenever_it_was_logged(coulomb, viscous, began_s):
    assume(coulomb + viscous > 1.0)
    rate = max(viscous, 1e-9)
    start = 1000 * np.pi / 30
    stop_s = np.log1p(rate * start / coulomb) / rate
    time_s = np.linspace(0, 0.95 * stop_s, 200)
    speed = (start + coulomb / rate) * np.exp(-rate * time_s) - coulomb / rate
    time_s, speed = np.append(np.arange(-2, 0, 0.1), time_s), np.append(np.full(20, start), speed)
    log = SimpleNamespace(time_s=time_s + began_s, speed_rpm=speed * 30 / np.pi, kind="speed", notes=())
    assert fit(log).stop_time_s(1000).value == pytest.approx(stop_s, rel=0.01)
