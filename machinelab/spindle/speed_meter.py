"""The RPM meter: what stands between the spindle and the number it shows."""

from dataclasses import dataclass

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import not_negative, positive


@dataclass(frozen=True)
class Meter:
    """What is known of a meter; None stands for what is not.

    Parameters
    ----------
    lag_s : float or None [s]
        Time constant of its smoothing, from a step test.
    cutoff_rpm : float or None [rpm]
        Below this speed it shows zero.
    """

    lag_s: float | None = None
    cutoff_rpm: float | None = None


def settling_time_s(lag_s, *, share_left):
    """How long a lagging meter takes until only a share of a sudden change is still missing.

    Formula
    -------
    settling_time_s = lag_s * ln(1 / share_left)

    Parameters
    ----------
    lag_s : float or array [s]
        Time constant of the meter.
    share_left : float or array [1]
        Share of the change that may still be missing, such as 0.01.

    Returns
    -------
    float or array [s]
        Time to wait after the change.

    Range
    -----
    A lag from zero up, shares above 0 up to 1; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the lag is negative, or the share is none.

    Examples
    --------
    >>> round(float(settling_time_s(0.8, share_left=0.01)), 4)
    3.6841

    Source
    ------
    Step response of a first-order lag, textbook.
    """
    share = np.asarray(positive("share_left", share_left), dtype=float)
    if np.any(share > 1):
        raise RangeError(f"share_left is {np.nanmax(share):g}; before the wait all is missing, which is 1.")
    return not_negative("lag_s", lag_s) * np.log(1 / share)


def reading_ahead_rpm(lag_s, *, speed_change_rpm_s):
    """How far a lagging meter reads off while the speed changes steadily: high while it falls.

    Formula
    -------
    reading_ahead_rpm = -speed_change_rpm_s * lag_s

    Parameters
    ----------
    lag_s : float or array [s]
        Time constant of the meter.
    speed_change_rpm_s : float or array [rpm/s]
        Rate of change of the speed; negative while the spindle slows.

    Returns
    -------
    float or array [rpm]
        Reading less true speed, once the start of the change is a few lags past.

    Range
    -----
    Any finite rate; NaN in gives NaN out.

    Examples
    --------
    >>> round(reading_ahead_rpm(0.8, speed_change_rpm_s=-67.0), 6)
    53.6

    Source
    ------
    Ramp response of a first-order lag, textbook.
    """
    return -speed_change_rpm_s * lag_s


def reading_age_s(*, lag_s, gate_s, hold_s):
    """How old a reading is on the average when it is read off.

    Formula
    -------
    reading_age_s = lag_s + gate_s / 2 + hold_s / 2

    Parameters
    ----------
    lag_s : float or array [s]
        Time constant of the meter's smoothing.
    gate_s : float or array [s]
        Time over which it counts; of a meter that times pulses, the time from one to the next.
    hold_s : float or array [s]
        Time for which the display holds a number.

    Returns
    -------
    float or array [s]
        Mean age. At worst gate and hold count in full.

    Range
    -----
    All from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a time is negative.

    Examples
    --------
    >>> round(reading_age_s(lag_s=0.8, gate_s=0.06, hold_s=0.25), 3)
    0.955

    Source
    ------
    Derived here: a mean over a gate belongs to its middle, a held number is read at any moment alike.
    """
    counted = not_negative("gate_s", gate_s) / 2 + not_negative("hold_s", hold_s) / 2
    return not_negative("lag_s", lag_s) + counted


def wait_after_switching_s(*, dead_time_s, lag_s, gate_s):
    """How long the reading means nothing after one meter was switched from one spindle to another.

    Formula
    -------
    wait_after_switching_s = dead_time_s + 5 * lag_s + gate_s

    Parameters
    ----------
    dead_time_s : float or array [s]
        Time before the reading begins to move.
    lag_s : float or array [s]
        Time constant of the meter's smoothing.
    gate_s : float or array [s]
        Time over which it counts.

    Returns
    -------
    float or array [s]
        Time to wait; less than one part in a hundred of the old reading is left then. Marks a turn and
        ratio are the new spindle's own.

    Range
    -----
    All from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a time is negative.

    Examples
    --------
    >>> round(wait_after_switching_s(dead_time_s=0.1, lag_s=0.8, gate_s=0.06), 2)
    4.16

    Source
    ------
    Derived here: five time constants leave exp(-5) of a step.
    """
    started = not_negative("dead_time_s", dead_time_s) + not_negative("gate_s", gate_s)
    return started + 5 * not_negative("lag_s", lag_s)
