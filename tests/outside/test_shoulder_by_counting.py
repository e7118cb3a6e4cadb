"""The threading pass against counting it edge by edge, stepping through it, and drawing it by chance."""

import math
from fractions import Fraction

import numpy as np
import pytest
from inspection.source import run_here
from simulate.threading_pass import PassTruth

from machinelab.leadscrew.gearing import screw_steps
from machinelab.threads.shoulder import ShoulderJob, passes
from machinelab.threads.shoulder_cycle import EVENTS, PassWork, pass_events
from machinelab.threads.shoulder_groove import crash_chance, groove_sd_mm
from machinelab.threads.shoulder_start import (
    catch_up,
)
from machinelab.threads.shoulder_stop import Stopping, run_on

ROOM = "threads"
DRAWS = run_here("passes and threads drawn by chance", "chance, with so many draws")
COUNTED = run_here("the pass counted edge by edge", "a count, and the solver's step")
MIXED = Stopping(brake_drag_per_s=2.5, coulomb_rad_s2=4.0)


@pytest.mark.parametrize("highest", [10.5, 12.0, 16.0, 25.0])
def test_a_bounded_catch_up_ends_with_no_phase_error_when_stepped_through(compare, highest):
    speed, gain, step = 10.0, 200.0, 1e-6
    found = catch_up(speed, carriage_mm_s2=gain, highest_travel_mm_s=highest)
    peak = found.catch_up_peak_mm_s
    times = np.arange(0.0, found.catch_up_s, step) + step / 2
    rising, falling = gain * times, speed + gain * (found.catch_up_s - times)
    carriage = np.minimum(np.minimum(rising, falling), peak)
    compare(
        f"phase left after a catch-up bounded at {highest} mm/s",
        float(np.sum(speed - carriage) * step),
        0.0,
        run_here("the catch-up stepped through in microseconds", "the size of the step"),
        abs=2e-5,
        unit="mm",
    )
    assert peak <= highest


def test_one_crash_in_a_hundred_passes_spoils_one_thread_of_eleven_passes_in_ten(compare):
    chance = np.random.default_rng(7)
    threads = chance.random((200_000, 11)) < 0.01
    simulated = threads.any(axis=1).mean()
    compare(
        "chance that a thread of eleven passes crashes",
        crash_chance(0.01, thread_passes=11),
        simulated,
        DRAWS,
        abs=0.002,
    )


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
def test_the_whole_pass_agrees_with_counting_it_edge_by_edge(compare, name):
    speed, reaction, stopping = MACHINES[name]
    times, (turns, steps, _), truth = count_by_count(speed, reaction, stopping)
    found = pass_events(speed, reaction_s=reaction, stopping=stopping, thread_lead_mm=LEAD, work=WORK)
    for event, counted_s in times.items():
        compare(
            f"{event}, {name}",
            found.times_s[EVENTS.index(event)],
            counted_s,
            COUNTED,
            rel=1e-4,
            unit="s",
            table="the whole pass, event by event",
        )
    run_on_s = times["spindle stands"] - times["stop commanded"]
    compare(
        f"run-on, {name}", run_on(speed, stopping=stopping).run_on_s, run_on_s, COUNTED, rel=1e-4, unit="s"
    )
    stands = float(found.angles_turns[EVENTS.index("spindle stands")])
    assert abs(int(screw_steps(math.floor(stands * COUNTS), RATIO)) - steps) <= 1
    compare(f"where the spindle stands, {name}", stands, turns, COUNTED, abs=1 / COUNTS, unit="turn")
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


def test_a_spread_to_first_order_is_that_of_many_small_draws(compare):
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
    compare(
        "spread of the groove over 40 000 passes",
        found.groove_mm.sd_mm,
        float(first_order),
        run_here("law of propagation of uncertainty, to first order", "chance, with so many draws"),
        rel=0.02,
        unit="mm",
    )
