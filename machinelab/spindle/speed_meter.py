"""The RPM meter: what stands between the spindle and the number it shows."""

from dataclasses import dataclass

import numpy as np


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
    Shares above 0 up to 1; NaN in gives NaN out.

    Examples
    --------
    >>> round(float(settling_time_s(0.8, share_left=0.01)), 4)
    3.6841

    Source
    ------
    Step response of a first-order lag, textbook.
    """
    return lag_s * np.log(1 / np.asarray(share_left))


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
