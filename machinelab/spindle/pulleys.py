"""The open belt over two pulleys: ratio, length, centre distance and wrap.

Diameters are those at which the belt runs, not the outside of the rim. Whether the belt holds and how
fast it runs stands in `machinelab.spindle.belt_grip`.
"""

from fractions import Fraction

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import exact_positive, positive


def pulley_ratio(motor_pulley, spindle_pulley) -> Fraction:
    """How many turns the motor makes for one turn of the spindle.

    Formula
    -------
    pulley_ratio = spindle_pulley / motor_pulley

    Parameters
    ----------
    motor_pulley : Fraction or int [1]
        Pulley on the motor: its diameter, or its teeth.
    spindle_pulley : Fraction or int [1]
        Pulley on the spindle, in the same measure.

    Returns
    -------
    Fraction [turn/turn]
        More than one when the spindle turns slower than the motor.

    Range
    -----
    Above zero; a belt that slips or creeps loses some turns on the way.

    Raises
    ------
    RangeError
        If a pulley is not an exact number above zero.

    Examples
    --------
    >>> pulley_ratio(50, 150)
    Fraction(3, 1)

    Source
    ------
    Derived here: equal lengths of belt pass both pulleys.
    """
    return exact_positive("spindle_pulley", spindle_pulley) / exact_positive("motor_pulley", motor_pulley)


def belt_length_mm(centre_distance_mm, *, motor_pulley_mm, spindle_pulley_mm):
    """How long the belt is, once round two pulleys.

    Formula
    -------
    lean = asin((spindle_pulley_mm - motor_pulley_mm) / (2 * centre_distance_mm))
    belt_length_mm = (
        2 * centre_distance_mm * cos(lean)
        + pi / 2 * (spindle_pulley_mm + motor_pulley_mm)
        + lean * (spindle_pulley_mm - motor_pulley_mm)
    )

    Parameters
    ----------
    centre_distance_mm : float or array [mm]
        Axis to axis.
    motor_pulley_mm : float or array [mm]
        Running diameter on the motor.
    spindle_pulley_mm : float or array [mm]
        Running diameter on the spindle.

    Returns
    -------
    float or array [mm]
        Length where the belt bends.

    Range
    -----
    Pulleys that clear each other; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a length is not above zero, or the pulleys overlap.

    Examples
    --------
    >>> float(round(belt_length_mm(400, motor_pulley_mm=60, spindle_pulley_mm=180), 3))
    1186.008

    Source
    ------
    Textbook: two straight runs and two arcs.
    """
    return _length(*_apart(motor_pulley_mm, spindle_pulley_mm, centre_distance_mm))


def nearly_belt_length_mm(centre_distance_mm, *, motor_pulley_mm, spindle_pulley_mm):
    """How long the belt is by the rule of thumb, good to a tenth of a millimetre for usual pulleys.

    Formula
    -------
    nearly_belt_length_mm = (
        2 * centre_distance_mm
        + pi / 2 * (spindle_pulley_mm + motor_pulley_mm)
        + (spindle_pulley_mm - motor_pulley_mm)**2 / (4 * centre_distance_mm)
    )

    Parameters
    ----------
    centre_distance_mm : float or array [mm]
        Axis to axis.
    motor_pulley_mm : float or array [mm]
        Running diameter on the motor.
    spindle_pulley_mm : float or array [mm]
        Running diameter on the spindle.

    Returns
    -------
    float or array [mm]
        A little short of the true length.

    Range
    -----
    Pulleys that clear each other; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a length is not above zero, or the pulleys overlap.

    Examples
    --------
    >>> float(round(nearly_belt_length_mm(400, motor_pulley_mm=60, spindle_pulley_mm=180), 3))
    1185.991

    Source
    ------
    Textbook: first terms of the exact length.
    """
    small, large, apart = _apart(motor_pulley_mm, spindle_pulley_mm, centre_distance_mm)
    return 2 * apart + np.pi / 2 * (large + small) + (large - small) ** 2 / (4 * apart)


def centre_distance_mm(belt_length_mm, *, motor_pulley_mm, spindle_pulley_mm) -> float:
    """How far apart motor and spindle must stand for a belt that is to be had.

    Leave room to slip the belt on (1.5 % of its length inwards) and to tighten it as it stretches (3 %
    outwards): common practice, no source.

    Formula
    -------
    none: the root of `belt_length_mm`, found numerically.

    Parameters
    ----------
    belt_length_mm : float [mm]
        Length of the belt, once round.
    motor_pulley_mm : float [mm]
        Running diameter on the motor.
    spindle_pulley_mm : float [mm]
        Running diameter on the spindle.

    Returns
    -------
    float [mm]
        Axis to axis.

    Range
    -----
    Belts long enough for the pulleys to clear each other; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a length is not above zero, or the belt is too short for the pulleys.

    Examples
    --------
    >>> round(centre_distance_mm(1186.008, motor_pulley_mm=60, spindle_pulley_mm=180), 2)
    400.0

    Source
    ------
    Derived here from the exact length of the belt.
    """
    from scipy.optimize import brentq

    length = float(positive("belt_length_mm", belt_length_mm))
    pulleys = (
        float(positive("motor_pulley_mm", motor_pulley_mm)),
        float(positive("spindle_pulley_mm", spindle_pulley_mm)),
    )
    if np.isnan([length, *pulleys]).any():
        return float("nan")
    touching = sum(pulleys) / 2
    shortest = _length(*pulleys, touching)
    if length < shortest:
        raise RangeError(
            f"A belt of {length:g} mm is too short: pulleys of {pulleys[0]:g} mm and {pulleys[1]:g} mm touch "
            f"at {shortest:.0f} mm."
        )
    return float(brentq(lambda apart: _length(*pulleys, apart) - length, touching, length))


def wrap_deg(pulley_mm, *, other_pulley_mm, centre_distance_mm):
    """Over what angle the belt lies on a pulley.

    Formula
    -------
    wrap_deg = 180 + 360 / pi * asin((pulley_mm - other_pulley_mm) / (2 * centre_distance_mm))

    Parameters
    ----------
    pulley_mm : float or array [mm]
        Running diameter of the pulley in question; the smaller one slips first.
    other_pulley_mm : float or array [mm]
        Running diameter of the other.
    centre_distance_mm : float or array [mm]
        Axis to axis.

    Returns
    -------
    float or array [deg]
        Angle of wrap, both pulleys together 360 degrees.

    Range
    -----
    Pulleys that clear each other; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a length is not above zero, or the pulleys overlap.

    Examples
    --------
    >>> float(round(wrap_deg(60, other_pulley_mm=180, centre_distance_mm=400), 2))
    162.75

    Source
    ------
    Textbook: the open belt.
    """
    own, other, apart = _apart(pulley_mm, other_pulley_mm, centre_distance_mm)
    return 180 + 2 * np.degrees(np.arcsin((own - other) / (2 * apart)))


def _length(small, large, apart):
    lean = np.arcsin((large - small) / (2 * apart))
    return 2 * apart * np.cos(lean) + np.pi / 2 * (large + small) + lean * (large - small)


def _apart(first_mm, second_mm, centre_mm):
    """The three lengths as numbers, refused where the pulleys would touch."""
    first, second, apart = (
        np.asarray(positive(name, length), dtype=float)
        for name, length in zip(
            ("pulley_mm", "other_pulley_mm", "centre_distance_mm"),
            (first_mm, second_mm, centre_mm),
            strict=True,
        )
    )
    touching = (first + second) / 2
    if np.any(apart < touching):
        raise RangeError(
            f"centre_distance_mm is {np.nanmin(apart):g}; with these pulleys it must be more than "
            f"{np.nanmax(touching):g}, or they run into each other."
        )
    return first, second, apart
