"""When a reading may be written down: the rule that a lagging meter has settled."""

import numpy as np

from machinelab.ranges import not_negative, positive

__all__ = ["settled", "watching_time_s"]


def watching_time_s(*, reading_age_s, tolerance_rpm, resolution_rpm):
    """How long a reading must have stood still, and stand still again, before it is believed.

    Formula
    -------
    watching_time_s = 2 * reading_age_s * max(resolution_rpm / tolerance_rpm, 1)

    Parameters
    ----------
    reading_age_s : float or array [s]
        Lag, half the gate and half the hold together.
    tolerance_rpm : float or array [rpm]
        How far off the reading may be.
    resolution_rpm : float or array [rpm]
        Step of the display; a slow fall hides behind it.

    Returns
    -------
    float or array [s]
        Time before the reading, and the same again after it.

    Range
    -----
    Tolerance above zero, the others from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is out of range.

    Examples
    --------
    >>> round(float(watching_time_s(reading_age_s=0.95, tolerance_rpm=2, resolution_rpm=1)), 2)
    1.9

    Source
    ------
    Derived here, see `settled`.
    """
    steps = not_negative("resolution_rpm", resolution_rpm) / positive("tolerance_rpm", tolerance_rpm)
    return 2 * not_negative("reading_age_s", reading_age_s) * np.maximum(steps, 1.0)


def settled(time_s, shown_rpm, *, reading_age_s, tolerance_rpm, resolution_rpm=0.0, cutoff_rpm=0.0):
    """Which readings may be taken for the speed itself.

    A reading is off by about its age times the rate at which the speed changes. It is believed when the
    readings before it and those after it change so slowly that this stays within the tolerance: those after
    it too, because a lagging meter shows nothing yet in the moment in which the speed begins to fall. A
    display of zero is never believed: it is not a standstill.

    Formula
    -------
    none: for each reading, the spread of those just before and just after it, over their time, times the age

    Parameters
    ----------
    time_s : array of shape (readings,) [s]
        Rising times.
    shown_rpm : array of shape (readings,) [rpm]
        What the meter showed.
    reading_age_s : float [s]
        Lag, half the gate and half the hold together.
    tolerance_rpm : float [rpm]
        How far off a reading may be.
    resolution_rpm : float [rpm]
        Step of the display.
    cutoff_rpm : float [rpm]
        Below this speed the meter shows zero.

    Returns
    -------
    array of shape (readings,) [yes or no]
        True for a reading that may be written down.

    Range
    -----
    At least three readings on either side within `watching_time_s`; near the ends of the log none is
    believed. NaN in gives no.

    Raises
    ------
    RangeError
        If a number is out of range.

    Examples
    --------
    >>> time_s = np.arange(0, 12, 0.25)
    >>> shown = np.where(time_s < 8, 600.0, 600 - 20 * (time_s - 8))
    >>> believed = settled(time_s, shown, reading_age_s=0.95, tolerance_rpm=2, resolution_rpm=1)
    >>> [float(time) for time in time_s[believed][[0, -1]]]
    [2.0, 6.25]

    Source
    ------
    Derived here: a first-order lag on a steady change is off by the lag times the rate of change.
    """
    times, shown = np.asarray(time_s, float), np.asarray(shown_rpm, float)
    watch_s = watching_time_s(
        reading_age_s=reading_age_s, tolerance_rpm=tolerance_rpm, resolution_rpm=resolution_rpm
    )
    first = np.searchsorted(times, times - watch_s)
    last = np.searchsorted(times, times + watch_s, side="right")
    believed = np.zeros(times.size, bool)
    for place in np.flatnonzero(shown > max(cutoff_rpm, 0.0)):
        sides = slice(first[place], place + 1), slice(place, last[place])
        inside = times[place] - watch_s >= times[0] and times[place] + watch_s <= times[-1]
        believed[place] = inside and all(
            _steady(times[side], shown[side], reading_age_s, tolerance_rpm, resolution_rpm) for side in sides
        )
    return believed


_FEWEST = 3


def _steady(times, shown, age_s, tolerance_rpm, resolution_rpm) -> bool:
    if times.size < _FEWEST or times[-1] <= times[0]:
        return False
    steepest = (np.ptp(shown) + resolution_rpm) / (times[-1] - times[0])
    return bool(steepest * age_s < tolerance_rpm)
