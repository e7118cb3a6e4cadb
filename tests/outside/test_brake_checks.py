"""The resistor brake against figures worked, printed or integrated elsewhere."""

import json
from pathlib import Path

import numpy as np
import pytest
from inspection.source import by_hand, run_here, source_of

from machinelab.controls.residual_voltage import (
    bleed_power_w,
    bleed_resistor_limit_ohm,
    bleed_time_s,
    exempt_capacitance_f,
)
from machinelab.spindle.brake import resistor_for_turns, stop
from machinelab.spindle.brake_chuck import unscrewing_torque_nm
from machinelab.spindle.brake_circuit import (
    brake_time_constant_s,
    frictionless_turns,
    peak_brake_current_a,
    spindle_emf_v_s_per_rad,
)
from machinelab.spindle.brake_contact import dc_breaking_current_a, turns_while_waiting
from machinelab.spindle.brake_design import resistor_for_current_ohm
from machinelab.spindle.brake_heat import (
    adiabatic_rise_k,
    average_power_w,
    energy_of_rotation_j,
    rise_after_stops_k,
    steady_peak_rise_k,
)
from machinelab.spindle.brake_limits import belt_torque_nm

ROOM = "spindle"
DESIGN_LINE = by_hand("published design line for dynamic braking, excerpt: R = V / I permissible")
ROWS = {row["id"]: row for row in json.loads((Path(__file__).parent / "data" / "brake.json").read_text())}
LATHE = {"spindle_emf_v_s_per_rad": 1.97, "armature_resistance_ohm": 1.6, "inertia_kg_m2": 0.05}
DRAGS = {"coulomb_rad_s2": 3.0, "viscous_per_s": 0.02, "windage_per_rad": 1e-4}
SMALL = {"spindle_emf_v_s_per_rad": 0.87, "armature_resistance_ohm": 1.1, "inertia_kg_m2": 0.045}


def expected(name):
    row = ROWS[name]
    return row["expected"], row["tolerance"]


def test_the_resistor_alone_gives_its_time_constant_and_turns_in_proportion_to_speed(compare):
    wanted, tolerance = expected("C-brake-1")
    tau_s = brake_time_constant_s(resistor_ohm=12.4, **LATHE)
    compare(
        "time constant of the brake alone",
        tau_s,
        wanted["tau_s"],
        source_of(ROWS["C-brake-1"]),
        rel=tolerance,
        unit="s",
    )
    compare(
        "turns from 1000 rpm without friction",
        frictionless_turns(1000, brake_time_constant_s=tau_s),
        wanted["turns"],
        source_of(ROWS["C-brake-1"]),
        rel=tolerance,
        unit="turn",
    )


def test_stop_time_and_turns_with_friction_equal_those_integrated_elsewhere(compare):
    wanted, tolerance = expected("C-brake-2")
    found = stop(1000, resistor_ohm=12.4, **LATHE, **DRAGS)
    compare(
        "time of a stop with friction",
        found.time_s,
        wanted["t_stop_s"],
        source_of(ROWS["C-brake-2"]),
        rel=tolerance,
        unit="s",
    )
    compare(
        "turns of a stop with friction",
        found.turns,
        wanted["turns"],
        source_of(ROWS["C-brake-2"]),
        rel=tolerance,
        unit="turn",
    )


def test_the_resistor_for_five_turns_and_its_peak_current_equal_those_found_elsewhere(compare):
    wanted, tolerance = expected("C-brake-3")
    resistor_ohm = resistor_for_turns(5, 1000, **LATHE, **DRAGS)
    compare(
        "loop resistance for five turns from 1000 rpm",
        resistor_ohm + 1.6,
        wanted["loop_ohm"],
        source_of(ROWS["C-brake-3"]),
        rel=tolerance,
        unit="ohm",
    )
    found = stop(1000, resistor_ohm=resistor_ohm, **LATHE, **DRAGS)
    compare(
        "peak current of a stop in five turns",
        found.peak_current_a,
        wanted["peak_a"],
        source_of(ROWS["C-brake-3"]),
        rel=tolerance,
        unit="A",
    )
    compare(
        "turns of a stop in five turns", found.turns, 5, source_of(ROWS["C-brake-3"]), rel=1e-9, unit="turn"
    )


def test_energy_of_rotation_and_its_split_by_resistance_equal_those_integrated_elsewhere(compare):
    whole, tolerance = expected("C-energy-1")
    compare(
        "energy of 0.05 kg m2 at 1000 rpm",
        energy_of_rotation_j(1000, inertia_kg_m2=0.05),
        whole["energy_j"],
        source_of(ROWS["C-energy-1"]),
        rel=tolerance,
        unit="J",
    )
    wanted, tolerance = expected("C-energy-2")
    found = stop(1000, resistor_ohm=12.4, **LATHE, **DRAGS)
    compare(
        "heat in the armature",
        found.armature_energy_j,
        wanted["armature_j"],
        source_of(ROWS["C-energy-2"]),
        rel=tolerance,
        unit="J",
    )
    compare(
        "heat in the resistor",
        found.resistor_energy_j,
        wanted["resistor_j"],
        source_of(ROWS["C-energy-2"]),
        rel=tolerance,
        unit="J",
    )
    compare(
        "heat by friction",
        found.friction_energy_j,
        wanted["friction_j"],
        source_of(ROWS["C-energy-2"]),
        rel=tolerance,
        unit="J",
    )
    electrical_j = found.armature_energy_j + found.resistor_energy_j
    compare(
        "electrical part of a stop",
        electrical_j,
        wanted["electrical_j"],
        source_of(ROWS["C-energy-2"]),
        rel=tolerance,
        unit="J",
    )


def test_one_stop_warms_the_body_and_twelve_seconds_apart_they_make_twenty_watts(compare):
    wanted, tolerance = expected("C-energy-3")
    rise_k = adiabatic_rise_k(240, heated_mass_kg=0.1, specific_heat_j_per_kg_k=900)
    compare(
        "rise of a 100 g resistor by 240 J",
        rise_k,
        wanted["rise_k"],
        source_of(ROWS["C-energy-3"]),
        rel=tolerance,
        unit="K",
    )
    wanted, tolerance = expected("C-energy-4")
    compare(
        "average power of 240 J every 12 s",
        average_power_w(240, period_s=12),
        wanted["power_w"],
        source_of(ROWS["C-energy-4"]),
        rel=tolerance,
        unit="W",
    )


def test_repeated_stops_warm_the_body_as_a_count_of_stop_after_stop_does(compare):
    warm, rises = 0.0, []
    for _ in range(400):
        warm = warm * np.exp(-12 / 240) + 2.6667
        rises.append(warm)
    several = rise_after_stops_k(2.6667, stops=np.arange(1, 401), period_s=12, cooling_time_s=240)
    compare.worst(
        "rise after each of 400 stops",
        several,
        rises,
        run_here("a count of stop after stop", "rounding of the computer"),
        rel=1e-9,
        unit="K",
    )
    compare(
        "rise that the stops settle at",
        steady_peak_rise_k(2.6667, period_s=12, cooling_time_s=240),
        rises[-1],
        run_here("a count of stop after stop", "400 stops are not quite endless"),
        rel=1e-6,
        unit="K",
    )


def test_peak_current_equals_the_hand_calculation(compare):
    wanted, tolerance = expected("C-peak-1")
    ohms = {"armature_resistance_ohm": 1.6, "resistor_ohm": 10.0}
    current_a = peak_brake_current_a(2500, spindle_emf_v_s_per_rad=0.657, **ohms)
    compare(
        "peak brake current from 2500 rpm",
        current_a,
        wanted["current_a"],
        source_of(ROWS["C-peak-1"]),
        rel=tolerance,
        unit="A",
    )
    compare(
        "peak brake current over the rated 5 A",
        current_a / 5,
        wanted["multiple"],
        source_of(ROWS["C-peak-1"]),
        rel=tolerance,
    )


def test_the_resistor_of_a_published_design_line_is_voltage_over_permissible_current(compare):
    """Published design line for dynamic braking: R = V / I permissible (read as an excerpt)."""
    emf_v = 0.657 * 2500 * np.pi / 30
    ohms = resistor_for_current_ohm(
        15.0, start_speed_rpm=2500, spindle_emf_v_s_per_rad=0.657, armature_resistance_ohm=1.6
    )
    compare(
        "loop resistance for a permissible current of 15 A",
        ohms + 1.6,
        emf_v / 15.0,
        DESIGN_LINE,
        rel=1e-12,
        unit="ohm",
    )


def test_breaking_capacity_at_the_data_sheets_own_voltages_is_as_printed(compare):
    wanted, tolerance = expected("C-relay-1")
    inputs = ROWS["C-relay-1"]["inputs"]
    currents = dc_breaking_current_a(np.array(inputs["voltage_v"]), relay=inputs["relay"])
    compare(
        "breaking capacity of a relay on direct current",
        currents,
        wanted["current_a"],
        source_of(ROWS["C-relay-1"]),
        rel=tolerance,
        unit="A",
        each=[f"{one} V" for one in inputs["voltage_v"]],
    )


def test_bleed_resistors_for_five_seconds_and_one_second_equal_the_hand_calculation(compare):
    wanted, tolerance = expected("C-bus-1")
    bus = {"capacitance_f": 470e-6, "bus_voltage_v": 170}
    five, one = (bleed_resistor_limit_ohm(seconds, **bus) for seconds in (5.0, 1.0))
    compare(
        "bleed resistor for five seconds",
        five,
        wanted["ohm_5s"],
        source_of(ROWS["C-bus-1"]),
        rel=tolerance,
        unit="ohm",
    )
    compare(
        "bleed resistor for one second",
        one,
        wanted["ohm_1s"],
        source_of(ROWS["C-bus-1"]),
        rel=tolerance,
        unit="ohm",
    )
    compare(
        "heat of a bleed resistor for five seconds",
        bleed_power_w(170, bleed_resistor_ohm=five),
        wanted["power_5s_w"],
        source_of(ROWS["C-bus-1"]),
        rel=tolerance,
        unit="W",
    )
    assert bleed_time_s(bleed_resistor_ohm=five, **bus) == pytest.approx(5.0, rel=1e-12)
    wanted, tolerance = expected("C-bus-2")
    compare(
        "capacitance whose charge is exempt at 170 V",
        exempt_capacitance_f(170) * 1e6,
        wanted["capacitance_uf"],
        source_of(ROWS["C-bus-2"]),
        abs=tolerance,
        unit="uF",
    )


def test_the_belt_carries_the_spindles_momentum_through_the_ratio(compare):
    wanted, _ = expected("C-slip-1")
    load = {"driven_inertia_kg_m2": 0.05}
    compare(
        "torque at the motor pulley",
        belt_torque_nm(60, motor_turns_per_spindle_turn=3, **load),
        wanted["motor_nm"],
        source_of(ROWS["C-slip-1"]),
        unit="N m",
    )
    compare(
        "torque at the spindle",
        belt_torque_nm(60, motor_turns_per_spindle_turn=1, **load),
        wanted["spindle_nm"],
        source_of(ROWS["C-slip-1"]),
        unit="N m",
    )


def test_a_chuck_of_a_known_sheet_is_pulled_by_the_torques_printed_there(compare):
    """0.006 kg m2 stopped from 1000 rpm evenly: 0.31 N m in 2 s, 1.26 N m in 0.5 s (worked by hand)."""
    slowing = 1000 * np.pi / 30 / np.array([2.0, 0.5])
    torques = unscrewing_torque_nm(slowing, chuck_inertia_kg_m2=0.006)
    compare(
        "torque that unscrews a chuck of 0.006 kg m2",
        torques,
        [0.31, 1.26],
        by_hand("J times slowing"),
        abs=5e-3,
        unit="N m",
        each=("stop in 2 s", "stop in 0.5 s"),
    )


def test_three_stops_of_a_small_lathe_equal_those_integrated_elsewhere(compare):
    wanted, tolerance = expected("C-stops")
    emf = spindle_emf_v_s_per_rad(0.29, motor_turns_per_spindle_turn=3)
    assert emf == pytest.approx(SMALL["spindle_emf_v_s_per_rad"])
    speeds = np.array(ROWS["C-stops"]["inputs"]["rpm"])
    each = [f"from {speed} rpm" for speed in speeds]
    compare(
        "time constant of the brake of a small lathe",
        brake_time_constant_s(resistor_ohm=8.0, **SMALL),
        wanted["tau_s"],
        source_of(ROWS["C-stops"]),
        rel=tolerance,
        unit="s",
    )
    found = stop(speeds, resistor_ohm=8.0, coulomb_rad_s2=4.0, viscous_per_s=0.03, **SMALL)
    compare(
        "peak current of a small lathe",
        found.peak_current_a,
        wanted["current_a"],
        source_of(ROWS["C-stops"]),
        rel=tolerance,
        unit="A",
        each=each,
    )
    compare(
        "time of a stop",
        found.time_s,
        wanted["time_s"],
        source_of(ROWS["C-stops"]),
        rel=1e-6,
        unit="s",
        each=each,
    )
    compare(
        "turns of a stop",
        found.turns,
        wanted["turns"],
        source_of(ROWS["C-stops"]),
        rel=1e-6,
        unit="turn",
        each=each,
    )
    energy_j = energy_of_rotation_j(speeds, inertia_kg_m2=0.045)
    compare(
        "energy of rotation",
        energy_j,
        wanted["energy_j"],
        source_of(ROWS["C-stops"]),
        rel=tolerance,
        unit="J",
        each=each,
    )


def test_a_tenth_of_a_second_at_600_rpm_is_one_turn_lost(compare):
    compare(
        "turns at 600 rpm in a tenth of a second",
        turns_while_waiting(600, contact_delay_s=0.1),
        1.0,
        by_hand("ten turns a second for a tenth of one"),
        unit="turn",
    )
