"""The pickup of an RPM meter: how often and how long it switches, and what it counts when it is loose."""

import numpy as np

from machinelab.ranges import not_negative, positive, whole


def pulse_interval_s(speed_rpm, *, marks_per_turn):
    """Time from one pulse of the pickup to the next: no meter can tell a speed more often.

    Formula
    -------
    pulse_interval_s = 60 / (speed_rpm * marks_per_turn)

    Parameters
    ----------
    speed_rpm : float or array [rpm]
        Spindle speed.
    marks_per_turn : int [1]
        Magnets or stripes that pass the pickup in one turn.

    Returns
    -------
    float or array [s]
        Interval; it grows without end towards standstill.

    Range
    -----
    Speed above zero, at least one mark; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the speed is not above zero or the marks are no whole number.

    Examples
    --------
    >>> pulse_interval_s(60, marks_per_turn=4)
    0.25

    Source
    ------
    Derived here: marks a turn times turns a second.
    """
    return 60 / (positive("speed_rpm", speed_rpm) * whole("marks_per_turn", marks_per_turn))


def pulse_length_s(speed_rpm, *, mark_arc_mm, mark_circle_mm):
    """How long one mark keeps the pickup switched.

    Formula
    -------
    pulse_length_s = mark_arc_mm / (pi * mark_circle_mm * speed_rpm / 60)

    Parameters
    ----------
    speed_rpm : float or array [rpm]
        Spindle speed.
    mark_arc_mm : float or array [mm]
        Length of the mark along its circle, as the pickup sees it.
    mark_circle_mm : float or array [mm]
        Diameter of the circle on which the mark goes round.

    Returns
    -------
    float or array [s]
        Length of the pulse.

    Range
    -----
    All above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is not above zero.

    Examples
    --------
    >>> round(pulse_length_s(1400, mark_arc_mm=6, mark_circle_mm=80) * 1e3, 3)
    1.023

    Source
    ------
    Derived here: arc over the speed of the mark.
    """
    speed_mm_s = np.pi * positive("mark_circle_mm", mark_circle_mm) * positive("speed_rpm", speed_rpm) / 60
    return positive("mark_arc_mm", mark_arc_mm) / speed_mm_s


def pickup_speed_limit_rpm(*, marks_per_turn, shortest_pulse_s, debounce_s=0.0):
    """The highest speed at which a pickup still switches and lets go for every mark.

    Formula
    -------
    pickup_speed_limit_rpm = 60 / (marks_per_turn * (shortest_pulse_s + debounce_s))

    Parameters
    ----------
    marks_per_turn : int [1]
        Magnets or stripes that pass the pickup in one turn.
    shortest_pulse_s : float or array [s]
        What the sensor needs to switch over and back.
    debounce_s : float or array [s]
        Time for which the input looks away after each pulse.

    Returns
    -------
    float or array [rpm]
        Above it pulses are missed and the meter reads low.

    Range
    -----
    At least one mark, shortest pulse above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is out of range.

    Examples
    --------
    >>> round(pickup_speed_limit_rpm(marks_per_turn=4, shortest_pulse_s=0.5e-3, debounce_s=2e-3))
    6000

    Source
    ------
    Derived here: each mark has its share of a turn.
    """
    needed_s = positive("shortest_pulse_s", shortest_pulse_s) + not_negative("debounce_s", debounce_s)
    return 60 / (whole("marks_per_turn", marks_per_turn) * needed_s)


def hum_reading_rpm(mains_frequency_hz, *, marks_per_turn):
    """What a meter shows when its input is loose and it counts the mains instead of the spindle.

    Formula
    -------
    hum_reading_rpm = 60 * mains_frequency_hz / marks_per_turn

    Parameters
    ----------
    mains_frequency_hz : float or array [Hz]
        50 or 60.
    marks_per_turn : int [1]
        Marks for which the meter is set.

    Returns
    -------
    float or array [rpm]
        A reading near it (or near twice it) with the spindle at rest is the mains.

    Range
    -----
    Frequency above zero, at least one mark; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is out of range.

    Examples
    --------
    >>> hum_reading_rpm(60, marks_per_turn=1)
    3600.0

    Source
    ------
    Derived here: each swing of the mains counts for one mark.
    """
    return 60 * positive("mains_frequency_hz", mains_frequency_hz) / whole("marks_per_turn", marks_per_turn)


def is_mains_hum(shown_rpm, *, mains_frequency_hz, marks_per_turn, nearness=0.01):
    """Whether a reading that nobody asked for sits where the mains would put it.

    Formula
    -------
    none: near 60 f / p or twice that

    Parameters
    ----------
    shown_rpm : float or array [rpm]
        What the meter shows with the spindle at rest.
    mains_frequency_hz : float [Hz]
        50 or 60.
    marks_per_turn : int [1]
        Marks for which the meter is set.
    nearness : float [1]
        How near counts as on it.

    Returns
    -------
    bool or array [yes or no]
        True for a likely phantom.

    Range
    -----
    Any reading; NaN in gives no.

    Raises
    ------
    RangeError
        If frequency or marks are out of range.

    Examples
    --------
    >>> bool(is_mains_hum(3598, mains_frequency_hz=60, marks_per_turn=1))
    True

    Source
    ------
    Derived here from `hum_reading_rpm`.
    """
    once = hum_reading_rpm(mains_frequency_hz, marks_per_turn=marks_per_turn)
    shown = np.asarray(shown_rpm, float)
    return (np.abs(shown - once) <= nearness * once) | (np.abs(shown - 2 * once) <= 2 * nearness * once)
