"""Logs of a coast-down as a real meter would write them, from a truth that is known.

The spindle and the meter's lag are integrated together by a general ODE solver, so that nothing here
leans on the closed forms that the library fits with. All machines and numbers are invented.
"""

from dataclasses import dataclass

import numpy as np
from scipy.integrate import solve_ivp
from scipy.signal import lfilter, lsim

RPM = 2 * np.pi / 60


@dataclass(frozen=True)
class Truth:
    """A spindle's run-down as it really is."""

    start_rpm: float
    coulomb_rad_s2: float
    viscous_per_s: float
    windage_per_rad: float
    start_s: float = 5.0
    # Share of its friction that the bearing loses from the start of the run to its end.
    warming: float = 0.0

    def deceleration(self, speed):
        """Return the deceleration at a speed in rad/s."""
        law = self.coulomb_rad_s2 + self.viscous_per_s * speed + self.windage_per_rad * speed**2
        return law * (1 + self.warming * speed / (self.start_rpm * RPM))

    def stop(self, from_rpm):
        """Time and turns from a speed to standstill, by adaptive integration."""

        def slow(time, state):
            return [-self.deceleration(state[0]), state[0]]

        def standstill(time, state):
            return state[0]

        standstill.terminal = True
        run = solve_ivp(slow, (0, 1e5), [from_rpm * RPM, 0.0], events=standstill, rtol=1e-11, atol=1e-12)
        return float(run.t[-1]), float(run.y[1, -1] / (2 * np.pi))


@dataclass(frozen=True)
class Display:
    """What stands between the spindle and the written number."""

    lag_s: float = 0.8
    hold_s: float | None = 0.25
    resolution_rpm: float = 1.0
    noise_rpm: float = 0.4
    cutoff_rpm: float = 10.0
    row_every_s: float = 0.1
    row_jitter: float = 0.3
    rows_lost: float = 0.03
    glitches: float = 0.02
    gate_s: float = 0.0
    # Share of the readings that count a mark too many or too few, and what one mark is worth.
    marks_miscounted: float = 0.0
    a_mark_rpm: float = 30.0
    noise_correlation: float = 0.0


def meter_speed_rpm(truth: Truth, lag_s: float, until_s: float):
    """Return a function of time: the speed after the meter's first-order lag."""
    if lag_s == 0:
        settled = truth.start_rpm * RPM

        def slow(time, state):
            return [-truth.deceleration(state[0]) if state[0] > 0 else 0.0]

        run = _until_standstill(slow, [settled], until_s)
        return lambda t: _pieces(run, truth, t)[0] / RPM

    def chase(time, state):
        return [-truth.deceleration(state[0]), (state[0] - state[1]) / lag_s]

    run = _until_standstill(chase, [truth.start_rpm * RPM] * 2, until_s)

    def reading(t):
        return _pieces(run, truth, t, lag_s)[1] / RPM

    return reading


def _until_standstill(law, start, until_s):
    def standstill(time, state):
        return state[0]

    standstill.terminal = True
    return solve_ivp(law, (0, until_s), start, events=standstill, dense_output=True, rtol=1e-9, atol=1e-10)


def _pieces(run, truth, t, lag_s=None):
    elapsed = np.atleast_1d(t) - truth.start_s
    stop = run.t[-1]
    state = run.sol(np.clip(elapsed, 0, stop))
    state[0] = np.where(elapsed < stop, state[0], 0.0)
    if lag_s is not None:
        faded = run.y[1, -1] * np.exp(-np.maximum(elapsed - stop, 0) / lag_s)
        state[1] = np.where(elapsed < stop, state[1], faded)
    return state


def write_log(truth: Truth, display: Display, seed: int, *, after_s=4.0, until_s=None):
    """Return the rows (time_s, speed_rpm) that a logger beside the meter would have written."""
    rng = np.random.default_rng(seed)
    stop_s, _ = truth.stop(truth.start_rpm)
    end = until_s if until_s is not None else truth.start_s + stop_s + after_s
    shown = meter_speed_rpm(truth, display.lag_s, end)
    jitter = rng.uniform(-1, 1, int(end / display.row_every_s) + 2)
    rows = np.cumsum(display.row_every_s * (1 + display.row_jitter * jitter))
    rows = rows[rows < end]
    sampled = rows if display.hold_s is None else display_times(rows, display.hold_s, rng)
    samples, back = np.unique(sampled, return_inverse=True)
    value = _gated(shown, samples, display.gate_s)
    value = value + display.noise_rpm * _correlated(rng, samples.size, display.noise_correlation)
    if display.marks_miscounted:
        wrong = rng.random(samples.size) < display.marks_miscounted
        value = value + display.a_mark_rpm * np.where(wrong, rng.choice([-1, 1], samples.size), 0)
    value = np.round(value / display.resolution_rpm) * display.resolution_rpm
    value = np.where(value < display.cutoff_rpm, 0.0, value)
    speed = value[back]
    if display.glitches:
        # Half of the machines glitch in the display, so that the wrong number is held, half on the wire.
        held = rng.random() < 0.5
        bad = rng.random(samples.size if held else rows.size) < display.glitches
        bad = bad[back] if held else bad
        speed = np.where(bad, speed * rng.choice([0.0, 0.5, 2.0], speed.size if not held else 1), speed)
    kept = rng.random(rows.size) >= display.rows_lost
    return np.round(rows[kept], 3 if display.row_every_s > 0.01 else 7), speed[kept]


def displayed(time_s, speed_rpm, display: Display, seed):
    """Return the rows (time_s, speed_rpm) that a logger beside a lagging, holding display writes."""
    rng = np.random.default_rng(seed)
    _, shown, _ = lsim(([1.0], [display.lag_s, 1.0]), speed_rpm - speed_rpm[0], time_s)
    jitter = rng.uniform(-1, 1, int(time_s[-1] / display.row_every_s))
    rows = np.cumsum(display.row_every_s * (1 + display.row_jitter * jitter))
    samples, back = np.unique(display_times(rows, display.hold_s, rng), return_inverse=True)
    value = np.interp(samples, time_s, shown + speed_rpm[0])
    value = np.round((value + display.noise_rpm * rng.standard_normal(samples.size)) / display.resolution_rpm)
    value *= display.resolution_rpm
    return np.round(rows, 2), np.where(value < display.cutoff_rpm, 0.0, value)[back]


def display_times(rows, hold_s, rng):
    phase = rng.uniform(0, hold_s)
    return phase + hold_s * np.floor((rows - phase) / hold_s)


def _gated(shown, times, gate_s):
    if gate_s == 0:
        return shown(times)
    nodes = (np.arange(64) + 0.5) / 64
    return np.mean([shown(times - gate_s * node) for node in nodes], axis=0)


def _correlated(rng, size, correlation):
    white = rng.standard_normal(size)
    if correlation == 0:
        return white
    return lfilter([np.sqrt(1 - correlation**2)], [1, -correlation], white)


def a_machine(seed: int) -> tuple[Truth, Display]:
    """Return one of an endless family of ordinary machines with ordinary meters."""
    rng = np.random.default_rng([seed, 7])
    law = rng.choice(["a", "ab", "ac", "abc"])
    truth = Truth(
        start_rpm=rng.uniform(800, 1600),
        coulomb_rad_s2=rng.uniform(1.5, 5),
        viscous_per_s=rng.uniform(0.005, 0.04) if "b" in law else 0.0,
        windage_per_rad=rng.uniform(2e-5, 2e-4) if "c" in law else 0.0,
        start_s=rng.uniform(4.5, 9),
    )
    return truth, Display(lag_s=rng.uniform(0.3, 1.0))
