"""A threading pass and its brake, event by event and field by field, against the laws of steady motion."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from machinelab.errors import RangeError
from machinelab.spindle.brake_design import late_stop
from machinelab.threads.shoulder import ShoulderJob, passes
from machinelab.threads.shoulder_cycle import EVENTS, PassWork, pass_events
from machinelab.threads.shoulder_groove import crash_chance, needed_groove_mm
from machinelab.threads.shoulder_heat import BrakeCircuit, pass_heat
from machinelab.threads.shoulder_speed import highest_speed_rpm
from machinelab.threads.shoulder_stop import Stopping, braked_by_resistor, overtravel_turns, run_on

few = settings(max_examples=25)
BRAKE = Stopping(contact_delay_s=0.05, brake_drag_per_s=2.5, brush_speed_rad_s=2.0, coulomb_rad_s2=4.0)
CIRCUIT = BrakeCircuit(0.864, 1.2, 12.0, 2.0, 0.045)


def event(found, name: str):
    at = EVENTS.index(name)
    return float(found.times_s[at]), float(found.angles_turns[at]), float(found.travels_mm[at])


def gained_s(turns: float, rad_s2: float) -> float:
    """Time for the first turns of a steady gain of speed: angle is half the gain times time squared."""
    return np.sqrt(2 * 2 * np.pi * turns / rad_s2)


@few
@given(
    st.floats(0.4, 6), st.floats(0.05, 0.5), st.floats(0.3, 1.2), st.floats(20, 90), st.sampled_from([1, -1])
)
def test_each_event_of_a_pass_stands_where_and_when_steady_motion_puts_it(
    lead, backlash, lead_in, gain, hand
):
    work = PassWork(20, backlash + lead_in, backlash, gain, 120, 3.0, 0.5, 0.1)
    found = pass_events(90, reaction_s=0.4, stopping=BRAKE, thread_lead_mm=hand * lead, work=work)
    assert event(found, "tool set to depth") == event(found, "start commanded") == (3.0, 0.0, 0.0)

    def reached(travel_mm, rpm=90):
        turns = travel_mm / lead
        full = (rpm * 2 * np.pi / 60) ** 2 / 2 / gain / 2 / np.pi
        return gained_s(min(turns, full), gain) + max(turns - full, 0) / (rpm / 60)

    for name, screw_mm in (
        ("backlash taken up", backlash),
        ("tool meets the work", backlash + lead_in),
        ("end of the thread", backlash + lead_in + 20),
        ("stop commanded", backlash + lead_in + 20 + 0.4 * 1.5 * lead),
    ):
        time_s, turns, travel_mm = event(found, name)
        assert time_s == pytest.approx(3.1 + reached(screw_mm))
        assert turns == pytest.approx(screw_mm / lead)
        assert travel_mm == pytest.approx(screw_mm - backlash, abs=1e-9)

    ran_on = run_on(90, stopping=BRAKE)
    stood_s, stood_turns, stood_mm = event(found, "spindle stands")
    assert stood_s == pytest.approx(event(found, "stop commanded")[0] + ran_on.run_on_s)
    assert stood_turns == pytest.approx(event(found, "stop commanded")[1] + ran_on.run_on_turns)
    assert stood_mm == pytest.approx(stood_turns * lead - backlash)
    assert found.overtravel_turns == pytest.approx(0.6 + ran_on.run_on_turns)
    back = run_on(120, stopping=BRAKE)
    slowing_s, slowing_turns, slowing_mm = event(found, "stop commanded on the way back")
    assert slowing_s == pytest.approx(
        stood_s + 0.5 + 0.1 + reached((stood_turns - back.run_on_turns) * lead, 120)
    )
    assert slowing_turns == pytest.approx(back.run_on_turns)
    assert slowing_mm == pytest.approx(back.run_on_turns * lead)
    assert found.cycle_s == pytest.approx(slowing_s + back.run_on_s)
    assert np.all(np.diff(found.times_s) >= 0)


def test_a_way_just_long_enough_to_get_up_to_speed_is_taken():
    # 60 rpm at 2 pi rad/s2 takes a second and half a turn; at a lead of 1 mm that is half a millimetre.
    work = PassWork(0.5, 0.0, 0.0, 2 * np.pi * (1 + 1e-9), 10, 0.0, 0.0, 0.0)
    ends = {"reaction_s": 0.0, "thread_lead_mm": 1.0, "stopping": replace(BRAKE, brake_drag_per_s=50.0)}
    assert pass_events(60, work=work, **ends).times_s[EVENTS.index("stop commanded")] == pytest.approx(1.0)
    with pytest.raises(RangeError, match=r"needs 0\.5 turns to get up to 60 rpm and the way has only 0\.49"):
        pass_events(60, work=replace(work, thread_length_mm=0.49), **ends)


def test_passes_are_summed_up_from_what_each_would_need():
    job = ShoulderJob(
        thread_lead_mm=2.0, groove_mm=4.0, tool_half_width_mm=0.5, wall_clearance_mm=0.3, thread_passes=7
    )
    work = PassWork(20, 2.0, 0.12, 60, 100, 3.0, 0.5, 0.1, full_step_mm=0.01, torque_share=0.5)
    reactions = np.array([-2.0, 0.1, 0.3, 0.9])
    found = passes(120, reaction_s=reactions, stopping=BRAKE, job=job, work=work, circuit=CIRCUIT)
    past = 2 * reactions + run_on(120, stopping=BRAKE).run_on_turns
    assert found.overtravel_turns == pytest.approx(past)
    sizes = {"tool_half_width_mm": 0.5, "wall_clearance_mm": 0.3}
    grooves = needed_groove_mm(past, thread_lead_mm=2.0, **sizes)
    assert found.grooves_mm == pytest.approx(grooves)
    assert found.groove_mm.mean_mm == pytest.approx(np.mean(grooves))
    assert found.groove_mm.sd_mm == pytest.approx(np.std(grooves, ddof=1))
    assert found.groove_mm.widest_mm == pytest.approx(np.max(grooves))
    assert found.crash_share == np.mean(grooves > 4.0)
    assert 0 < found.crash_share < 1
    assert found.crash_chance == pytest.approx(crash_chance(found.crash_share, thread_passes=7))
    assert found.early_share == 0.25
    alone = [
        pass_events(120, reaction_s=one, stopping=BRAKE, thread_lead_mm=2.0, work=work).cycle_s
        for one in reactions
    ]
    assert found.cycle_s == pytest.approx(np.mean(alone))
    assert found.thread_s == pytest.approx(7 * np.mean(alone))
    # Half the torque is a lag of a third of a full step (sine of a twelfth of a turn).
    assert found.following_error_mm == pytest.approx(0.01 / 3)
    by_itself = pass_heat(120, return_speed_rpm=100, cycle_s=np.mean(alone), stopping=BRAKE, circuit=CIRCUIT)
    assert found.heat == by_itself
    assert passes(120, reaction_s=0.3, stopping=BRAKE, job=job, work=work).heat is None


def test_the_heat_of_a_pass_is_that_of_its_two_stops():
    brake = braked_by_resistor(**vars(CIRCUIT), contact_delay_s=0.03, coulomb_rad_s2=3.0)
    drags = {"contact_delay_s": 0.03, "coulomb_rad_s2": 3.0, "viscous_per_s": 0.0, "windage_per_rad": 0.0}
    out, back = (late_stop(rpm, **drags, **vars(CIRCUIT)) for rpm in (150, 240))
    found = pass_heat(150, return_speed_rpm=240, cycle_s=20.0, stopping=brake, circuit=CIRCUIT)
    assert found.resistor_energy_j == pytest.approx(out.resistor_energy_j + back.resistor_energy_j)
    assert found.armature_energy_j == pytest.approx(out.armature_energy_j + back.armature_energy_j)
    assert found.mean_power_w == pytest.approx(found.resistor_energy_j / 20)
    assert found.peak_power_w == pytest.approx(back.peak_current_a**2 * 12.0)
    turned_round = pass_heat(240, return_speed_rpm=150, cycle_s=20.0, stopping=brake, circuit=CIRCUIT)
    assert turned_round.peak_power_w == pytest.approx(found.peak_power_w)


def test_a_spindle_stands_by_one_of_its_frictions_or_is_refused():
    for friction in ({"viscous_per_s": 0.5}, {"coulomb_rad_s2": 0.01}):
        assert run_on(100, stopping=Stopping(**friction)).run_on_turns > 0
    with pytest.raises(
        RangeError, match=r"^A spindle without any friction never stands: below the brush speed"
    ):
        run_on(100, stopping=Stopping(windage_per_rad=0.1))


@few
@given(st.floats(300, 1000), st.floats(1e-4, 0.02))
def test_a_groove_that_is_short_of_the_fastest_by_a_hair_asks_for_a_hair_less_speed(fastest, short):
    ends = {"reaction_s": 0.3, "stopping": BRAKE, "thread_lead_mm": 1.0, "fastest_speed_rpm": fastest}
    ran_on = run_on(fastest, stopping=BRAKE).run_on_turns
    past = float(overtravel_turns(fastest, reaction_s=0.3, run_on_turns=ran_on))
    assert highest_speed_rpm(past + short, **ends) == fastest
    found = highest_speed_rpm(past - short, **ends)
    assert 0.97 * fastest < found < fastest
    again = run_on(found, stopping=BRAKE).run_on_turns
    assert overtravel_turns(found, reaction_s=0.3, run_on_turns=again) == pytest.approx(
        past - short, rel=1e-6
    )


def test_a_share_of_passes_that_must_be_clear_takes_the_reaction_at_that_share():
    reactions = np.linspace(0.2, 0.6, 101)
    ends = {"thread_lead_mm": 1.0, "stopping": BRAKE, "fastest_speed_rpm": 2000}
    for share in (0.5, 0.9, 1.0):
        of_many = highest_speed_rpm(3.0, reaction_s=reactions, clear_share=share, **ends)
        assert of_many == pytest.approx(highest_speed_rpm(3.0, reaction_s=0.2 + 0.4 * share, **ends))
    slow = highest_speed_rpm(3.0, reaction_s=0.3, speed_share=1.25, **ends)
    assert slow == pytest.approx(highest_speed_rpm(3.0, reaction_s=0.3, **ends) / 1.25)
    # A knob may stand so unsteadily that a drawn pass does not turn at all; the other then sets the speed.
    uneven = highest_speed_rpm(3.0, reaction_s=0.3, speed_share=np.array([0.0, 1.25]), clear_share=1, **ends)
    assert uneven == pytest.approx(slow)
    with pytest.raises(
        RangeError, match=r"^No feasible speed: even at 900 rpm the tool needs \d+\.\d\d turns to come"
    ):
        highest_speed_rpm(3.0, reaction_s=0.3, lowest_speed_rpm=900, **ends)
    assert np.isnan(highest_speed_rpm(3.0, reaction_s=0.3, lowest_speed_rpm=np.nan, **ends))
