"""The stepper against makers' tables, textbook exercises and hand calculations; the data name each source."""

import json
import math
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from inspection.source import by_hand, run_here, source_of

from machinelab.leadscrew.stepper_load import (
    bar_inertia_kg_m2,
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

ROOM = "leadscrew"
DATA = Path(__file__).parent / "data" / "stepper.json"
CHECKS = {check["id"]: check for check in json.loads(DATA.read_text(encoding="utf-8"))}
# A common motor of 200 steps, 1.9 N m at 2.8 A, on 36 V: the one that the hand calculations are for.
WINDING = {"full_steps": 200, "inductance_h": 0.0032, "winding_resistance_ohm": 1.13, "driver_supply_v": 36}
CONSTANT = 0.47982245866230006


def inputs(check: str) -> dict:
    return CHECKS[check]["inputs"]


@pytest.mark.parametrize("check", ["B01", "B02", "B04", "B06", "B07"])
def test_one_microstep_pulls_the_share_in_the_makers_table(compare, check):
    compare.row(CHECKS[check], 100 * microstep_torque_share(inputs(check)["N"]), unit="%")


def test_the_rule_of_current_reversal_gives_half_a_millisecond_a_step_and_603_rpm(compare):
    given = inputs("B08")
    rpm = reversal_corner_rpm(
        given["spr"], phase_current_a=given["I"], driver_supply_v=given["V"], inductance_h=given["L"]
    )
    steps_a_second = rpm * given["spr"] / 60
    found = {"s": 1 / steps_a_second, "steps_s": steps_a_second, "rpm": rpm}
    expected = CHECKS["B08"]["expected"]
    wanted = [expected[name] for name in found]
    told = {"abs": 1e-6, "each": ("a step, s", "steps a second", "rpm")}
    compare("current reversal", list(found.values()), wanted, source_of(CHECKS["B08"]), **told)


def test_holding_torque_with_both_windings_gives_the_torque_constant_of_one(compare):
    given = inputs("B09")
    compare.row(
        CHECKS["B09"], torque_constant_nm_per_a(given["Th"], rated_winding_current_a=given["I"]), unit="N m/A"
    )


@pytest.mark.parametrize("check", ["B10", "B11", "B13"])
def test_the_volts_alone_allow_the_textbook_pull_out_torque(compare, check):
    # A current limit far above leaves the volts as the only one.
    found = pull_out_bound_nm(
        inputs(check)["rpm"], torque_constant_nm_per_a=CONSTANT, phase_current_a=1e3, **WINDING
    )
    compare.row(CHECKS[check], found, unit="N m")


def test_a_driver_whose_figure_is_the_peak_gives_71_per_cent_of_the_plate(compare):
    low = current_limited_torque_nm(CONSTANT, phase_current_a=inputs("B14")["Ipk"])
    compare.row(CHECKS["B14"], low, unit="N m")
    compare(
        "share of the plate that a driver set to the peak gives",
        low / 1.9,
        0.71,
        by_hand("1 / root two"),
        abs=0.005,
    )
    compare(
        "torque with the current as rms",
        current_limited_torque_nm(CONSTANT, phase_current_a=peak_of_rms_a(2.8)),
        1.9,
        by_hand("the plate"),
        rel=1e-6,
        unit="N m",
    )


def test_with_the_plates_current_as_rms_the_corner_lies_at_398_rpm(compare):
    # Hand calculation: (K w + R I)^2 + (N w L I)^2 = V^2 at the peak of 2.8 A rms.
    corner = in_phase_corner_rpm(
        torque_constant_nm_per_a=CONSTANT, phase_current_a=float(peak_of_rms_a(2.8)), **WINDING
    )
    compare(
        "corner with the plate's current as rms",
        corner,
        398,
        by_hand("(K w + R I)^2 + (N w L I)^2 = V^2"),
        abs=0.5,
        unit="rpm",
    )


def test_at_high_speed_the_power_nears_the_constant_power_bound_from_below(compare):
    given = inputs("B17")
    bound_w = given["K"] * given["V1"] / (given["Nr"] * given["L"])
    assert bound_w == pytest.approx(CHECKS["B17"]["expected"], abs=CHECKS["B17"]["tolerance"])
    rpm = np.array([1000.0, 3000.0, 20000.0])
    torque = pull_out_bound_nm(rpm, torque_constant_nm_per_a=CONSTANT, phase_current_a=1e3, **WINDING)
    power_w = torque * rpm * math.pi / 30
    assert np.all(np.diff(power_w) > 0)
    assert np.all(power_w < bound_w)
    # V / Z - K w R / Z^2 tends to (V - K R / (N L)) / (N w L).
    end_w = bound_w * (1 - CONSTANT * 1.13 / (50 * 0.0032) / 36)
    compare(
        "power at 20 000 rpm",
        power_w[-1],
        end_w,
        by_hand("limit (V - K R / (N L)) / (N w L)"),
        rel=1e-3,
        unit="W",
        why="a limit, not quite reached",
    )


def test_the_rotor_swings_176_times_a_second_and_that_is_53_rpm(compare):
    given = inputs("B18")
    resonance = rotor_resonance_hz(given["Th"], full_steps=200, moved_inertia_kg_m2=given["J"])
    compare.row(CHECKS["B18"], resonance, unit="Hz")
    compare.row(
        CHECKS["B19"],
        resonant_speed_rpm(inputs("B19")["f_Hz"], full_steps=inputs("B19")["spr"], part=1),
        unit="rpm",
    )


def test_a_one_millimetre_thread_at_80_rpm_sits_on_that_resonance(compare):
    # Screw of 3 mm, two turns of the stepper for one of it: worked by hand, 80 x 1/3 x 2 = 53 rpm.
    compare(
        "stepper behind a 1 mm thread at 80 rpm",
        stepper_speed_rpm(80, 1, 3, 2),
        53.33,
        by_hand("80 x 1/3 x 2"),
        abs=0.01,
        unit="rpm",
    )
    assert stepper_speed_rpm(80, 1, 3, 2) == pytest.approx(CHECKS["B19"]["expected"], rel=0.02)


def test_swings_grow_from_300_to_800_rpm_and_die_away_below_and_above(compare):
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
    compare.row(
        CHECKS["B21"],
        hunting_growth_per_s(given["rpm"], **drive),
        unit="1/s",
        each=[f"{one} rpm" for one in given["rpm"]],
    )
    speeds = np.arange(100.0, 1500.0, 5.0)
    [band] = hunting_bands(hunting_growth_per_s(speeds, **drive), stepper_speed_rpm=speeds)
    assert 200 < band.lowest_rpm < 300
    assert 800 < band.highest_rpm < 1000


def test_four_times_the_inertia_halves_the_start_rate(compare):
    given = inputs("B22")
    compare.row(
        CHECKS["B22"], start_stop_rate_hz(given["fs0"], load_over_rotor=given["JL_over_JR"]), unit="Hz"
    )


def test_the_course_exercises_on_acceleration_come_out(compare):
    given = inputs("B23")
    torque = acceleration_torque_nm(
        given["w2"] - given["w1"],
        gain_time_s=given["t"],
        moved_inertia_kg_m2=given["J"],
        load_at_motor_nm=given["Tf"],
    )
    compare.row(CHECKS["B23"], torque, unit="N m")
    given = inputs("B25")
    steps = step_acceleration_hz_s(
        given["T"], moved_inertia_kg_m2=given["J"], full_steps=round(360 / given["step_deg"])
    )
    compare.row(CHECKS["B25"], steps, unit="Hz/s")


def test_the_intervals_of_a_ramp_shrink_as_the_article_prints(compare):
    numbers = np.array(inputs("B26")["n"])
    compare.row(CHECKS["B26"], interval_ratio(numbers), each=("c1/c0", "c2/c1", "c10/c9"))
    compare.row(CHECKS["B27"], nearly_interval_ratio(numbers), each=("n = 1", "n = 2", "n = 10"))
    due = ramp_step_time_s(np.arange(12), acceleration_hz_s=1000.0)
    intervals = np.diff(due)
    assert interval_ratio(np.arange(1, 11)) == pytest.approx(intervals[1:] / intervals[:-1])


def test_the_carriage_hardly_counts_at_the_motor_and_the_screw_does(compare):
    given = inputs("B36")
    carriage = carriage_inertia_kg_m2(
        given["m"], screw_travel_mm=1000 * given["lead"], motor_turns_per_screw_turn=given["R"]
    )
    compare.row(CHECKS["B36"], carriage, unit="kg m2")
    # Worked by hand beside it: a steel screw of 18 mm by 800 mm is 16e-6 behind two to one.
    bar = bar_inertia_kg_m2(18, length_mm=800)
    compare(
        "steel screw of 18 by 800 mm behind two to one",
        bar / 4,
        16e-6,
        by_hand("worked beside it"),
        rel=0.02,
        unit="kg m2",
        why="worked to two figures",
    )
    whole = inertia_at_motor_kg_m2(
        48e-6, screw_inertia_kg_m2=bar, carriage_inertia_kg_m2=carriage, motor_turns_per_screw_turn=2
    )
    assert whole == pytest.approx(48e-6 + bar / 4 + carriage)


def test_the_rotor_lags_at_most_a_full_step_and_that_is_seven_micrometres_and_a_half(compare):
    given, expected = inputs("B38"), CHECKS["B38"]["expected"]
    lag = rotor_lag_deg(np.array(given["T"]), peak_torque_nm=given["Tpo"], full_steps=4 * given["Nr"])
    compare("lag of the rotor", lag, expected["lag_deg"], source_of(CHECKS["B38"]), abs=0.001, unit="deg")
    carriage = lag_travel_um(lag, screw_travel_mm=given["lead"], motor_turns_per_screw_turn=given["R"])
    compare("lag at the carriage", carriage, expected["um"], source_of(CHECKS["B38"]), abs=0.001, unit="um")


def test_a_power_feed_of_100_mm_a_minute_asks_1778_pulses_a_second(compare):
    given = inputs("E01")
    compare.row(CHECKS["E01"], feed_step_rate_hz(given["v"], given["lead"], given["steps"]), unit="Hz")
    assert step_rate_hz(100, 1, given["lead"], given["steps"]) == pytest.approx(
        CHECKS["E01"]["expected"], abs=1e-3
    )


def test_the_stepper_of_a_slaved_screw_speeds_up_as_gently_as_the_spindle(compare):
    given = inputs("D16")
    found = following_acceleration_rad_s2(
        given["a_spindle"],
        thread_lead_mm=Fraction(str(given["lead"])),
        screw_lead_mm=given["screw_lead"],
        motor_turns_per_screw_turn=given["R"],
    )
    compare.row(CHECKS["D16"], found, unit="rad/s2")


@pytest.mark.parametrize("rpm", [0, 100, 450, 500, 600, 900, 1200, 3000, 9000])
def test_the_pull_out_torque_is_the_best_that_a_search_of_all_currents_finds(compare, rpm):
    """Every pair of currents on a fine net that keeps both limits; independent of the two circles."""
    limit_a, w = 2.8, rpm * math.pi / 30
    ahead, in_phase = np.meshgrid(*2 * (np.linspace(-limit_a, limit_a, 1601),))
    x = 50 * w * WINDING["inductance_h"]
    volts2 = (1.13 * in_phase + x * ahead + CONSTANT * w) ** 2 + (1.13 * ahead - x * in_phase) ** 2
    allowed = (ahead**2 + in_phase**2 <= limit_a**2) & (volts2 <= 36**2)
    best = CONSTANT * in_phase[allowed].max()
    found = pull_out_torque_nm(rpm, torque_constant_nm_per_a=CONSTANT, phase_current_a=limit_a, **WINDING)
    compare(
        f"pull-out torque at {rpm} rpm",
        found,
        best,
        run_here("every pair of currents on a net of 1601 by 1601", "mesh of the net"),
        abs=2 * CONSTANT * 2 * limit_a / 1600,
        unit="N m",
    )
