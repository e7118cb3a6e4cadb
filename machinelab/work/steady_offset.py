"""What a steady rest that stands off the axis does to the work."""

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import positive
from machinelab.work.bending import STEEL_N_MM2, second_moment_mm4

__all__ = ["sideways_taper_mm", "walk_out_bend_mm", "walk_out_force_n"]


def sideways_taper_mm(offset_mm, steady_distance_mm, cut_length_mm):
    """The taper that a steady rest set off to the side turns, when the chuck holds the work loosely.

    Formula
    -------
    sideways_taper_mm = 2 * offset_mm / steady_distance_mm * cut_length_mm

    Parameters
    ----------
    offset_mm : float or array [mm]
        How far the steady rest's centre lies off the axis, towards the tool or away.
    steady_distance_mm : float or array [mm]
        From the chuck to the steady rest.
    cut_length_mm : float or array [mm]
        Length turned.

    Returns
    -------
    float or array [mm]
        Change of diameter along the cut.

    Range
    -----
    A distance above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the distance is zero or negative.

    Examples
    --------
    >>> round(sideways_taper_mm(0.1, 250, 100), 6)
    0.08

    Source
    ------
    Derived here: similar triangles. Up or down the same error changes the diameter a hundred times less.
    """
    return 2 * offset_mm / positive("steady_distance_mm", steady_distance_mm) * cut_length_mm


def walk_out_bend_mm(offset_mm, steady_distance_mm, place_mm):
    """How a bar clamped in the chuck is bent by a steady rest that stands off centre.

    Formula
    -------
    s = place_mm / steady_distance_mm
    walk_out_bend_mm = offset_mm * (3 * s**2 - s**3) / 2

    Parameters
    ----------
    offset_mm : float or array [mm]
        How far the steady rest's centre lies off the axis.
    steady_distance_mm : float or array [mm]
        From the chuck to the steady rest.
    place_mm : float or array [mm]
        Place along the bar, from the chuck.

    Returns
    -------
    float or array [mm]
        How far the bar lies off the axis there.

    Range
    -----
    Places between chuck and steady rest; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the place lies elsewhere or the distance cannot be.

    Examples
    --------
    >>> round(float(walk_out_bend_mm(0.1, 250, 125)), 5)
    0.03125

    Source
    ------
    Cantilever with its end moved, any textbook on the strength of materials.
    """
    share = np.asarray(place_mm, dtype=float) / positive("steady_distance_mm", steady_distance_mm)
    if np.any((share < 0) | (share > 1)):
        raise RangeError(f"place_mm is {place_mm}; it lies between chuck and steady rest.")
    return offset_mm * (3 * share**2 - share**3) / 2


def walk_out_force_n(offset_mm, steady_distance_mm, bar_diameter_mm, elasticity_n_mm2=STEEL_N_MM2):
    """The force, turned over once a turn, with which a bent bar works its way out of the chuck.

    Formula
    -------
    section_mm4 = pi / 64 * bar_diameter_mm**4
    walk_out_force_n = 3 * elasticity_n_mm2 * section_mm4 * abs(offset_mm) / steady_distance_mm**3

    Parameters
    ----------
    offset_mm : float or array [mm]
        How far the steady rest's centre lies off the axis.
    steady_distance_mm : float or array [mm]
        From the chuck to the steady rest.
    bar_diameter_mm : float or array [mm]
        Diameter of the bar.
    elasticity_n_mm2 : float or array [N/mm2]
        Modulus of elasticity, table ``bar_materials``.

    Returns
    -------
    float or array [N]
        Force of the steady rest on the bar.

    Range
    -----
    Lengths above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a length cannot be.

    Examples
    --------
    >>> round(float(walk_out_force_n(0.1, 250, 25)), 1)
    75.8

    Source
    ------
    Cantilever with its end moved, textbook. That the bar walks out: workshop experience, a published page.
    """
    stiffness = 3 * positive("elasticity_n_mm2", elasticity_n_mm2) * second_moment_mm4(bar_diameter_mm)
    length = positive("steady_distance_mm", steady_distance_mm)
    return stiffness * abs(offset_mm) / length**3
