"""The threading pass against closed forms worked elsewhere, and against counting it edge by edge."""

import json
import math
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from simulate.threading_pass import RPM, PassTruth

from machinelab.leadscrew.gearing import screw_steps
from machinelab.spindle.brake import stop
from machinelab.threads.shoulder import ShoulderJob, highest_speed_rpm, passes
from machinelab.threads.shoulder_cycle import EVENTS, PassWork, pass_events
from machinelab.threads.shoulder_groove import crash_chance, groove_sd_mm, groove_turns, needed_groove_mm
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

ROWS = {row["id"]: row for row in json.loads((Path(__file__).parent / "data" / "shoulder.json").read_text())}
MIXED = Stopping(brake_drag_per_s=2.5, coulomb_rad_s2=4.0)
# So little friction that the resistor alone is left.
RESISTOR = Stopping(brake_drag_per_s=2.5, coulomb_rad_s2=1e-9)


def expected(name):
    row = ROWS[name]
    return pytest.approx(row["expected"], abs=row["tolerance"])


@pytest.mark.parametrize("name", ["D01", "D02"])
def test_a_stop_by_brake_and_friction_takes_the_time_and_turns_of_the_closed_form(name):
    found = run_on(ROWS[name]["inputs"]["rpm"], stopping=MIXED)
    assert [found.run_on_s, found.run_on_turns] == expected(name)


def test_a_steady_deceleration_is_the_textbooks():
    found = run_on(200, stopping=Stopping(coulomb_rad_s2=20.0))
    assert [found.run_on_s, found.run_on_turns] == expected("D04")


def test_a_resistor_almost_without_friction_makes_tau_times_speed():
    assert run_on(200, stopping=RESISTOR).run_on_turns == expected("D05")


def test_the_mixed_law_has_both_as_limits():
    tolerance = ROWS["D06"]["tolerance"]
    nearly_free = run_on(200, stopping=Stopping(brake_drag_per_s=2.5, coulomb_rad_s2=1e-5))
    nearly_unbraked = run_on(200, stopping=Stopping(brake_drag_per_s=1e-7, coulomb_rad_s2=20.0))
    assert nearly_free.run_on_turns == pytest.approx(ROWS["D05"]["expected"], rel=tolerance)
    assert nearly_unbraked.run_on_turns == pytest.approx(ROWS["D04"]["expected"][1], rel=tolerance)


def test_the_highest_speed_of_a_steady_brake_is_the_root_of_its_quadratic():
    row = ROWS["D08"]["inputs"]
    steady = Stopping(coulomb_rad_s2=row["a_rev_s2"] * 2 * math.pi)
    found = [
        highest_speed_rpm(
            turns, thread_lead_mm=1, reaction_s=row["t_r"], stopping=steady, fastest_speed_rpm=2000
        )
        for turns in row["G"]
    ]
    assert found == expected("D08")


def test_the_highest_speed_in_two_and_a_half_turns_by_hand_and_by_count():
    row = ROWS["D-239"]["inputs"]
    ends = {"thread_lead_mm": 1, "stopping": MIXED, "fastest_speed_rpm": 2000}
    found = [highest_speed_rpm(row["G"], reaction_s=reaction, **ends) for reaction in row["t_r"]]
    assert found == expected("D-239")


def test_the_highest_speed_of_a_resistor_without_friction_is_the_room_over_reaction_and_tau():
    """Closed form n = G/(t_r + tau), derived by hand."""
    found = highest_speed_rpm(
        3,
        thread_lead_mm=1,
        reaction_s=0.3,
        stopping=RESISTOR,
        fastest_speed_rpm=2000,
    )
    assert found == pytest.approx(60 * 3 / (0.3 + 0.4), rel=1e-7)


def test_a_stop_shares_its_energy_as_the_closed_form_has_it():
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
    assert parts == expected("D11")


def test_an_unbounded_catch_up_takes_the_time_distance_and_peak_that_were_simulated():
    row = ROWS["D12"]["inputs"]
    found = catch_up(row["v"], carriage_mm_s2=row["a"])
    assert [found.catch_up_s, row["v"] * found.catch_up_s, found.catch_up_peak_mm_s] == expected("D12")


@pytest.mark.parametrize("highest", [10.5, 12.0, 16.0, 25.0])
def test_a_bounded_catch_up_ends_with_no_phase_error_when_stepped_through(highest):
    speed, gain, step = 10.0, 200.0, 1e-6
    found = catch_up(speed, carriage_mm_s2=gain, highest_travel_mm_s=highest)
    peak = found.catch_up_peak_mm_s
    times = np.arange(0.0, found.catch_up_s, step) + step / 2
    rising, falling = gain * times, speed + gain * (found.catch_up_s - times)
    carriage = np.minimum(np.minimum(rising, falling), peak)
    assert float(np.sum(speed - carriage) * step) == pytest.approx(0.0, abs=2e-5)
    assert peak <= highest


def test_an_exponential_spin_up_uses_the_turns_of_its_integral():
    row = ROWS["D14"]["inputs"]
    found = spin_up_tail_turns(row["rpm"], time_s=3 * row["tau"], spin_up_time_s=row["tau"])
    assert found == expected("D14")


def test_a_steady_spin_up_is_a_steady_stop_run_backwards():
    assert spin_up_turns(200, spin_up_rad_s2=20.0) == pytest.approx(ROWS["D04"]["expected"][1], abs=1e-5)


def test_the_stepper_gains_speed_with_the_spindle():
    row = ROWS["D16"]["inputs"]
    found = motor_acceleration_rad_s2(
        row["a_spindle"],
        thread_lead_mm=Fraction(3, 2),
        screw_lead_mm=row["screw_lead"],
        motor_turns_per_screw_turn=row["R"],
    )
    assert found == expected("D16")


def test_a_fixed_offset_in_place_of_catching_up_tears_the_flank():
    row = ROWS["D17"]["inputs"]
    found = phase_error_mm(row["v1"], other_travel_mm_s=row["v2"], carriage_mm_s2=row["a"])
    assert found == expected("D17")


def test_half_a_second_at_200_rpm_eats_two_and_a_half_millimetres_of_a_pitch_of_one_and_a_half():
    travel_a_second = 1.5 * 200 / 60
    turns = overtravel_turns(200, reaction_s=0.5, run_on_turns=0.0)
    travel = needed_groove_mm(turns, thread_lead_mm=1.5)
    assert [travel_a_second, travel, turns] == expected("D-shoulder")


def test_the_lag_of_a_stepper_is_one_full_step_at_most_and_a_third_of_it_at_half_torque():
    """Sine of the electrical lag: half the torque at 30 degrees of the 90 to pull-out."""
    assert following_lag_mm(1.0, full_step_mm=0.0075) == pytest.approx(0.0075)
    assert following_lag_mm(0.5, full_step_mm=0.0075) == pytest.approx(0.0025)


def test_one_crash_in_a_hundred_passes_spoils_one_thread_of_eleven_passes_in_ten():
    chance = np.random.default_rng(7)
    threads = chance.random((200_000, 11)) < 0.01
    simulated = threads.any(axis=1).mean()
    assert crash_chance(0.01, thread_passes=11) == pytest.approx(simulated, abs=0.002)


MACHINES = {
    "late contact, brushes": (100.0, 0.3, Stopping(0.02, 0.17, 1.26, 2.31, 3.1, 0.021, 9e-5)),
    "quick brake": (250.0, 0.02, Stopping(0.0, 0.03, 5.0, 1.0, 4.0, 0.0, 0.0)),
    "no brake": (60.0, 0.25, Stopping(0.0, 0.0, 0.0, 0.0, 6.0, 0.02, 0.0)),
    "stands before the brake closes": (20.0, 0.1, Stopping(0.0, 0.9, 2.0, 2.0, 4.0, 0.0, 0.0)),
}
LEAD, COUNTS, RATIO = Fraction(127, 130), 2700, Fraction(48, 91)
WORK = PassWork(
    thread_length_mm=12.0,
    lead_in_mm=1.3,
    backlash_mm=0.12,
    spin_up_rad_s2=60.0,
    return_speed_rpm=80.0,
    infeed_s=3.0,
    retract_s=0.5,
    start_delay_s=0.15,
)


def count_by_count(speed_rpm, reaction_s, stopping):
    """A whole pass, edge by edge; the times of its events, and the machine at the end of it."""
    truth = PassTruth(
        counts_per_turn=COUNTS,
        ratio=RATIO,
        brake_drag_per_s=stopping.brake_drag_per_s,
        brush_speed_rad_s=stopping.brush_speed_rad_s,
        drags=tuple(stopping.drags.values()),
        drive_release_s=stopping.drive_release_s,
        contact_delay_s=stopping.contact_delay_s,
        spin_up_rad_s2=WORK.spin_up_rad_s2,
    )
    times = {}
    truth.wait(WORK.infeed_s + WORK.start_delay_s)
    speed = truth.start(speed_rpm, 1)
    end = (WORK.lead_in_mm + WORK.thread_length_mm) / float(LEAD)
    speed = truth.turn(speed, 1, lambda w: 0.0, until_turns=end)
    times["end of the thread"] = truth.time_s
    speed = truth.turn(speed, 1, lambda w: 0.0, for_s=reaction_s)
    times["stop commanded"] = truth.time_s
    truth.stop(speed, 1)
    times["spindle stands"] = truth.time_s
    stood = truth.turns, truth.screw.steps, truth.count
    truth.wait(WORK.retract_s)
    times["tool drawn back"] = truth.time_s
    truth.wait(WORK.start_delay_s)
    speed = truth.start(WORK.return_speed_rpm, -1)
    back = float(run_on(WORK.return_speed_rpm, stopping=stopping).run_on_turns)
    speed = truth.turn(speed, -1, lambda w: 0.0, until_turns=back)
    times["stop commanded on the way back"] = truth.time_s
    truth.stop(speed, -1)
    times["back at the start"] = truth.time_s
    return times, stood, truth


@pytest.mark.parametrize("name", MACHINES)
def test_the_whole_pass_agrees_with_counting_it_edge_by_edge(name):
    speed, reaction, stopping = MACHINES[name]
    times, (turns, steps, _), truth = count_by_count(speed, reaction, stopping)
    found = pass_events(speed, reaction_s=reaction, stopping=stopping, thread_lead_mm=LEAD, work=WORK)
    for event, counted_s in times.items():
        assert found.times_s[EVENTS.index(event)] == pytest.approx(counted_s, rel=1e-4), event
    run_on_s = times["spindle stands"] - times["stop commanded"]
    assert run_on(speed, stopping=stopping).run_on_s == pytest.approx(run_on_s, rel=1e-4)
    stands = float(found.angles_turns[EVENTS.index("spindle stands")])
    assert abs(int(screw_steps(math.floor(stands * COUNTS), RATIO)) - steps) <= 1
    assert stands == pytest.approx(turns, abs=1 / COUNTS)
    assert abs(truth.count) <= 1, "the way back ends where it began"


def test_neither_speed_nor_reaction_nor_the_way_back_changes_where_a_count_puts_the_screw():
    for speed, reaction, stopping in MACHINES.values():
        _, (_, steps, count), truth = count_by_count(speed, reaction, stopping)
        assert abs(steps - int(screw_steps(count, RATIO))) <= 1
        assert abs(truth.screw.steps - int(screw_steps(truth.count, RATIO))) <= 1


def test_the_tool_is_out_before_the_spindle_reverses():
    order = [EVENTS.index(event) for event in ("spindle stands", "tool drawn back", "spindle reversed")]
    assert order == sorted(order)
    speed, reaction, stopping = MACHINES["quick brake"]
    found = pass_events(speed, reaction_s=reaction, stopping=stopping, thread_lead_mm=LEAD, work=WORK)
    assert np.all(np.diff(found.times_s) >= 0)


def test_a_spread_to_first_order_is_that_of_many_small_draws():
    """The law of propagation of uncertainty against ten thousand passes."""
    chance = np.random.default_rng(3)
    speed, reaction_s = 150.0, 0.3
    speeds = chance.normal(speed, 1.5, 40_000)
    reactions = chance.normal(reaction_s, 0.03, 40_000)
    job = ShoulderJob(LEAD, 3.0, 0.5, 0.3, 10)
    found = passes(speeds, reaction_s=reactions, stopping=MIXED, job=job, work=WORK)
    nearby = run_on(np.array([speed - 0.1, speed + 0.1]), stopping=MIXED).run_on_turns
    first_order = groove_sd_mm(
        speed,
        thread_lead_mm=LEAD,
        reaction_s=reaction_s,
        reaction_sd_s=0.03,
        run_on_sd_turns=0.0,
        turns_per_rpm=float(np.diff(nearby)[0] / 0.2),
        speed_sd_rpm=1.5,
    )
    assert found.groove_mm.sd_mm == pytest.approx(float(first_order), rel=0.02)


def test_the_groove_slopes_are_the_derivatives_of_the_closed_form():
    """For the mixed law theta = tau (w - w_c ln(1 + w/w_c)): d theta/d w = tau w/(w + w_c), by hand."""
    speed = 200.0
    w, tau, a = speed * RPM, 0.4, 4.0
    knee = tau * a
    log = math.log(1 + w / knee)
    found = groove_slopes(speed, reaction_s=0.3, stopping=MIXED, thread_lead_mm=1)
    assert found.per_reaction_second == pytest.approx(speed / 60, rel=1e-6)
    assert found.per_rpm == pytest.approx(0.3 / 60 + RPM * tau * w / (w + knee) / (2 * math.pi), rel=1e-6)
    by_tau = (w - knee * log) + tau * (-a * log + w * a / (w + knee))
    assert found.per_brake_share == pytest.approx(by_tau * tau / (2 * math.pi), rel=1e-5)
    by_friction = tau * (-tau * log + tau * w / (w + knee)) * a
    assert found.per_friction_share == pytest.approx(by_friction / (2 * math.pi), rel=1e-5)


def test_reaction_and_brake_share_the_groove_evenly_at_200_rpm():
    """About 1.07 turns for reaction and relay, 1.06 for the brake: halving either helps the same."""
    assert overtravel_turns(200, reaction_s=0.32, run_on_turns=0.0) == pytest.approx(1.07, abs=0.005)
    assert run_on(200, stopping=MIXED).run_on_turns == pytest.approx(1.06, abs=0.005)


def test_room_in_turns_and_groove_in_millimetres_are_each_others_inverse():
    tool = {"thread_lead_mm": Fraction(-3, 2), "tool_half_width_mm": 0.8, "wall_clearance_mm": 0.3}
    assert groove_turns(needed_groove_mm(2.25, **tool), **tool) == pytest.approx(2.25, rel=1e-12)
