"""The coast-down fit beside what a person would write instead: an ODE solver inside least squares.

Both sides fit the same readings with the same observation model from the same first guess, in one run.
"""

import time
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import least_squares
from simulate.coast_log import RPM, Display, Truth, write_log

from machinelab.spindle.coastdown import fit
from machinelab.spindle.speed_meter import Meter

pytestmark = pytest.mark.bench

MACHINE = Truth(1200, 3.0, 0.02, 1e-4)
ROWS = (200, 5_000, 200_000)
WANTED_WITH_LAG = dict(zip(ROWS, (100, 100, 300), strict=True))
WANTED_PLAIN = dict(zip(ROWS, (25, 25, 20), strict=True))


def a_log(rows, lag_s):
    display = Display(lag_s=lag_s, hold_s=None, row_every_s=37 / rows, glitches=0.0, rows_lost=0.0)
    time_s, speed_rpm = write_log(MACHINE, display, seed=rows, after_s=2.0)
    return SimpleNamespace(time_s=time_s, speed_rpm=speed_rpm)


def quickest(run, times):
    best, result = np.inf, None
    for _ in range(times):
        began = time.perf_counter()
        result = run()
        best = min(best, time.perf_counter() - began)
    return best, result


def standstill(_, state):
    return state[0]


standstill.terminal = True


def ode_fit(log, *, with_lag):
    """Shoot with solve_ivp at every trial of the parameters; SciPy differentiates numerically.

    The solver starts where the drive lets go and ends at standstill, and its tolerances are those that an
    answer good to 1e-4 needs: with the default ones, or with the kinks inside the run, it misses.
    """
    last = np.flatnonzero(log.speed_rpm >= 15)[-1] + 1
    t, observed = log.time_s[:last], log.speed_rpm[:last] * RPM

    def shown(parameters):
        start_speed, a, b, c, start_s = parameters[:5]
        lag_s = parameters[5] if with_lag else 1.0

        def law(_, state):
            speed, copy = state
            return -(a + b * speed + c * speed * speed), (speed - copy) / lag_s

        after = np.maximum(t - start_s, 0.0)
        run = solve_ivp(
            law,
            (0, after[-1] + 1e-6),
            (start_speed, start_speed),
            events=standstill,
            dense_output=True,
            rtol=1e-8,
            atol=1e-9,
        )
        copy = run.sol(np.minimum(after, run.t[-1]))[1 if with_lag else 0]
        faded = run.y[1, -1] * np.exp(-np.maximum(after - run.t[-1], 0.0) / lag_s) if with_lag else 0.0
        return np.where(after <= run.t[-1], copy, faded)

    guess = [observed[:5].mean(), 2.0, 0.01, 1e-5, t[np.argmax(observed < 0.97 * observed[0])] - 0.5, 0.5]
    count = 6 if with_lag else 5
    return least_squares(
        lambda parameters: shown(parameters) - observed,
        guess[:count],
        bounds=([1.0, 1e-6, -1, -1, 0, 0.01][:count], [1e3, 100, 1, 1, 60, 5][:count]),
        loss="soft_l1" if with_lag else "linear",
        f_scale=0.1,
        x_scale=[100.0, 1.0, 0.01, 1e-4, 1.0, 1.0][:count],
    )


def stop_time_s(parameters):
    a, b, c = parameters[1:4]
    run = solve_ivp(
        lambda _, w: -(a + b * w + c * w * w),
        (0, 500),
        [1000 * RPM],
        events=standstill,
        rtol=1e-11,
        atol=1e-12,
    )
    return run.t[-1]


@pytest.mark.parametrize("rows", ROWS)
@pytest.mark.parametrize("with_lag", [True, False], ids=["lag, robust", "plain"])
def test_closed_form_fit_beats_an_ode_solver_in_least_squares(rows, with_lag, figures):
    log = a_log(rows, 0.8 if with_lag else 0.0)
    meter = None if with_lag else Meter(lag_s=0.0)
    # Before and after the other way, and often: a moment in which the machine is busy must not decide.
    before, found = quickest(lambda: fit(log, meter=meter), 25)
    theirs, usual = quickest(lambda: ode_fit(log, with_lag=with_lag), 1)
    after, _ = quickest(lambda: fit(log, meter=meter), 25)
    ours = min(before, after)
    wanted = (WANTED_WITH_LAG if with_lag else WANTED_PLAIN)[rows]
    difference = found.stop_time_s(1000).value / stop_time_s(usual.x) - 1
    kind = "lag, robust" if with_lag else "plain"
    figures.add(
        f"coast-down fit, {kind}, {rows} rows",
        1000 * ours,
        "ms",
        wanted=f"{wanted} times quicker",
        usual="ODE solver inside least squares",
        usual_value=1000 * theirs,
    )
    figures.add(
        f"coast-down fit, {kind}, {rows} rows: stop time differs", 1e6 * difference, "ppm", wanted="under 100"
    )
    assert abs(difference) < 1e-4
    assert theirs / ours > wanted
