"""Ten thousand threading passes at once beside what a person would write instead: an ODE solver pass by pass.

Both sides get the same speeds, reactions, contacts, brakes and frictions, and must come to the same turns
past the thread and the same cycle. The solver's part is timed on some of the passes and counted up.
"""

import time

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from simulate.coast_log import RPM

from machinelab.threads.operator import surprised_reactions_s
from machinelab.threads.shoulder import ShoulderJob, passes
from machinelab.threads.shoulder_cycle import PassWork, pass_events
from machinelab.threads.shoulder_draws import PassDoubts, draw_passes
from machinelab.threads.shoulder_stop import Stopping

pytestmark = pytest.mark.bench

PASSES, BY_SOLVER = 10_000, 40
WANTED_TIMES_QUICKER = 1000
LEAD_MM, SPEED_RPM = 1.0, 100.0
BUILT = Stopping(0.0, 0.17, 1.26, 2.31, 3.1, 0.021, 9e-5)
JOB = ShoulderJob(LEAD_MM, 3.5, 1.0, 0.3, 11)
WORK = PassWork(
    thread_length_mm=30.0,
    lead_in_mm=1.2,
    backlash_mm=0.12,
    spin_up_rad_s2=70.0,
    return_speed_rpm=100.0,
    infeed_s=4.0,
    retract_s=0.5,
    start_delay_s=0.2,
)


def at_rest(_, state):
    return state[0]


at_rest.terminal, at_rest.direction = True, -1


def solved(law, start, end_s, events=None):
    return solve_ivp(law, (0.0, end_s), start, events=events, rtol=1e-8, atol=1e-10)


def stopped_by_solver(speed, stopping, which):
    """Time and angle from the stop command to standstill: coasting, then braked."""
    a, b, c, drag, brush, delay = (
        float(np.broadcast_to(value, (PASSES,))[which])
        for value in (
            *stopping.drags.values(),
            stopping.brake_drag_per_s,
            stopping.brush_speed_rad_s,
            stopping.contact_delay_s,
        )
    )

    def free(_, state):
        return -(a + (b + c * state[0]) * state[0]), state[0]

    def braked(time_s, state):
        return free(time_s, state)[0] - drag * max(state[0] - brush, 0.0), state[0]

    coasting = solved(free, [speed, 0.0], delay, at_rest)
    if coasting.y[0, -1] <= 0:
        return coasting.t[-1], coasting.y[1, -1]
    slowing = solved(braked, coasting.y[:, -1], 1e3, at_rest)
    return coasting.t[-1] + slowing.t[-1], slowing.y[1, -1]


def way_by_solver(speed, angle):
    """Time to make an angle from rest: a steady spin-up, then steady speed."""

    def law(_, state):
        return (WORK.spin_up_rad_s2 if state[0] < speed else 0.0), state[0]

    def there(_, state):
        return state[1] - angle

    there.terminal = True
    rising = solved(law, [0.0, 0.0], speed / WORK.spin_up_rad_s2)
    steady = solved(law, [speed, rising.y[1, -1]], 1e4, there)
    return rising.t[-1] + steady.t[-1]


def pass_by_solver(speed_rpm, reaction_s, stopping, which, back):
    """Turns past the thread and cycle time of one pass."""
    speed = speed_rpm * RPM
    end = 2 * np.pi * (WORK.lead_in_mm + WORK.thread_length_mm) / LEAD_MM
    stop_s, stop_rad = stopped_by_solver(speed, stopping, which)
    out_s = way_by_solver(speed, end + speed * reaction_s) + stop_s
    back_s, back_rad = back
    stands = end + speed * reaction_s + stop_rad
    home_s = way_by_solver(WORK.return_speed_rpm * RPM, stands - back_rad) + back_s
    idle_s = WORK.infeed_s + 2 * WORK.start_delay_s + WORK.retract_s
    return (stands - end) / (2 * np.pi), out_s + home_s + idle_s


def test_ten_thousand_passes_are_a_thousand_times_quicker_than_an_ode_solver_pass_by_pass(figures):
    chance = np.random.default_rng(10)
    draws = draw_passes(chance, draws=PASSES, stopping=BUILT, doubts=PassDoubts())
    reactions = surprised_reactions_s(chance, draws=PASSES, reaction_s=0.3, reaction_spread=0.2)
    speeds = SPEED_RPM * draws.speed_share
    given = {"reaction_s": reactions, "stopping": draws.stopping}
    ours_s = np.inf
    for _ in range(5):
        began = time.process_time()
        found = passes(speeds, **given, job=JOB, work=WORK)
        ours_s = min(ours_s, time.process_time() - began)
    back = stopped_by_solver(WORK.return_speed_rpm * RPM, draws.stopping.typical, 0)
    which = chance.choice(PASSES, BY_SOLVER, replace=False)
    began = time.process_time()
    theirs = np.array([pass_by_solver(speeds[i], reactions[i], draws.stopping, i, back) for i in which])
    theirs_s = (time.process_time() - began) * PASSES / BY_SOLVER
    figures.add(
        f"{PASSES} threading passes",
        1000 * ours_s,
        "ms",
        wanted=f"{WANTED_TIMES_QUICKER} times quicker",
        usual="ODE solver pass by pass",
        usual_value=1000 * theirs_s,
    )
    cycles = pass_events(speeds, **given, thread_lead_mm=LEAD_MM, work=WORK).cycle_s
    np.testing.assert_allclose(found.overtravel_turns[which], theirs[:, 0], rtol=1e-5)
    np.testing.assert_allclose(cycles[which], theirs[:, 1], rtol=1e-5)
    assert theirs_s / ours_s >= WANTED_TIMES_QUICKER
