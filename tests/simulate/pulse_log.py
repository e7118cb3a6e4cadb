"""What a pickup and an encoder write of a coasting spindle, with jitter, missed and extra pulses, run-out."""

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq
from simulate.coast_log import RPM, Truth


def write_counts(truth: Truth, seed, *, counts_per_turn, every_s=0.02, runout_rad=0.0, encoder_turns=1.0):
    """Return (time_s, count) of an encoder whose pulley may run out, read at a steady rate."""
    rng = np.random.default_rng(seed)
    angle, stop_s, _ = _angle_of(truth)
    time_s = np.arange(0, truth.start_s + stop_s + 1, every_s) + rng.uniform(-0.1, 0.1) * every_s
    time_s = np.round(np.maximum(time_s, 0), 6)
    turned = np.array([angle(moment) for moment in time_s]) - angle(0.0)
    turned = turned + runout_rad * np.sin(encoder_turns * turned + rng.uniform(0, 6))
    return time_s, np.floor(turned * counts_per_turn / (2 * np.pi)).astype(np.int64)


def _angle_of(truth):
    """Angle since the drive let go as a function of time, with the time and turns to standstill."""
    start = truth.start_rpm * RPM

    def law(_, state):
        return [-truth.deceleration(state[0]), state[0]]

    stop_s, turns = truth.stop(truth.start_rpm)
    run = solve_ivp(law, (0, stop_s), [start, 0.0], dense_output=True, rtol=1e-11, atol=1e-11)

    def angle(moment):
        after = moment - truth.start_s
        return start * after if after <= 0 else float(run.sol(min(after, stop_s))[1])

    return angle, stop_s, turns


def write_pulses(
    truth: Truth, seed, *, marks=1, offsets_deg=(0.0,), jitter_s=20e-6, missed=0.01, extra=0.005
):
    """Return the stamps in seconds, rounded to whole microseconds."""
    rng = np.random.default_rng(seed)
    angle, stop_s, turns = _angle_of(truth)
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
