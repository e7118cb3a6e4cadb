"""Two meters on one spindle: which lags behind the other, and how well they agree."""

from dataclasses import dataclass

import numpy as np

from machinelab.errors import LogError
from machinelab.estimate import Estimate

__all__ = ["MeterAgreement", "compare_meters"]

_FEWEST = 20
_GRID = 2000
_LIMITS_SD = 1.96
_FURTHEST_SHARE = 0.25
_ROOM_SHARE = 0.02
_LEAST_CHANGE = 0.05


@dataclass(frozen=True)
class MeterAgreement:
    """How two meters differ once the slower one is shifted onto the other.

    Parameters
    ----------
    shift_s : float [s]
        How much later the second meter shows the same run.
    mean_difference_rpm : Estimate [rpm]
        Second less first, on the average.
    lowest_difference_rpm, highest_difference_rpm : float [rpm, rpm]
        Between these lie some 95 of 100 differences.
    pairs_compared : int [1]
        Pairs of readings that were compared.

    Source
    ------
    See `compare_meters`.
    """

    shift_s: float
    mean_difference_rpm: Estimate
    lowest_difference_rpm: float
    highest_difference_rpm: float
    pairs_compared: int


def compare_meters(first_log, second_log) -> MeterAgreement:
    """Compare two meters logged over one run that goes up or down.

    Both may be wrong alike, with the same miscounted marks: hold a third against them, such as a strobe.

    Formula
    -------
    none: the shift found by cross-correlation and then by the least scatter, then the differences

    Parameters
    ----------
    first_log, second_log : objects with time_s and speed_rpm
        Readings of the two meters on one clock.

    Returns
    -------
    MeterAgreement
        Shift, mean difference with its 95 % interval, and the limits between which differences lie.

    Range
    -----
    Logs that share at least twenty readings, over a run in which the speed changes.

    Raises
    ------
    LogError
        If the logs share too little, or the speed hardly changes.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> time_s = np.arange(0, 30, 0.1)
    >>> speed = 300 + 700 / (1 + np.exp(-(time_s - 12)))
    >>> late = 302 + 700 / (1 + np.exp(-(time_s - 12.6)))
    >>> one = SimpleNamespace(time_s=time_s, speed_rpm=speed)
    >>> found = compare_meters(one, SimpleNamespace(time_s=time_s, speed_rpm=late))
    >>> round(found.shift_s, 2), round(found.mean_difference_rpm.value, 1)
    (0.6, 2.0)

    Source
    ------
    Mean difference and limits of agreement after J. M. Bland and D. G. Altman, Lancet 1986 (from memory).
    """
    from scipy.stats import t as student_t

    start, end = (
        max(first_log.time_s[0], second_log.time_s[0]),
        min(first_log.time_s[-1], second_log.time_s[-1]),
    )
    times = np.asarray(first_log.time_s, float)
    shared = int(np.sum((times >= start) & (times <= end)))
    if shared < _FEWEST:
        raise LogError(
            f"The two logs share {shared} readings; at least {_FEWEST} over the same time are needed."
        )
    shift_s = _best_shift(first_log, second_log, start, end)
    apart = _differences(shift_s, first_log, second_log, start, end)
    mean, spread = float(np.mean(apart)), float(np.std(apart, ddof=1))
    half = float(student_t.ppf(0.975, apart.size - 1)) * spread / np.sqrt(apart.size)
    return MeterAgreement(
        shift_s=shift_s,
        mean_difference_rpm=Estimate.symmetric(mean, half),
        lowest_difference_rpm=mean - _LIMITS_SD * spread,
        highest_difference_rpm=mean + _LIMITS_SD * spread,
        pairs_compared=int(apart.size),
    )


def _best_shift(first_log, second_log, start, end) -> float:
    """The shift at which the meters differ most evenly, sought near that of their likest changes."""
    from scipy.optimize import minimize_scalar

    grid = np.linspace(start, end, _GRID)
    one, other = (np.interp(grid, log.time_s, log.speed_rpm) for log in (first_log, second_log))
    if np.ptp(one) < _LEAST_CHANGE * np.max(np.abs(one)):
        raise LogError("The speed hardly changes in these logs; log a run-up or a run-down on both meters.")
    likeliest_s = _likest_changes(one, other) * (grid[1] - grid[0])

    def unevenness(shift_s):
        return float(np.std(_differences(shift_s, first_log, second_log, start, end)))

    room_s = _ROOM_SHARE * (end - start)
    return float(minimize_scalar(unevenness, bounds=(likeliest_s - room_s, likeliest_s + room_s)).x)


def _likest_changes(one, other) -> int:
    from scipy.signal import correlate, correlation_lags

    changes, later = np.diff(one), np.diff(other)
    likeness = correlate(later, changes)
    lags = correlation_lags(later.size, changes.size)
    near = np.abs(lags) <= _FURTHEST_SHARE * changes.size
    return int(lags[near][np.argmax(likeness[near])])


def _differences(shift_s, first_log, second_log, start, end):
    times, speeds = np.asarray(first_log.time_s, float), np.asarray(first_log.speed_rpm, float)
    inside = (times >= start) & (times <= end) & (times + shift_s >= start) & (times + shift_s <= end)
    return np.interp(times[inside] + shift_s, second_log.time_s, second_log.speed_rpm) - speeds[inside]
