"""The braked stop against an ODE solver run here."""

import numpy as np
import pytest
from inspection.source import run_here
from simulate.brake_log import ANGLE, ARMATURE, BRUSHES, FRICTION, RESISTOR, BrakedTruth
from simulate.coast_log import Truth

from machinelab.spindle.brake import stop
from machinelab.spindle.brake_circuit import (
    peak_brake_current_a,
)
from machinelab.spindle.brake_design import late_stop, two_stage_stop
from machinelab.spindle.brake_law import braked_speed_rad_s, braked_turns_made

ROOM = "spindle"
SOLVER = run_here("integration by an ODE solver", "error of the solver")
# With brushes, as a motor really is: two machines, and one whose brushes eat most of the volts.
MACHINES = {
    "ribbed belt": BrakedTruth(Truth(1200, 3.1, 0.021, 9e-5), 0.864, 1.2, 12.0, 2.0, 0.045, 0.17),
    "small bench lathe": BrakedTruth(Truth(2200, 5.0, 0.0, 0.0), 0.85, 2.6, 20.0, 2.0, 0.012, 0.03),
    "slow, tired motor": BrakedTruth(Truth(300, 1.5, 0.04, 2e-4), 0.5, 3.0, 1.0, 2.5, 0.2, 0.6),
}


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


def test_a_late_stop_with_brushes_equals_an_ode_solver_run_here(compare, truth):
    time_s, state = truth.stop(truth.free.start_rpm)
    found = late_stop(truth.free.start_rpm, contact_delay_s=truth.contact_delay_s, **circuit(truth))
    compare("late stop with brushes, time", found.time_s, time_s, SOLVER, rel=1e-7, unit="s")
    compare(
        "late stop with brushes, turns",
        found.turns,
        state[ANGLE] / (2 * np.pi),
        SOLVER,
        rel=1e-7,
        unit="turn",
    )
    compare(
        "late stop, heat in the resistor",
        found.resistor_energy_j,
        state[RESISTOR],
        SOLVER,
        rel=1e-7,
        unit="J",
    )
    compare(
        "late stop, heat in the armature",
        found.armature_energy_j,
        state[ARMATURE],
        SOLVER,
        rel=1e-7,
        unit="J",
    )
    compare(
        "late stop, heat at the brushes", found.brush_energy_j, state[BRUSHES], SOLVER, rel=1e-7, unit="J"
    )


def test_the_heat_by_friction_equals_an_ode_solver_run_here(compare, truth):
    prompt = BrakedTruth(
        truth.free, truth.spindle_emf_v_s, truth.armature_ohm, truth.resistor_ohm, truth.brush_v,
        truth.inertia_kg_m2,
    )  # fmt: skip
    _, state = prompt.stop(truth.free.start_rpm)
    found = stop(truth.free.start_rpm, **circuit(truth))
    compare(
        "heat by friction with brushes", found.friction_energy_j, state[FRICTION], SOLVER, rel=1e-7, unit="J"
    )


def test_speed_and_turns_on_the_way_down_equal_an_ode_solver_run_here(compare, truth):
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
    compare.worst(
        "speed on the way down, 40 times",
        braked_speed_rad_s(times, **law) * 30 / np.pi,
        speed_rpm(times),
        SOLVER,
        abs=1e-5,
        unit="rpm",
    )
    compare.worst(
        "turns on the way down, 40 times",
        braked_turns_made(times, **law),
        turns(times),
        SOLVER,
        abs=1e-7,
        unit="turn",
    )


def test_a_two_stage_stop_equals_two_integrations_joined_at_the_switch(compare, truth):
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
    compare("two-stage stop, time", found.time_s, all_s - rest_s + last_s, SOLVER, rel=1e-7, unit="s")
    turns = (whole[ANGLE] - rest[ANGLE] + last[ANGLE]) / (2 * np.pi)
    compare("two-stage stop, turns", found.turns, turns, SOLVER, rel=1e-7, unit="turn")
    ohms = {"armature_resistance_ohm": truth.armature_ohm, "resistor_ohm": second_ohm}
    again_a = peak_brake_current_a(
        switch_rpm, spindle_emf_v_s_per_rad=truth.spindle_emf_v_s, brush_drop_v=truth.brush_v, **ohms
    )
    assert again_a == pytest.approx(found.peak_current_a, rel=1e-12)
