"""What the belt bears: the torque at which it slips, its share of power at a small wrap, its speed."""

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import not_negative, positive

# Share of its rated power that a V belt carries at a smaller wrap; from memory.
ARC_FACTORS = ((120.0, 0.82), (150.0, 0.92), (180.0, 1.00))


def tension_ratio(wrap_deg, *, friction, groove_deg):
    """How many times harder the tight run may pull than the slack run before the belt slips.

    A groove wedges the belt and makes the friction count more often.

    Formula
    -------
    tension_ratio = exp(friction * wrap_deg * pi / 180 / sin(groove_deg / 2 * pi / 180))

    Parameters
    ----------
    wrap_deg : float or array [deg]
        Angle over which the belt lies on the pulley.
    friction : float or array [1]
        Coefficient of friction, see the table ``belts``.
    groove_deg : float or array [deg]
        Angle between the flanks of the groove; 180 for a flat belt.

    Returns
    -------
    float or array [1]
        Pull of the tight run over pull of the slack run.

    Range
    -----
    Grooves over 0 up to 180 degrees, slow belts (no centrifugal pull); NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the wrap or friction is negative or the groove not above zero.

    Examples
    --------
    >>> float(round(tension_ratio(180, friction=0.3, groove_deg=180), 3))
    2.566

    Source
    ------
    Textbook: the rope-brake (capstan) law with the wedge of the groove.
    """
    half_groove = np.radians(positive("groove_deg", groove_deg)) / 2
    wrap = np.radians(not_negative("wrap_deg", wrap_deg))
    return np.exp(not_negative("friction", friction) * wrap / np.sin(half_groove))


def slip_torque_nm(belt_pull_n, *, pulley_mm, wrap_deg, friction, groove_deg):
    """At what torque the belt slips on a pulley.

    Formula
    -------
    grip = exp(friction * wrap_deg * pi / 180 / sin(groove_deg / 2 * pi / 180))
    slip_torque_nm = belt_pull_n * (grip - 1) / (grip + 1) * pulley_mm / 2000

    Parameters
    ----------
    belt_pull_n : float or array [N]
        Pull of both runs together: what the belt pulls on the shaft at rest, nearly parallel runs taken.
    pulley_mm : float or array [mm]
        Running diameter of the pulley, the smaller one.
    wrap_deg : float or array [deg]
        Angle over which the belt lies on it.
    friction : float or array [1]
        Coefficient of friction.
    groove_deg : float or array [deg]
        Angle between the flanks of the groove; 180 for a flat belt.

    Returns
    -------
    float or array [N m]
        Torque on that pulley; times the belt ratio it is the torque at the spindle.

    Range
    -----
    A belt whose mean pull stays as the load grows; oil on it spoils everything. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a figure cannot be.

    Examples
    --------
    >>> float(round(slip_torque_nm(300, pulley_mm=50, wrap_deg=160, friction=0.25, groove_deg=40), 2))
    5.78

    Source
    ------
    Derived here from `tension_ratio`: the sum of both pulls stays, their difference is the torque.
    """
    grip = tension_ratio(wrap_deg, friction=friction, groove_deg=groove_deg)
    pulled = not_negative("belt_pull_n", belt_pull_n) * (grip - 1) / (grip + 1)
    return pulled * positive("pulley_mm", pulley_mm) / 2000


def arc_factor(wrap_deg):
    """What share of its rated power a V belt carries when it lies on less than half of the small pulley.

    Formula
    -------
    none: straight lines through a table: 0.82 at 120 degrees, 0.92 at 150, 1 at 180.

    Parameters
    ----------
    wrap_deg : float or array [deg]
        Angle over which the belt lies on the small pulley.

    Returns
    -------
    float or array [1]
        Share; 1 from 180 degrees on.

    Range
    -----
    From 120 degrees up. Below that a V belt is not to be used.

    Raises
    ------
    RangeError
        Below 120 degrees.

    Examples
    --------
    >>> round(float(arc_factor(165)), 2)
    0.96

    Source
    ------
    Makers' tables, from memory.
    """
    angles, shares = zip(*ARC_FACTORS, strict=True)
    if np.any(np.asarray(wrap_deg) < angles[0]):
        raise RangeError(
            f"wrap_deg is {np.nanmin(wrap_deg):.0f}; a V belt needs at least {angles[0]:.0f}. "
            "Set the shafts farther apart, or take a less unequal pair of pulleys."
        )
    return np.interp(wrap_deg, angles, shares)


def belt_speed_m_s(pulley_mm, *, motor_speed_rpm):
    """How fast the belt runs.

    Formula
    -------
    belt_speed_m_s = pi * pulley_mm / 1000 * motor_speed_rpm / 60

    Parameters
    ----------
    pulley_mm : float or array [mm]
        Running diameter of the motor's pulley.
    motor_speed_rpm : float or array [rpm]
        Speed of the motor.

    Returns
    -------
    float or array [m/s]
        Speed of the belt; what each kind of belt bears stands in the table ``belts``.

    Range
    -----
    NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the diameter is not above zero.

    Examples
    --------
    >>> float(round(belt_speed_m_s(60, motor_speed_rpm=3000), 4))
    9.4248

    Source
    ------
    Derived here: the rim's way each second.
    """
    return np.pi * positive("pulley_mm", pulley_mm) / 1000 * motor_speed_rpm / 60
