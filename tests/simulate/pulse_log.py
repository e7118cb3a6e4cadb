"""Moments at which marks on a coasting spindle pass a pickup, with jitter, missed and extra pulses."""

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq
from simulate.coast_log import RPM, Truth


def write_pulses(
    truth: Truth, seed, *, marks=1, offsets_deg=(0.0,), jitter_s=20e-6, missed=0.01, extra=0.005
):
    """Return the stamps in seconds, rounded to whole microseconds."""
    rng = np.random.default_rng(seed)
    start = truth.start_rpm * RPM

    def law(_, state):
        return [-truth.deceleration(state[0]), state[0]]

    stop_s, turns = truth.stop(truth.start_rpm)
    run = solve_ivp(law, (0, stop_s), [start, 0.0], dense_output=True, rtol=1e-11, atol=1e-11)

    def angle(moment):
        after = moment - truth.start_s
        return start * after if after <= 0 else float(run.sol(min(after, stop_s))[1])

    first, last = angle(0.0), 2 * np.pi * (turns - 1.0)
    number = np.arange(int((last - first) * marks / (2 * np.pi)))
    place = np.deg2rad(np.resize(offsets_deg, number.size)) + 2 * np.pi * number / marks + first + 0.3
    ends = (-1.0, truth.start_s + stop_s)
    stamps = np.array([brentq(lambda t, a=a: angle(t) - a, *ends, xtol=1e-9) for a in place])
    stamps = stamps[stamps > 0] + rng.normal(0, jitter_s, np.sum(stamps > 0))
    stamps = stamps[rng.random(stamps.size) >= missed]
    between = np.flatnonzero(rng.random(stamps.size - 1) < extra)
    echoes = 0.7 * stamps[between] + 0.3 * stamps[between + 1]
    return np.round(np.sort(np.concatenate([stamps, echoes])), 6)
