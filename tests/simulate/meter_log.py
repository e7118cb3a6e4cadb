"""A display shown a sudden change: it lags, holds its numbers, rounds, and shows zero when it is slow."""

import numpy as np


def write_step_log(
    seed,
    *,
    lag_s=0.8,
    dead_s=0.06,
    before_rpm=1000.0,
    after_rpm=0.0,
    changed_s=5.0,
    hold_s=0.25,
    cutoff_rpm=10.0,
    until_s=14.0,
):
    """Return rows (time_s, shown_rpm) at uneven times; the lag is stepped finely, without a closed form."""
    rng = np.random.default_rng(seed)
    fine_s = np.arange(0, until_s, 1e-3)
    true = np.where(fine_s < changed_s + dead_s, before_rpm, after_rpm)
    shown = np.empty_like(true)
    shown[0] = true[0]
    for place in range(1, fine_s.size):
        shown[place] = shown[place - 1] + (true[place] - shown[place - 1]) * 1e-3 / lag_s
    rows = np.cumsum(0.1 * (1 + 0.3 * rng.uniform(-1, 1, int(until_s / 0.1))))
    rows = rows[rows < until_s]
    phase = rng.uniform(0, hold_s)
    fresh, back = np.unique(phase + hold_s * np.floor((rows - phase) / hold_s), return_inverse=True)
    value = np.interp(fresh, fine_s, shown) + rng.normal(0, 0.4, fresh.size)
    value = np.where(value < cutoff_rpm, 0.0, np.round(value))
    return np.round(rows, 2), value[back]
