"""Two collars turned on a bar: what their difference says about the axis, and what only looks like it."""

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import not_negative, positive

__all__ = [
    "axis_skew_mm_m",
    "bending_taper_mm",
    "foot_shim_mm",
    "stiff_enough_bar_mm",
    "tailstock_move_mm",
    "twist_taper_mm",
    "vertical_skew_taper_mm",
]


def axis_skew_mm_m(taper_mm, collar_distance_mm):
    """How far the spindle's axis swings away from the tool's path, seen from above.

    Formula
    -------
    axis_skew_mm_m = 1000 * taper_mm / (2 * collar_distance_mm)

    Parameters
    ----------
    taper_mm : float or array [mm]
        Diameter of the far collar less that of the one near the chuck.
    collar_distance_mm : float or array [mm]
        From collar to collar.

    Returns
    -------
    float or array [mm/m]
        Skew of the axis; positive when the far end lies away from the tool and must swing towards it.

    Range
    -----
    Any taper, a distance above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the distance is zero or negative.

    Examples
    --------
    >>> round(axis_skew_mm_m(0.030, 150), 6)
    0.1

    Source
    ------
    Derived here: a diameter grows by twice what its radius does.
    """
    return 1000 * taper_mm / (2 * positive("collar_distance_mm", collar_distance_mm))


def foot_shim_mm(taper_mm, collar_distance_mm, foot_base_mm):
    """The shim under (or the push at) one end of the headstock that takes a taper out.

    Formula
    -------
    foot_shim_mm = foot_base_mm * taper_mm / (2 * collar_distance_mm)

    Parameters
    ----------
    taper_mm : float or array [mm]
        Diameter of the far collar less that of the near one.
    collar_distance_mm : float or array [mm]
        From collar to collar.
    foot_base_mm : float or array [mm]
        Between the screws or feet about which the headstock is turned.

    Returns
    -------
    float or array [mm]
        What one end of the base must move; its sign is the taper's.

    Range
    -----
    Distances above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a distance is zero or negative.

    Examples
    --------
    >>> round(foot_shim_mm(0.030, 150, 120), 6)
    0.012

    Source
    ------
    Derived here: similar triangles.
    """
    base = positive("foot_base_mm", foot_base_mm)
    return base * taper_mm / (2 * positive("collar_distance_mm", collar_distance_mm))


def tailstock_move_mm(taper_mm, collar_distance_mm, between_centres_mm):
    """How far the tailstock must be set over to take out a taper turned between centres.

    Formula
    -------
    tailstock_move_mm = taper_mm / 2 * between_centres_mm / collar_distance_mm

    Parameters
    ----------
    taper_mm : float or array [mm]
        Diameter of the collar at the tailstock less that of the one at the headstock.
    collar_distance_mm : float or array [mm]
        From collar to collar.
    between_centres_mm : float or array [mm]
        From centre to centre.

    Returns
    -------
    float or array [mm]
        Towards the tool when positive: the end that is too thick goes nearer to it.

    Range
    -----
    Distances above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a distance is zero or negative.

    Examples
    --------
    >>> round(tailstock_move_mm(0.03, 200, 300), 6)
    0.0225

    Source
    ------
    Derived here: similar triangles.
    """
    length = positive("collar_distance_mm", collar_distance_mm)
    return taper_mm / 2 * positive("between_centres_mm", between_centres_mm) / length


def bending_taper_mm(cutting_force_n, near_mm, far_mm, bar_diameter_mm, elasticity_n_mm2=206_000.0):
    """The taper that a bar shows only because its free end bends away from the tool.

    Formula
    -------
    section_mm4 = pi * bar_diameter_mm**4 / 64
    bending_taper_mm = 2 * cutting_force_n * (far_mm**3 - near_mm**3) / (3 * elasticity_n_mm2 * section_mm4)

    Parameters
    ----------
    cutting_force_n : float or array [N]
        Force of the tool across the bar, away from itself.
    near_mm : float or array [mm]
        From the chuck to the near collar.
    far_mm : float or array [mm]
        From the chuck to the far collar.
    bar_diameter_mm : float or array [mm]
        Diameter of the bar between the collars.
    elasticity_n_mm2 : float or array [N/mm2]
        Modulus of elasticity; 206 000 for steel.

    Returns
    -------
    float or array [mm]
        Diameter that the far collar keeps too much of.

    Range
    -----
    The far collar lies beyond the near one; a chuck that gives makes it larger. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a length, force or diameter cannot be, or the collars are changed over.

    Examples
    --------
    >>> round(float(bending_taper_mm(20, 0, 150, 25)), 5)
    0.01139

    Source
    ------
    Cantilever under an end load, any textbook on the strength of materials.
    """
    near, far = not_negative("near_mm", near_mm), not_negative("far_mm", far_mm)
    if np.any(far <= near):
        raise RangeError(f"far_mm is {far_mm}; the far collar lies beyond the near one at {near_mm} mm.")
    section_mm4 = np.pi * positive("bar_diameter_mm", bar_diameter_mm) ** 4 / 64
    stiffness = 3 * positive("elasticity_n_mm2", elasticity_n_mm2) * section_mm4
    return 2 * not_negative("cutting_force_n", cutting_force_n) * (far**3 - near**3) / stiffness


def stiff_enough_bar_mm(cutting_force_n, far_mm, taper_tolerance_mm, elasticity_n_mm2=206_000.0):
    """The thinnest test bar that bends by no more than a quarter of the taper to be judged.

    Formula
    -------
    allowed_mm = taper_tolerance_mm / 4
    section_mm4 = 2 * cutting_force_n * far_mm**3 / (3 * elasticity_n_mm2 * allowed_mm)
    stiff_enough_bar_mm = (64 * section_mm4 / pi) ** (1/4)

    Parameters
    ----------
    cutting_force_n : float or array [N]
        Force of the tool across the bar.
    far_mm : float or array [mm]
        From the chuck to the far collar.
    taper_tolerance_mm : float or array [mm]
        The taper that is to be judged.
    elasticity_n_mm2 : float or array [N/mm2]
        Modulus of elasticity; 206 000 for steel.

    Returns
    -------
    float or array [mm]
        Diameter of the bar.

    Range
    -----
    All above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If an input is zero or negative.

    Examples
    --------
    >>> round(float(stiff_enough_bar_mm(20, 150, 0.0456)), 1)
    25.0

    Source
    ------
    Derived here from the taper that bending fakes; the quarter is common practice, no source.
    """
    force = positive("cutting_force_n", cutting_force_n)
    length = positive("far_mm", far_mm)
    allowed = positive("taper_tolerance_mm", taper_tolerance_mm) / 4
    elasticity = positive("elasticity_n_mm2", elasticity_n_mm2)
    section_mm4 = 2 * force * length**3 / (3 * elasticity * allowed)
    return (64 * section_mm4 / np.pi) ** 0.25


def vertical_skew_taper_mm(rise_mm, work_radius_mm):
    """The change of diameter when the axis lies higher or lower than the tool: next to nothing.

    Formula
    -------
    vertical_skew_taper_mm = 2 * (sqrt(work_radius_mm**2 + rise_mm**2) - work_radius_mm)

    Parameters
    ----------
    rise_mm : float or array [mm]
        How much higher or lower the axis lies at the far end.
    work_radius_mm : float or array [mm]
        Radius being turned, with the tool at the height of the axis at the near end.

    Returns
    -------
    float or array [mm]
        What the diameter grows by.

    Range
    -----
    Any rise, a radius above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the radius is zero or negative.

    Examples
    --------
    >>> round(float(vertical_skew_taper_mm(0.1, 12.5)), 6)
    0.0008

    Source
    ------
    Derived here: the tool meets the circle beside its level point (Pythagoras).
    """
    radius = np.asarray(positive("work_radius_mm", work_radius_mm), dtype=float)
    return 2 * (np.hypot(radius, np.asarray(rise_mm, dtype=float)) - radius)


def twist_taper_mm(twist_mm_m, centre_height_mm):
    """The taper that a twisted bed turns, because the tool leans as the carriage moves along.

    Formula
    -------
    twist_taper_mm = 2 * centre_height_mm * twist_mm_m / 1000

    Parameters
    ----------
    twist_mm_m : float or array [mm/m]
        Level across the bed at the far collar less that at the near one, each the mean of both ways round.
    centre_height_mm : float or array [mm]
        Height of the centres above the ways.

    Returns
    -------
    float or array [mm]
        Change of diameter from collar to collar.

    Range
    -----
    Any twist, a height above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the height is zero or negative.

    Examples
    --------
    >>> round(twist_taper_mm(0.1, 100), 6)
    0.02

    Source
    ------
    Derived here: the tool swings about the ways by the angle of the twist.
    """
    return 2 * positive("centre_height_mm", centre_height_mm) * twist_mm_m / 1000
