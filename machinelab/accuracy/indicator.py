"""How far a dial indicator can be believed: its own step, its lever, and several readings together."""

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import not_negative, positive

__all__ = ["lever_over_reading", "reading_sd_mm"]

STEEPEST_LEVER_DEG = 60.0


def reading_sd_mm(division_mm, hysteresis_mm=0.0, scatter_mm=0.0, reading_count=1):
    """The standard uncertainty of a dial reading, taken to the nearest division.

    Formula
    -------
    division_part = division_mm**2 / 12
    hysteresis_part = hysteresis_mm**2 / 12
    reading_sd_mm = sqrt(division_part + hysteresis_part + scatter_mm**2 / reading_count)

    Parameters
    ----------
    division_mm : float or array [mm]
        One division of the dial.
    hysteresis_mm : float or array [mm]
        What the dial shows going in less what it shows coming out, at the same place.
    scatter_mm : float or array [mm]
        Standard deviation of repeated readings.
    reading_count : int [count]
        How many readings the mean is of.

    Returns
    -------
    float or array [mm]
        Standard deviation; twice it is the U of an inspection sheet, and a difference of two has 1.41 of it.

    Range
    -----
    A division above zero, at least one reading; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a length is negative or there is no reading.

    Examples
    --------
    >>> round(float(reading_sd_mm(0.01)), 6)
    0.002887

    Source
    ------
    JCGM 100 (GUM), rectangular distribution: textbook.
    """
    division = np.asarray(positive("division_mm", division_mm), dtype=float)
    hysteresis, scatter = not_negative("hysteresis_mm", hysteresis_mm), not_negative("scatter_mm", scatter_mm)
    count = positive("reading_count", reading_count)
    return np.sqrt(division**2 / 12 + hysteresis**2 / 12 + scatter**2 / count)


def lever_over_reading(lever_angle_deg):
    """The share by which a lever indicator reads too much when its lever stands at an angle to the surface.

    Formula
    -------
    lever_over_reading = 1 / cos(lever_angle_deg * pi / 180) - 1

    Parameters
    ----------
    lever_angle_deg : float or array [deg]
        Between the lever and the surface that it touches; 0 is right.

    Returns
    -------
    float or array [1]
        Share of the reading that is too much; a pear-shaped tip corrects a part of it.

    Range
    -----
    Up to 60 degrees either way; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the lever stands steeper.

    Examples
    --------
    >>> round(float(lever_over_reading(20)), 4)
    0.0642

    Source
    ------
    Derived here: the tip moves along the surface's normal, the lever turns about its own axis.
    """
    if np.any(np.abs(lever_angle_deg) > STEEPEST_LEVER_DEG):
        raise RangeError(
            f"lever_angle_deg is {lever_angle_deg}; lay the lever flatter, "
            f"within {STEEPEST_LEVER_DEG:g} degrees."
        )
    return 1 / np.cos(np.radians(lever_angle_deg)) - 1
