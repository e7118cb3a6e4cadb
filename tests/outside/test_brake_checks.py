"""The resistor brake against figures worked or integrated elsewhere, and against an ODE solver run here."""

import json
from pathlib import Path

import numpy as np
import pytest
from simulate.brake_log import ANGLE, ARMATURE, BRUSHES, FRICTION, RESISTOR, BrakedTruth
from simulate.coast_log import Truth

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
from machinelab.spindle.brake_design import late_stop, resistor_for_current_ohm, two_stage_stop
from machinelab.spindle.brake_heat import (
    adiabatic_rise_k,
    average_power_w,
    energy_of_rotation_j,
    rise_after_stops_k,
    steady_peak_rise_k,
)
from machinelab.spindle.brake_law import braked_speed_rad_s, braked_turns_made
from machinelab.spindle.brake_limits import belt_torque_nm

ROWS = {row["id"]: row for row in json.loads((Path(__file__).parent / "data" / "brake.json").read_text())}
LATHE = {"spindle_emf_v_s_per_rad": 1.97, "armature_resistance_ohm": 1.6, "inertia_kg_m2": 0.05}
DRAGS = {"coulomb_rad_s2": 3.0, "viscous_per_s": 0.02, "windage_per_rad": 1e-4}
SMALL = {"spindle_emf_v_s_per_rad": 0.87, "armature_resistance_ohm": 1.1, "inertia_kg_m2": 0.045}

# With brushes, as a motor really is: two machines, and one whose brushes eat most of the volts.
MACHINES = {
    "ribbed belt": BrakedTruth(Truth(1200, 3.1, 0.021, 9e-5), 0.864, 1.2, 12.0, 2.0, 0.045, 0.17),
    "small bench lathe": BrakedTruth(Truth(2200, 5.0, 0.0, 0.0), 0.85, 2.6, 20.0, 2.0, 0.012, 0.03),
    "slow, tired motor": BrakedTruth(Truth(300, 1.5, 0.04, 2e-4), 0.5, 3.0, 1.0, 2.5, 0.2, 0.6),
}


def expected(name):
    row = ROWS[name]
    return row["expected"], row["tolerance"]


def circuit(truth):
    return {
        "spindle_emf_v_s_per_rad": truth.spindle_emf_v_s,
        "armature_resistance_ohm": truth.armature_ohm,
        "resistor_ohm": truth.resistor_ohm,
        "brush_drop_v": truth.brush_v,
        "inertia_kg_m2": truth.inertia_kg_m2,
        "coulomb_rad_s2": truth.free.coulomb_rad_s2,
        "viscous_per_s": truth.free.viscous_per_s,
        "windage_per_rad": truth.free.windage_per_rad,
    }


@pytest.fixture(params=MACHINES.values(), ids=MACHINES.keys())
def truth(request):
    return request.param


def test_the_resistor_alone_gives_its_time_constant_and_turns_in_proportion_to_speed():
    wanted, tolerance = expected("C-brake-1")
    tau_s = brake_time_constant_s(resistor_ohm=12.4, **LATHE)
    assert tau_s == pytest.approx(wanted["tau_s"], rel=tolerance)
    assert frictionless_turns(1000, brake_time_constant_s=tau_s) == pytest.approx(
        wanted["turns"], rel=tolerance
    )


def test_stop_time_and_turns_with_friction_equal_those_integrated_elsewhere():
    wanted, tolerance = expected("C-brake-2")
    found = stop(1000, resistor_ohm=12.4, **LATHE, **DRAGS)
    assert found.time_s == pytest.approx(wanted["t_stop_s"], rel=tolerance)
    assert found.turns == pytest.approx(wanted["turns"], rel=tolerance)


def test_the_resistor_for_five_turns_and_its_peak_current_equal_those_found_elsewhere():
    wanted, tolerance = expected("C-brake-3")
    resistor_ohm = resistor_for_turns(5, 1000, **LATHE, **DRAGS)
    assert resistor_ohm + 1.6 == pytest.approx(wanted["loop_ohm"], rel=tolerance)
    found = stop(1000, resistor_ohm=resistor_ohm, **LATHE, **DRAGS)
    assert found.peak_current_a == pytest.approx(wanted["peak_a"], rel=tolerance)
    assert found.turns == pytest.approx(5, rel=1e-9)


def test_energy_of_rotation_and_its_split_by_resistance_equal_those_integrated_elsewhere():
    whole, tolerance = expected("C-energy-1")
    assert energy_of_rotation_j(1000, inertia_kg_m2=0.05) == pytest.approx(whole["energy_j"], rel=tolerance)
    wanted, tolerance = expected("C-energy-2")
    found = stop(1000, resistor_ohm=12.4, **LATHE, **DRAGS)
    assert found.armature_energy_j == pytest.approx(wanted["armature_j"], rel=tolerance)
    assert found.resistor_energy_j == pytest.approx(wanted["resistor_j"], rel=tolerance)
    assert found.friction_energy_j == pytest.approx(wanted["friction_j"], rel=tolerance)
    electrical_j = found.armature_energy_j + found.resistor_energy_j
    assert electrical_j == pytest.approx(wanted["electrical_j"], rel=tolerance)


def test_one_stop_warms_the_body_and_twelve_seconds_apart_they_make_twenty_watts():
    wanted, tolerance = expected("C-energy-3")
    rise_k = adiabatic_rise_k(240, heated_mass_kg=0.1, specific_heat_j_per_kg_k=900)
    assert rise_k == pytest.approx(wanted["rise_k"], rel=tolerance)
    wanted, tolerance = expected("C-energy-4")
    assert average_power_w(240, period_s=12) == pytest.approx(wanted["power_w"], rel=tolerance)


def test_repeated_stops_warm_the_body_as_a_count_of_stop_after_stop_does():
    warm, rises = 0.0, []
    for _ in range(400):
        warm = warm * np.exp(-12 / 240) + 2.6667
        rises.append(warm)
    several = rise_after_stops_k(2.6667, stops=np.arange(1, 401), period_s=12, cooling_time_s=240)
    assert several == pytest.approx(rises, rel=1e-9)
    assert steady_peak_rise_k(2.6667, period_s=12, cooling_time_s=240) == pytest.approx(rises[-1], rel=1e-6)


def test_peak_current_equals_the_hand_calculation():
    wanted, tolerance = expected("C-peak-1")
    ohms = {"armature_resistance_ohm": 1.6, "resistor_ohm": 10.0}
    current_a = peak_brake_current_a(2500, spindle_emf_v_s_per_rad=0.657, **ohms)
    assert current_a == pytest.approx(wanted["current_a"], rel=tolerance)
    assert current_a / 5 == pytest.approx(wanted["multiple"], rel=tolerance)


def test_the_resistor_of_a_published_design_line_is_voltage_over_permissible_current():
    """Published design line for dynamic braking: R = V / I permissible (read as an excerpt)."""
    emf_v = 0.657 * 2500 * np.pi / 30
    ohms = resistor_for_current_ohm(
        15.0, start_speed_rpm=2500, spindle_emf_v_s_per_rad=0.657, armature_resistance_ohm=1.6
    )
    assert ohms + 1.6 == pytest.approx(emf_v / 15.0, rel=1e-12)


def test_breaking_capacity_at_the_data_sheets_own_voltages_is_as_printed():
    wanted, tolerance = expected("C-relay-1")
    inputs = ROWS["C-relay-1"]["inputs"]
    currents = dc_breaking_current_a(np.array(inputs["voltage_v"]), relay=inputs["relay"])
    assert currents == pytest.approx(wanted["current_a"], rel=tolerance)


def test_bleed_resistors_for_five_seconds_and_one_second_equal_the_hand_calculation():
    wanted, tolerance = expected("C-bus-1")
    bus = {"capacitance_f": 470e-6, "bus_voltage_v": 170}
    five, one = (bleed_resistor_limit_ohm(seconds, **bus) for seconds in (5.0, 1.0))
    assert five == pytest.approx(wanted["ohm_5s"], rel=tolerance)
    assert one == pytest.approx(wanted["ohm_1s"], rel=tolerance)
    assert bleed_power_w(170, bleed_resistor_ohm=five) == pytest.approx(wanted["power_5s_w"], rel=tolerance)
    assert bleed_time_s(bleed_resistor_ohm=five, **bus) == pytest.approx(5.0, rel=1e-12)
    wanted, tolerance = expected("C-bus-2")
    assert exempt_capacitance_f(170) * 1e6 == pytest.approx(wanted["capacitance_uf"], abs=tolerance)


def test_the_belt_carries_the_spindles_momentum_through_the_ratio():
    wanted, _ = expected("C-slip-1")
    load = {"driven_inertia_kg_m2": 0.05}
    assert belt_torque_nm(60, motor_turns_per_spindle_turn=3, **load) == wanted["motor_nm"]
    assert belt_torque_nm(60, motor_turns_per_spindle_turn=1, **load) == wanted["spindle_nm"]


def test_a_chuck_of_a_known_sheet_is_pulled_by_the_torques_printed_there():
    """0.006 kg m2 stopped from 1000 rpm evenly: 0.31 N m in 2 s, 1.26 N m in 0.5 s (worked by hand)."""
    slowing = 1000 * np.pi / 30 / np.array([2.0, 0.5])
    torques = unscrewing_torque_nm(slowing, chuck_inertia_kg_m2=0.006)
    assert torques == pytest.approx([0.31, 1.26], abs=5e-3)


def test_three_stops_of_a_small_lathe_equal_those_integrated_elsewhere():
    wanted, tolerance = expected("C-stops")
    emf = spindle_emf_v_s_per_rad(0.29, motor_turns_per_spindle_turn=3)
    assert emf == pytest.approx(SMALL["spindle_emf_v_s_per_rad"])
    speeds = np.array(ROWS["C-stops"]["inputs"]["rpm"])
    assert brake_time_constant_s(resistor_ohm=8.0, **SMALL) == pytest.approx(wanted["tau_s"], rel=tolerance)
    found = stop(speeds, resistor_ohm=8.0, coulomb_rad_s2=4.0, viscous_per_s=0.03, **SMALL)
    assert found.peak_current_a == pytest.approx(wanted["current_a"], rel=tolerance)
    assert found.time_s == pytest.approx(wanted["time_s"], rel=1e-6)
    assert found.turns == pytest.approx(wanted["turns"], rel=1e-6)
    energy_j = energy_of_rotation_j(speeds, inertia_kg_m2=0.045)
    assert energy_j == pytest.approx(wanted["energy_j"], rel=tolerance)


def test_a_tenth_of_a_second_at_600_rpm_is_one_turn_lost():
    assert turns_while_waiting(600, contact_delay_s=0.1) == 1.0


def test_a_late_stop_with_brushes_equals_an_ode_solver_run_here(truth):
    time_s, state = truth.stop(truth.free.start_rpm)
    found = late_stop(truth.free.start_rpm, contact_delay_s=truth.contact_delay_s, **circuit(truth))
    assert found.time_s == pytest.approx(time_s, rel=1e-7)
    assert found.turns == pytest.approx(state[ANGLE] / (2 * np.pi), rel=1e-7)
    assert found.resistor_energy_j == pytest.approx(state[RESISTOR], rel=1e-7)
    assert found.armature_energy_j == pytest.approx(state[ARMATURE], rel=1e-7)
    assert found.brush_energy_j == pytest.approx(state[BRUSHES], rel=1e-7)


def test_the_heat_by_friction_equals_an_ode_solver_run_here(truth):
    prompt = BrakedTruth(
        truth.free, truth.spindle_emf_v_s, truth.armature_ohm, truth.resistor_ohm, truth.brush_v,
        truth.inertia_kg_m2,
    )  # fmt: skip
    _, state = prompt.stop(truth.free.start_rpm)
    found = stop(truth.free.start_rpm, **circuit(truth))
    assert found.friction_energy_j == pytest.approx(state[FRICTION], rel=1e-7)


def test_speed_and_turns_on_the_way_down_equal_an_ode_solver_run_here(truth):
    speed_rpm, turns = BrakedTruth(
        Truth(truth.free.start_rpm, truth.free.coulomb_rad_s2, truth.free.viscous_per_s,
              truth.free.windage_per_rad, start_s=0.0),
        truth.spindle_emf_v_s, truth.armature_ohm, truth.resistor_ohm, truth.brush_v, truth.inertia_kg_m2,
    ).run()  # fmt: skip
    inputs = circuit(truth)
    loop = inputs["armature_resistance_ohm"] + inputs["resistor_ohm"]
    law = {
        "start_speed_rad_s": truth.free.start_rpm * np.pi / 30,
        "brake_drag_per_s": truth.spindle_emf_v_s**2 / (loop * truth.inertia_kg_m2),
        "brush_speed_rad_s": truth.brush_v / truth.spindle_emf_v_s,
        **{name: inputs[name] for name in ("coulomb_rad_s2", "viscous_per_s", "windage_per_rad")},
    }
    times = np.linspace(0, 1.2 * float(stop(truth.free.start_rpm, **inputs).time_s), 40)
    assert braked_speed_rad_s(times, **law) * 30 / np.pi == pytest.approx(speed_rpm(times), abs=1e-5)
    assert braked_turns_made(times, **law) == pytest.approx(turns(times), abs=1e-7)


def test_a_two_stage_stop_equals_two_integrations_joined_at_the_switch(truth):
    second_ohm = truth.resistor_ohm / 4
    found = two_stage_stop(truth.free.start_rpm, second_resistor_ohm=second_ohm, **circuit(truth))
    first = BrakedTruth(
        truth.free, truth.spindle_emf_v_s, truth.armature_ohm, truth.resistor_ohm, truth.brush_v,
        truth.inertia_kg_m2,
    )  # fmt: skip
    second = BrakedTruth(
        truth.free, truth.spindle_emf_v_s, truth.armature_ohm, second_ohm, truth.brush_v, truth.inertia_kg_m2
    )
    switch_rpm = float(found.switch_speed_rpm)
    (all_s, whole), (rest_s, rest), (last_s, last) = (
        first.stop(truth.free.start_rpm), first.stop(switch_rpm), second.stop(switch_rpm),
    )  # fmt: skip
    assert found.time_s == pytest.approx(all_s - rest_s + last_s, rel=1e-7)
    turns = (whole[ANGLE] - rest[ANGLE] + last[ANGLE]) / (2 * np.pi)
    assert found.turns == pytest.approx(turns, rel=1e-7)
    ohms = {"armature_resistance_ohm": truth.armature_ohm, "resistor_ohm": second_ohm}
    again_a = peak_brake_current_a(
        switch_rpm, spindle_emf_v_s_per_rad=truth.spindle_emf_v_s, brush_drop_v=truth.brush_v, **ohms
    )
    assert again_a == pytest.approx(found.peak_current_a, rel=1e-12)
