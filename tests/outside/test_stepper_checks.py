"""The stepper against makers' tables, textbook exercises and hand calculations; the data name each source."""

import json
import math
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from machinelab.leadscrew.screw_friction import (
    collar_torque_nm,
    holds_itself,
    lowering_torque_nm,
    screw_efficiency,
    screw_torque_nm,
    torque_by_efficiency_nm,
)
from machinelab.leadscrew.stepper_load import (
    bar_inertia_kg_m2,
    carriage_force_n,
    carriage_inertia_kg_m2,
    inertia_at_motor_kg_m2,
)
from machinelab.leadscrew.stepper_rate import feed_step_rate_hz, step_rate_hz, stepper_speed_rpm
from machinelab.leadscrew.stepper_resonance import (
    hunting_bands,
    hunting_growth_per_s,
    resonant_speed_rpm,
    rotor_resonance_hz,
)
from machinelab.leadscrew.stepper_start import (
    acceleration_torque_nm,
    following_acceleration_rad_s2,
    interval_ratio,
    nearly_interval_ratio,
    ramp_step_time_s,
    start_stop_rate_hz,
    step_acceleration_hz_s,
)
from machinelab.leadscrew.stepper_stiffness import lag_travel_um, microstep_torque_share, rotor_lag_deg
from machinelab.leadscrew.stepper_torque import in_phase_corner_rpm, pull_out_bound_nm, pull_out_torque_nm
from machinelab.leadscrew.stepper_winding import (
    current_limited_torque_nm,
    peak_of_rms_a,
    reversal_corner_rpm,
    torque_constant_nm_per_a,
)

DATA = Path(__file__).parent / "data" / "stepper.json"
CHECKS = {check["id"]: check for check in json.loads(DATA.read_text(encoding="utf-8"))}
# A common motor of 200 steps, 1.9 N m at 2.8 A, on 36 V: the one that the hand calculations are for.
WINDING = {"full_steps": 200, "inductance_h": 0.0032, "winding_resistance_ohm": 1.13, "driver_supply_v": 36}
CONSTANT = 0.47982245866230006


def inputs(check: str) -> dict:
    return CHECKS[check]["inputs"]


def near(check: str, place=None):
    expected, tolerance = CHECKS[check]["expected"], CHECKS[check]["tolerance"]
    if place is None:
        return pytest.approx(expected, abs=tolerance)
    return pytest.approx(expected[place], abs=tolerance[place] if isinstance(tolerance, list) else tolerance)


def screw(**changed):
    return {
        "screw_travel_mm": 3,
        "mean_diameter_mm": 18.5,
        "screw_friction": 0.15,
        "flank_angle_deg": 15,
    } | changed


@pytest.mark.parametrize("check", ["B01", "B02", "B04", "B06", "B07"])
def test_one_microstep_pulls_the_share_in_the_makers_table(check):
    assert 100 * microstep_torque_share(inputs(check)["N"]) == near(check)


def test_the_rule_of_current_reversal_gives_half_a_millisecond_a_step_and_603_rpm():
    given = inputs("B08")
    rpm = reversal_corner_rpm(
        given["spr"], phase_current_a=given["I"], driver_supply_v=given["V"], inductance_h=given["L"]
    )
    steps_a_second = rpm * given["spr"] / 60
    found = {"s": 1 / steps_a_second, "steps_s": steps_a_second, "rpm": rpm}
    assert found == {
        name: pytest.approx(value, abs=1e-6) for name, value in CHECKS["B08"]["expected"].items()
    }


def test_holding_torque_with_both_windings_gives_the_torque_constant_of_one():
    given = inputs("B09")
    assert torque_constant_nm_per_a(given["Th"], rated_winding_current_a=given["I"]) == near("B09")


@pytest.mark.parametrize("check", ["B10", "B11", "B13"])
def test_the_volts_alone_allow_the_textbook_pull_out_torque(check):
    # A current limit far above leaves the volts as the only one.
    found = pull_out_bound_nm(
        inputs(check)["rpm"], torque_constant_nm_per_a=CONSTANT, phase_current_a=1e3, **WINDING
    )
    assert found == near(check)


def test_a_driver_whose_figure_is_the_peak_gives_71_per_cent_of_the_plate():
    low = current_limited_torque_nm(CONSTANT, phase_current_a=inputs("B14")["Ipk"])
    assert low == near("B14")
    assert low / 1.9 == pytest.approx(0.71, abs=0.005)
    assert current_limited_torque_nm(CONSTANT, phase_current_a=peak_of_rms_a(2.8)) == pytest.approx(1.9)


def test_with_the_plates_current_as_rms_the_corner_lies_at_398_rpm():
    # Hand calculation: (K w + R I)^2 + (N w L I)^2 = V^2 at the peak of 2.8 A rms.
    corner = in_phase_corner_rpm(
        torque_constant_nm_per_a=CONSTANT, phase_current_a=float(peak_of_rms_a(2.8)), **WINDING
    )
    assert corner == pytest.approx(398, abs=0.5)


def test_at_high_speed_the_power_nears_the_constant_power_bound_from_below():
    given = inputs("B17")
    bound_w = given["K"] * given["V1"] / (given["Nr"] * given["L"])
    assert bound_w == near("B17")
    rpm = np.array([1000.0, 3000.0, 20000.0])
    torque = pull_out_bound_nm(rpm, torque_constant_nm_per_a=CONSTANT, phase_current_a=1e3, **WINDING)
    power_w = torque * rpm * math.pi / 30
    assert np.all(np.diff(power_w) > 0)
    assert np.all(power_w < bound_w)
    # V / Z - K w R / Z^2 tends to (V - K R / (N L)) / (N w L).
    end_w = bound_w * (1 - CONSTANT * 1.13 / (50 * 0.0032) / 36)
    assert power_w[-1] == pytest.approx(end_w, rel=1e-3)


def test_the_rotor_swings_176_times_a_second_and_that_is_53_rpm():
    given = inputs("B18")
    resonance = rotor_resonance_hz(given["Th"], full_steps=200, moved_inertia_kg_m2=given["J"])
    assert resonance == near("B18")
    assert resonant_speed_rpm(inputs("B19")["f_Hz"], full_steps=inputs("B19")["spr"], part=1) == near("B19")


def test_a_one_millimetre_thread_at_80_rpm_sits_on_that_resonance():
    # Screw of 3 mm, two turns of the stepper for one of it: worked by hand, 80 x 1/3 x 2 = 53 rpm.
    assert stepper_speed_rpm(80, 1, 3, 2) == pytest.approx(53.33, abs=0.01)
    assert stepper_speed_rpm(80, 1, 3, 2) == pytest.approx(CHECKS["B19"]["expected"], rel=0.02)


def test_swings_grow_from_300_to_800_rpm_and_die_away_below_and_above():
    given = inputs("B21")
    drive = {
        "full_steps": 4 * given["Nr"],
        "torque_constant_nm_per_a": given["K"],
        "driver_supply_v": given["V"],
        "inductance_h": given["L"],
        "winding_resistance_ohm": given["R"],
        "moved_inertia_kg_m2": given["J"],
        "iron_drag_nm_s": given["B"],
        "load_at_motor_nm": given["T_load"],
    }
    assert hunting_growth_per_s(given["rpm"], **drive) == near("B21")
    speeds = np.arange(100.0, 1500.0, 5.0)
    [band] = hunting_bands(hunting_growth_per_s(speeds, **drive), stepper_speed_rpm=speeds)
    assert 200 < band.lowest_rpm < 300
    assert 800 < band.highest_rpm < 1000


def test_four_times_the_inertia_halves_the_start_rate():
    given = inputs("B22")
    assert start_stop_rate_hz(given["fs0"], load_over_rotor=given["JL_over_JR"]) == near("B22")


def test_the_course_exercises_on_acceleration_come_out():
    given = inputs("B23")
    torque = acceleration_torque_nm(
        given["w2"] - given["w1"],
        gain_time_s=given["t"],
        moved_inertia_kg_m2=given["J"],
        load_at_motor_nm=given["Tf"],
    )
    assert torque == near("B23")
    given = inputs("B25")
    steps = step_acceleration_hz_s(
        given["T"], moved_inertia_kg_m2=given["J"], full_steps=round(360 / given["step_deg"])
    )
    assert steps == near("B25")


def test_the_intervals_of_a_ramp_shrink_as_the_article_prints():
    numbers = np.array(inputs("B26")["n"])
    assert interval_ratio(numbers) == near("B26")
    assert nearly_interval_ratio(numbers) == near("B27")
    due = ramp_step_time_s(np.arange(12), acceleration_hz_s=1000.0)
    intervals = np.diff(due)
    assert interval_ratio(np.arange(1, 11)) == pytest.approx(intervals[1:] / intervals[:-1])


def test_the_screw_jack_of_the_textbook_raises_lowers_and_wastes_as_printed():
    given = inputs("B28")
    thread = screw(
        screw_travel_mm=given["p"] * given["starts"],
        mean_diameter_mm=given["dm"],
        screw_friction=given["f"],
        flank_angle_deg=0,
    )
    collar = collar_torque_nm(given["F"], collar_mm=given["dc"], collar_friction=given["fc"])
    raising = screw_torque_nm(given["F"], **thread) + collar
    assert raising == near("B28", 0)
    assert lowering_torque_nm(given["F"], **thread) + collar == near("B28", 1)
    assert screw_efficiency(given["F"], screw_travel_mm=8, driving_torque_nm=raising) == near("B28", 2)


def test_the_other_jack_of_the_textbook_too():
    given = inputs("B30")
    thread = screw(
        screw_travel_mm=given["lead"],
        mean_diameter_mm=given["dm"],
        screw_friction=given["mu"],
        flank_angle_deg=0,
    )
    collar = collar_torque_nm(given["F"], collar_mm=given["dc"], collar_friction=given["muc"])
    raising = screw_torque_nm(given["F"], **thread) + collar
    assert raising == near("B30", 0)
    assert lowering_torque_nm(given["F"], **thread) + collar == near("B30", 1)
    assert screw_efficiency(given["F"], screw_travel_mm=4, driving_torque_nm=raising) == near("B30", 2)


def test_a_trapezoidal_screw_of_20_by_3_wants_a_newton_metre_and_holds_by_itself():
    given = inputs("B32")
    thread = screw(mean_diameter_mm=given["dm"], screw_friction=given["mu"])
    driving = screw_torque_nm(given["F"], **thread)
    assert driving == near("B32")
    # Worked by hand beside it: efficiency 0.25, and 0.48 N m to drive it backwards.
    assert screw_efficiency(given["F"], screw_travel_mm=3, driving_torque_nm=driving) == pytest.approx(
        0.25, abs=0.005
    )
    assert lowering_torque_nm(given["F"], **thread) == pytest.approx(0.48, abs=0.005)
    assert holds_itself(**thread)


def test_a_screw_just_at_the_edge_of_holding_gives_back_no_more_than_half():
    for mean_mm in (10.0, 18.5, 30.0):
        edge = screw(mean_diameter_mm=mean_mm, flank_angle_deg=0, screw_friction=3 / (math.pi * mean_mm))
        assert lowering_torque_nm(500, **edge) == pytest.approx(0, abs=1e-12)
        efficiency = screw_efficiency(500, screw_travel_mm=3, driving_torque_nm=screw_torque_nm(500, **edge))
        # tan(lambda) / tan(2 lambda) = (1 - tan^2) / 2, at most the statics textbook's half.
        assert efficiency == pytest.approx((1 - edge["screw_friction"] ** 2) / 2)
        assert efficiency < CHECKS["B33"]["expected"]


def test_the_servo_makers_table_asks_the_torque_of_his_example():
    given = inputs("B34")
    ways = {"carriage_mass_kg": given["W_kgf"], "gib_n": given["gib_kgf"] * 9.80665}
    found = []
    for cut, press in ((0, 0), (given["cut_kgf"], given["press_kgf"])):
        force = carriage_force_n(given["mu"], press_n=press * 9.80665, axial_n=cut * 9.80665, **ways)
        torque = torque_by_efficiency_nm(
            force, screw_travel_mm=10 * given["lead_cm"], efficiency=given["eta"]
        )
        found.append(torque / 0.0980665)
    assert found == near("B34")


def test_the_carriage_hardly_counts_at_the_motor_and_the_screw_does():
    given = inputs("B36")
    carriage = carriage_inertia_kg_m2(
        given["m"], screw_travel_mm=1000 * given["lead"], motor_turns_per_screw_turn=given["R"]
    )
    assert carriage == near("B36")
    # Worked by hand beside it: a steel screw of 18 mm by 800 mm is 16e-6 behind two to one.
    bar = bar_inertia_kg_m2(18, length_mm=800)
    assert bar / 4 == pytest.approx(16e-6, rel=0.02)
    whole = inertia_at_motor_kg_m2(
        48e-6, screw_inertia_kg_m2=bar, carriage_inertia_kg_m2=carriage, motor_turns_per_screw_turn=2
    )
    assert whole == pytest.approx(48e-6 + bar / 4 + carriage)


def test_the_rotor_lags_at_most_a_full_step_and_that_is_seven_micrometres_and_a_half():
    given, expected = inputs("B38"), CHECKS["B38"]["expected"]
    lag = rotor_lag_deg(np.array(given["T"]), peak_torque_nm=given["Tpo"], full_steps=4 * given["Nr"])
    assert lag == pytest.approx(expected["lag_deg"], abs=0.001)
    carriage = lag_travel_um(lag, screw_travel_mm=given["lead"], motor_turns_per_screw_turn=given["R"])
    assert carriage == pytest.approx(expected["um"], abs=0.001)


def test_a_power_feed_of_100_mm_a_minute_asks_1778_pulses_a_second():
    given = inputs("E01")
    assert feed_step_rate_hz(given["v"], given["lead"], given["steps"]) == near("E01")
    assert step_rate_hz(100, 1, given["lead"], given["steps"]) == near("E01")


def test_the_stepper_of_a_slaved_screw_speeds_up_as_gently_as_the_spindle():
    given = inputs("D16")
    found = following_acceleration_rad_s2(
        given["a_spindle"],
        thread_lead_mm=Fraction(str(given["lead"])),
        screw_lead_mm=given["screw_lead"],
        motor_turns_per_screw_turn=given["R"],
    )
    assert found == near("D16")


@pytest.mark.parametrize("rpm", [0, 100, 450, 500, 600, 900, 1200, 3000, 9000])
def test_the_pull_out_torque_is_the_best_that_a_search_of_all_currents_finds(rpm):
    """Every pair of currents on a fine net that keeps both limits; independent of the two circles."""
    limit_a, w = 2.8, rpm * math.pi / 30
    ahead, in_phase = np.meshgrid(*2 * (np.linspace(-limit_a, limit_a, 1601),))
    x = 50 * w * WINDING["inductance_h"]
    volts2 = (1.13 * in_phase + x * ahead + CONSTANT * w) ** 2 + (1.13 * ahead - x * in_phase) ** 2
    allowed = (ahead**2 + in_phase**2 <= limit_a**2) & (volts2 <= 36**2)
    best = CONSTANT * in_phase[allowed].max()
    found = pull_out_torque_nm(rpm, torque_constant_nm_per_a=CONSTANT, phase_current_a=limit_a, **WINDING)
    assert found == pytest.approx(best, abs=2 * CONSTANT * 2 * limit_a / 1600)
