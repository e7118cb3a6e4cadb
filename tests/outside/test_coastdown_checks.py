"""Coast-down and meter lag against published figures, and against integration by an ODE solver."""

import json
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from inspection.source import run_here, source_of
from simulate.coast_log import RPM, Truth

from machinelab.spindle.coast_inertia import disc_inertia_kg_m2, inertia_from_disc
from machinelab.spindle.coast_law import coast_speed_rad_s, coast_stop_time_s, coast_turns, coast_turns_made
from machinelab.spindle.coastdown import fit
from machinelab.spindle.speed_meter import reading_age_s, reading_ahead_rpm, settling_time_s

ROOM = "spindle"
SOLVER = run_here("integration by an ODE solver", "error of the solver")

ROWS = {row["id"]: row for row in json.loads((Path(__file__).parent / "data" / "coastdown.json").read_text())}
COASTS = ("B-coast-1", "B-coast-2", "B-coast-4", "B-coast-5", "B-coast-7")


def drags(row):
    inputs = row["inputs"]
    return {
        "coulomb_rad_s2": inputs["a_rad_s2"],
        "viscous_per_s": inputs["b_per_s"],
        "windage_per_rad": inputs["c_per_rad"],
    }


@pytest.mark.parametrize("name", COASTS)
def test_stop_time_turns_and_speed_equal_the_integrated_run_down(compare, name):
    """Values integrated elsewhere at a relative tolerance of 1e-11; both signs of the discriminant."""
    row = ROWS[name]
    start, expected = row["inputs"]["w0_rad_s"], row["expected"]
    compare(
        f"time to stop, {name}",
        coast_stop_time_s(start, **drags(row)),
        expected["t_stop_s"],
        source_of(row),
        rel=1e-6,
        unit="s",
    )
    compare(
        f"turns to stop, {name}",
        coast_turns(start, **drags(row)),
        expected["turns"],
        source_of(row),
        rel=1e-6,
        unit="turn",
    )
    after_ten = coast_speed_rad_s(10.0, start_speed_rad_s=start, **drags(row))
    compare(
        f"speed after ten seconds, {name}",
        after_ten,
        expected["w_10s"],
        source_of(row),
        rel=1e-6,
        unit="rad/s",
    )


@pytest.mark.parametrize("name", COASTS)
def test_stop_time_and_turns_equal_an_ode_solver_run_here(compare, name):
    row = ROWS[name]
    start = row["inputs"]["w0_rad_s"]
    time_s, turns = Truth(start / RPM, *drags(row).values()).stop(start / RPM)
    compare(
        f"time to stop, {name}", coast_stop_time_s(start, **drags(row)), time_s, SOLVER, rel=1e-8, unit="s"
    )
    compare(f"turns to stop, {name}", coast_turns(start, **drags(row)), turns, SOLVER, rel=1e-8, unit="turn")


def test_viscous_spin_down_equals_a_university_lab_sheet(compare):
    """Pre-lab answers of a university motor spin-down sheet: 1000 rad/s, time constant 1 s."""
    speeds = coast_speed_rad_s(
        np.array([1.0, 3.0]), start_speed_rad_s=1000.0, coulomb_rad_s2=0.0, viscous_per_s=1.0
    )
    expected = ROWS["B-lab-1"]["expected"]
    compare(
        "speed under viscous drag from 1000 rad/s",
        speeds,
        [expected["w1"], expected["w3"]],
        source_of(ROWS["B-lab-1"]),
        abs=0.05,
        unit="rad/s",
        each=("after 1 s", "after 3 s"),
    )


def test_machine_constants_of_a_university_page_stop_from_1500_rpm_in_their_time(compare):
    """Constants printed on a university page on machine parameters; the time derived from them."""
    inputs = ROWS["B-lab-2"]["inputs"]
    coulomb, viscous = inputs["Tf"] / inputs["J"], inputs["kv"] / inputs["J"]
    time_s = coast_stop_time_s(inputs["rpm"] * RPM, coulomb_rad_s2=coulomb, viscous_per_s=viscous)
    compare(
        "time to stop from 1500 rpm by printed constants",
        time_s,
        ROWS["B-lab-2"]["expected"]["t_stop_s"],
        source_of(ROWS["B-lab-2"]),
        rel=1e-3,
        unit="s",
    )


def test_published_flywheel_ratios_stop_in_their_time_when_read_in_radians(compare):
    """Ratios of an instrument maker's note; the page does not print their unit, rad/s is assumed."""
    inputs, expected = ROWS["B-lab-3"]["inputs"], ROWS["B-lab-3"]["expected"]
    law = {"coulomb_rad_s2": inputs["a"], "viscous_per_s": inputs["b"]}
    compare(
        "time to stop of a flywheel by printed ratios",
        coast_stop_time_s(inputs["w0_rad_s"], **law),
        expected["t_stop_s"],
        source_of(ROWS["B-lab-3"]),
        rel=1e-3,
        unit="s",
    )
    compare(
        "turns to stop of a flywheel by printed ratios",
        coast_turns(inputs["w0_rad_s"], **law),
        expected["turns"],
        source_of(ROWS["B-lab-3"]),
        rel=1e-3,
        unit="turn",
    )


def test_a_steady_torque_stops_a_spindle_in_the_time_of_a_textbook_run_up(compare):
    """Textbook exercise with its answer 7.958e-2 kg m2: 5 N m, 1800 rpm, 3 s; run backwards."""
    inputs, expected = ROWS["B-lab-4"]["inputs"], ROWS["B-lab-4"]["expected"]
    time_s = coast_stop_time_s(inputs["dn_rpm"] * RPM, coulomb_rad_s2=inputs["T"] / expected["J"])
    compare(
        "time of a run-up by 5 N m to 1800 rpm, run backwards",
        time_s,
        inputs["dt_s"],
        source_of(ROWS["B-lab-4"]),
        rel=2e-5 / expected["J"],
        unit="s",
    )


def test_torque_after_a_step_of_load_approaches_as_viscous_drag_dies_away(compare):
    """Published exercise, answer 35.2: what is missing dies away like a speed under viscous drag alone."""
    inputs = ROWS["B-lab-5"]["inputs"]
    missing_nm = coast_speed_rad_s(
        inputs["t"],
        start_speed_rad_s=inputs["TL"] - inputs["T0"],
        coulomb_rad_s2=0.0,
        viscous_per_s=1 / (inputs["J"] * inputs["slope"]),
    )
    compare(
        "torque after a step of load",
        inputs["TL"] - missing_nm,
        ROWS["B-lab-5"]["expected"]["T"],
        source_of(ROWS["B-lab-5"]),
        abs=5e-4,
        unit="N m",
    )


def a_run_down(coulomb_rad_s2):
    """Speeds without a fault, of a spindle that dry friction alone stops, logged by a meter without lag."""
    time_s = np.arange(0, 100 / coulomb_rad_s2, 0.25)
    return SimpleNamespace(time_s=time_s, speed_rpm=(100 - coulomb_rad_s2 * time_s) / RPM)


def test_a_disc_that_slows_every_drag_by_one_ratio_tells_the_inertia(compare):
    """Derived: Ja/(a1/a2 - 1), printed to a millionth of a kg m2; read here off two whole run-downs."""
    inputs = ROWS["B-inertia-1"]["inputs"]
    runs = ([fit(a_run_down(inputs[drag]))] for drag in ("a1", "a2"))
    found = inertia_from_disc(*runs, added_inertia_kg_m2=inputs["Ja"])
    compare(
        "inertia told by a disc that was added",
        found.inertia_kg_m2.value,
        ROWS["B-inertia-1"]["expected"]["J"],
        source_of(ROWS["B-inertia-1"]),
        abs=5e-7,
        unit="kg m2",
    )


def test_turns_made_after_the_stop_are_all_the_turns(compare):
    law = {"coulomb_rad_s2": 3.0, "viscous_per_s": 0.02, "windage_per_rad": 1e-4}
    made = coast_turns_made(1e4, start_speed_rad_s=125.0, **law)
    compare(
        "turns made long after the stop",
        made,
        ROWS["B-coast-1"]["expected"]["turns"],
        source_of(ROWS["B-coast-1"]),
        rel=1e-6,
        unit="turn",
    )


def test_meter_reads_high_by_slope_times_lag_on_a_steady_ramp(compare):
    row = ROWS["B-lag-1"]
    ahead = reading_ahead_rpm(row["inputs"]["tau"], speed_change_rpm_s=row["inputs"]["slope_rpm_s"])
    compare(
        "what a lagging meter shows too much on a ramp",
        ahead,
        row["expected"]["error_rpm"],
        source_of(row),
        abs=1e-6,
        unit="rpm",
    )


def test_a_held_display_is_late_by_half_its_hold_and_the_lag(compare):
    """Derived; no gate."""
    row = ROWS["B-ramp-hold"]
    age_s = reading_age_s(lag_s=row["inputs"]["tau"], gate_s=0.0, hold_s=row["inputs"]["hold_s"])
    compare("age of a held reading", age_s, row["expected"]["delay_s"], source_of(row), abs=1e-9, unit="s")


def test_meter_settles_to_one_percent_and_to_one_per_mille_in_the_textbook_times(compare):
    row = ROWS["D-settle"]
    times = settling_time_s(row["inputs"]["tau"], share_left=np.array([0.01, 0.001]))
    compare(
        "time until a meter has settled",
        times,
        [row["expected"]["t1"], row["expected"]["t01"]],
        source_of(row),
        abs=1e-3,
        unit="s",
        each=("to 1 %", "to 0.1 %"),
    )
    one_lag = settling_time_s(1.0, share_left=1 - ROWS["D-63"]["expected"]["f"])
    compare(
        "lags until 63 % are shown", one_lag, 1.0, source_of(ROWS["D-63"]), abs=1e-5 / np.exp(-1), unit="lag"
    )


def test_inertia_of_a_steel_disc_of_150_by_30_is_that_of_a_solid_cylinder(compare):
    row = ROWS["B-inertia-2"]
    computed = disc_inertia_kg_m2(
        row["inputs"]["d_mm"], row["inputs"]["t_mm"], density_kg_m3=row["inputs"]["rho"]
    )
    compare(
        "inertia of a steel disc of 150 by 30 mm",
        computed,
        row["expected"]["J"],
        source_of(row),
        rel=1e-4,
        unit="kg m2",
    )
