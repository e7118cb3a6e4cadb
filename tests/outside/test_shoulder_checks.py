"""The threading pass against closed forms worked elsewhere."""

import json
import math
from fractions import Fraction
from pathlib import Path

import pytest
from inspection.source import by_hand, source_of
from simulate.threading_pass import RPM

from machinelab.spindle.brake import stop
from machinelab.threads.shoulder import highest_speed_rpm
from machinelab.threads.shoulder_groove import groove_turns, needed_groove_mm
from machinelab.threads.shoulder_speed import groove_slopes
from machinelab.threads.shoulder_start import (
    catch_up,
    following_lag_mm,
    motor_acceleration_rad_s2,
    phase_error_mm,
    spin_up_tail_turns,
    spin_up_turns,
)
from machinelab.threads.shoulder_stop import Stopping, overtravel_turns, run_on

ROOM = "threads"
SLOPES = by_hand("derivatives of the mixed law, worked out")
ROWS = {row["id"]: row for row in json.loads((Path(__file__).parent / "data" / "shoulder.json").read_text())}
MIXED = Stopping(brake_drag_per_s=2.5, coulomb_rad_s2=4.0)
# So little friction that the resistor alone is left.
RESISTOR = Stopping(brake_drag_per_s=2.5, coulomb_rad_s2=1e-9)


@pytest.mark.parametrize("name", ["D01", "D02"])
def test_a_stop_by_brake_and_friction_takes_the_time_and_turns_of_the_closed_form(compare, name):
    found = run_on(ROWS[name]["inputs"]["rpm"], stopping=MIXED)
    compare.row(ROWS[name], [found.run_on_s, found.run_on_turns], each=("s", "turn"))


def test_a_steady_deceleration_is_the_textbooks(compare):
    found = run_on(200, stopping=Stopping(coulomb_rad_s2=20.0))
    compare.row(ROWS["D04"], [found.run_on_s, found.run_on_turns], each=("s", "turn"))


def test_a_resistor_almost_without_friction_makes_tau_times_speed(compare):
    compare.row(ROWS["D05"], run_on(200, stopping=RESISTOR).run_on_turns, unit="turn")


def test_the_mixed_law_has_both_as_limits(compare):
    tolerance = ROWS["D06"]["tolerance"]
    nearly_free = run_on(200, stopping=Stopping(brake_drag_per_s=2.5, coulomb_rad_s2=1e-5))
    nearly_unbraked = run_on(200, stopping=Stopping(brake_drag_per_s=1e-7, coulomb_rad_s2=20.0))
    compare(
        "turns of a stop, nearly without friction",
        nearly_free.run_on_turns,
        ROWS["D05"]["expected"],
        source_of(ROWS["D05"]),
        rel=tolerance,
        unit="turn",
    )
    compare(
        "turns of a stop, nearly unbraked",
        nearly_unbraked.run_on_turns,
        ROWS["D04"]["expected"][1],
        source_of(ROWS["D04"]),
        rel=tolerance,
        unit="turn",
    )


def test_the_highest_speed_of_a_steady_brake_is_the_root_of_its_quadratic(compare):
    row = ROWS["D08"]["inputs"]
    steady = Stopping(coulomb_rad_s2=row["a_rev_s2"] * 2 * math.pi)
    found = [
        highest_speed_rpm(
            turns, thread_lead_mm=1, reaction_s=row["t_r"], stopping=steady, fastest_speed_rpm=2000
        )
        for turns in row["G"]
    ]
    compare.row(ROWS["D08"], found, unit="rpm", each=("three turns", "two turns"))


def test_the_highest_speed_in_two_and_a_half_turns_by_hand_and_by_count(compare):
    row = ROWS["D-239"]["inputs"]
    ends = {"thread_lead_mm": 1, "stopping": MIXED, "fastest_speed_rpm": 2000}
    found = [highest_speed_rpm(row["G"], reaction_s=reaction, **ends) for reaction in row["t_r"]]
    compare.row(ROWS["D-239"], found, unit="rpm", each=("by hand", "by count"))


def test_the_highest_speed_of_a_resistor_without_friction_is_the_room_over_reaction_and_tau(compare):
    """Closed form n = G/(t_r + tau), derived by hand."""
    found = highest_speed_rpm(
        3,
        thread_lead_mm=1,
        reaction_s=0.3,
        stopping=RESISTOR,
        fastest_speed_rpm=2000,
    )
    compare(
        "highest speed of a resistor without friction, three turns",
        found,
        60 * 3 / (0.3 + 0.4),
        by_hand("n = G / (t_r + tau)"),
        rel=1e-7,
        unit="rpm",
    )


def test_a_stop_shares_its_energy_as_the_closed_form_has_it(compare):
    row = ROWS["D11"]["inputs"]
    loop = row["Ra"] + row["Rb"]
    found = stop(
        row["rpm"],
        spindle_emf_v_s_per_rad=math.sqrt(row["J"] * loop / row["tau"]),
        armature_resistance_ohm=row["Ra"],
        resistor_ohm=row["Rb"],
        inertia_kg_m2=row["J"],
        coulomb_rad_s2=row["alpha_c"],
    )
    electric = found.resistor_energy_j + found.armature_energy_j
    parts = [
        electric + found.friction_energy_j,
        found.friction_energy_j,
        electric,
        found.resistor_energy_j,
    ]
    compare.row(ROWS["D11"], parts, unit="J", each=("kinetic", "friction", "electrical", "resistor"))


def test_an_unbounded_catch_up_takes_the_time_distance_and_peak_that_were_simulated(compare):
    row = ROWS["D12"]["inputs"]
    found = catch_up(row["v"], carriage_mm_s2=row["a"])
    compare.row(
        ROWS["D12"],
        [found.catch_up_s, row["v"] * found.catch_up_s, found.catch_up_peak_mm_s],
        each=("time, s", "distance, mm", "peak, mm/s"),
    )


def test_an_exponential_spin_up_uses_the_turns_of_its_integral(compare):
    row = ROWS["D14"]["inputs"]
    found = spin_up_tail_turns(row["rpm"], time_s=3 * row["tau"], spin_up_time_s=row["tau"])
    compare.row(ROWS["D14"], found, unit="turn")


def test_a_steady_spin_up_is_a_steady_stop_run_backwards(compare):
    compare(
        "turns of a steady spin-up",
        spin_up_turns(200, spin_up_rad_s2=20.0),
        ROWS["D04"]["expected"][1],
        source_of(ROWS["D04"]),
        abs=1e-5,
        unit="turn",
    )


def test_the_stepper_gains_speed_with_the_spindle(compare):
    row = ROWS["D16"]["inputs"]
    found = motor_acceleration_rad_s2(
        row["a_spindle"],
        thread_lead_mm=Fraction(3, 2),
        screw_lead_mm=row["screw_lead"],
        motor_turns_per_screw_turn=row["R"],
    )
    compare.row(ROWS["D16"], found, unit="rad/s2")


def test_a_fixed_offset_in_place_of_catching_up_tears_the_flank(compare):
    row = ROWS["D17"]["inputs"]
    found = phase_error_mm(row["v1"], other_travel_mm_s=row["v2"], carriage_mm_s2=row["a"])
    compare.row(ROWS["D17"], found, unit="mm")


def test_half_a_second_at_200_rpm_eats_two_and_a_half_millimetres_of_a_pitch_of_one_and_a_half(compare):
    travel_a_second = 1.5 * 200 / 60
    turns = overtravel_turns(200, reaction_s=0.5, run_on_turns=0.0)
    travel = needed_groove_mm(turns, thread_lead_mm=1.5)
    compare.row(
        ROWS["D-shoulder"],
        [travel_a_second, travel, turns],
        each=("travel a second, mm", "travel, mm", "turns"),
    )


def test_the_lag_of_a_stepper_is_one_full_step_at_most_and_a_third_of_it_at_half_torque(compare):
    """Sine of the electrical lag: half the torque at 30 degrees of the 90 to pull-out."""
    compare(
        "lag of a stepper at its full torque",
        following_lag_mm(1.0, full_step_mm=0.0075),
        0.0075,
        by_hand("one full step"),
        rel=1e-6,
        unit="mm",
    )
    compare(
        "lag of a stepper at half its torque",
        following_lag_mm(0.5, full_step_mm=0.0075),
        0.0025,
        by_hand("30 of 90 degrees of a full step"),
        rel=1e-6,
        unit="mm",
    )


def test_the_groove_slopes_are_the_derivatives_of_the_closed_form(compare):
    """For the mixed law theta = tau (w - w_c ln(1 + w/w_c)): d theta/d w = tau w/(w + w_c), by hand."""
    speed = 200.0
    w, tau, a = speed * RPM, 0.4, 4.0
    knee = tau * a
    log = math.log(1 + w / knee)
    found = groove_slopes(speed, reaction_s=0.3, stopping=MIXED, thread_lead_mm=1)
    compare(
        "groove for a second of reaction",
        found.per_reaction_second,
        speed / 60,
        SLOPES,
        rel=1e-6,
        unit="mm/s",
    )
    compare(
        "groove for an rpm",
        found.per_rpm,
        0.3 / 60 + RPM * tau * w / (w + knee) / (2 * math.pi),
        SLOPES,
        rel=1e-6,
        unit="mm/rpm",
    )
    by_tau = (w - knee * log) + tau * (-a * log + w * a / (w + knee))
    compare(
        "groove for a share of the brake",
        found.per_brake_share,
        by_tau * tau / (2 * math.pi),
        SLOPES,
        rel=1e-5,
        unit="mm",
    )
    by_friction = tau * (-tau * log + tau * w / (w + knee)) * a
    compare(
        "groove for a share of the friction",
        found.per_friction_share,
        by_friction / (2 * math.pi),
        SLOPES,
        rel=1e-5,
        unit="mm",
    )


def test_reaction_and_brake_share_the_groove_evenly_at_200_rpm(compare):
    """About 1.07 turns for reaction and relay, 1.06 for the brake: halving either helps the same."""
    compare(
        "turns for reaction and relay at 200 rpm",
        overtravel_turns(200, reaction_s=0.32, run_on_turns=0.0),
        1.07,
        by_hand("0.32 s at 200 rpm"),
        abs=0.005,
        unit="turn",
    )
    compare(
        "turns for the brake at 200 rpm",
        run_on(200, stopping=MIXED).run_on_turns,
        1.06,
        by_hand("closed form of the mixed law"),
        abs=0.005,
        unit="turn",
    )


def test_room_in_turns_and_groove_in_millimetres_are_each_others_inverse():
    tool = {"thread_lead_mm": Fraction(-3, 2), "tool_half_width_mm": 0.8, "wall_clearance_mm": 0.3}
    assert groove_turns(needed_groove_mm(2.25, **tool), **tool) == pytest.approx(2.25, rel=1e-12)
