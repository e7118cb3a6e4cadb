"""A bar under the tool where there is a closed form: from the chuck, between centres, past a steady."""

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import not_negative, positive

__all__ = [
    "STEEL_N_MM2",
    "between_centres_bend_mm",
    "chuck_only_bend_mm",
    "overhang_bend_mm",
    "sag_mm",
    "second_moment_mm4",
    "slender_ratio",
]

STEEL_N_MM2 = 206_000.0


def second_moment_mm4(bar_diameter_mm, bore_mm=0.0):
    """How strongly a round section resists bending.

    Formula
    -------
    second_moment_mm4 = pi / 64 * (bar_diameter_mm**4 - bore_mm**4)

    Parameters
    ----------
    bar_diameter_mm : float or array [mm]
        Outside diameter.
    bore_mm : float or array [mm]
        Bore; 0 for a solid bar.

    Returns
    -------
    float or array [mm4]
        Second moment of area.

    Range
    -----
    A diameter above zero and above the bore; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the bar has no wall.

    Examples
    --------
    >>> round(float(second_moment_mm4(20)), 2)
    7853.98

    Source
    ------
    Any textbook on the strength of materials.
    """
    outside = positive("bar_diameter_mm", bar_diameter_mm)
    inside = not_negative("bore_mm", bore_mm)
    if np.any(inside >= outside):
        raise RangeError(f"bore_mm is {bore_mm}; it must be less than the diameter, {bar_diameter_mm} mm.")
    return np.pi / 64 * (outside**4 - inside**4)


def chuck_only_bend_mm(cutting_force_n, overhang_mm, bar_diameter_mm, elasticity_n_mm2=STEEL_N_MM2):
    """How far the end of a bar gives way that only the chuck holds.

    Formula
    -------
    section_mm4 = pi / 64 * bar_diameter_mm**4
    chuck_only_bend_mm = cutting_force_n * overhang_mm**3 / (3 * elasticity_n_mm2 * section_mm4)

    Parameters
    ----------
    cutting_force_n : float or array [N]
        Force of the tool across the bar, at its end.
    overhang_mm : float or array [mm]
        From the jaws to the tool.
    bar_diameter_mm : float or array [mm]
        Diameter of the bar.
    elasticity_n_mm2 : float or array [N/mm2]
        Modulus of elasticity, table ``bar_materials``.

    Returns
    -------
    float or array [mm]
        Deflection; the diameter is wrong by twice as much.

    Range
    -----
    Lengths above zero. A real chuck gives as well: common practice, no source, 1.5 to 4 times as much.

    Raises
    ------
    RangeError
        If a figure cannot be.

    Examples
    --------
    >>> round(float(chuck_only_bend_mm(200, 300, 20)), 5)
    1.11254

    Source
    ------
    Cantilever, any textbook on the strength of materials.
    """
    stiffness = 3 * positive("elasticity_n_mm2", elasticity_n_mm2) * second_moment_mm4(bar_diameter_mm)
    length = positive("overhang_mm", overhang_mm)
    return not_negative("cutting_force_n", cutting_force_n) * length**3 / stiffness


def between_centres_bend_mm(cutting_force_n, length_mm, bar_diameter_mm, elasticity_n_mm2=STEEL_N_MM2):
    """How far the middle of a bar gives way that turns between centres.

    Formula
    -------
    section_mm4 = pi / 64 * bar_diameter_mm**4
    between_centres_bend_mm = cutting_force_n * length_mm**3 / (48 * elasticity_n_mm2 * section_mm4)

    Parameters
    ----------
    cutting_force_n : float or array [N]
        Force of the tool across the bar, at its middle.
    length_mm : float or array [mm]
        From centre to centre.
    bar_diameter_mm : float or array [mm]
        Diameter of the bar.
    elasticity_n_mm2 : float or array [N/mm2]
        Modulus of elasticity, table ``bar_materials``.

    Returns
    -------
    float or array [mm]
        Deflection; the diameter is wrong by twice as much.

    Range
    -----
    Lengths above zero; the centres are taken as stiff.

    Raises
    ------
    RangeError
        If a figure cannot be.

    Examples
    --------
    >>> round(float(between_centres_bend_mm(200, 300, 20)), 6)
    0.069534

    Source
    ------
    Beam on two supports, any textbook on the strength of materials.
    """
    stiffness = 48 * positive("elasticity_n_mm2", elasticity_n_mm2) * second_moment_mm4(bar_diameter_mm)
    length = positive("length_mm", length_mm)
    return not_negative("cutting_force_n", cutting_force_n) * length**3 / stiffness


def overhang_bend_mm(
    cutting_force_n, steady_distance_mm, overhang_mm, bar_diameter_mm, elasticity_n_mm2=STEEL_N_MM2
):
    """How far the end of a bar gives way that stands out beyond a steady rest.

    Formula
    -------
    section_mm4 = pi / 64 * bar_diameter_mm**4
    stiffness = elasticity_n_mm2 * section_mm4
    free = overhang_mm**3 / (3 * stiffness)
    behind = overhang_mm**2 * steady_distance_mm / (4 * stiffness)
    overhang_bend_mm = cutting_force_n * (free + behind)

    Parameters
    ----------
    cutting_force_n : float or array [N]
        Force of the tool across the bar, at its end.
    steady_distance_mm : float or array [mm]
        From the chuck to the steady rest.
    overhang_mm : float or array [mm]
        From the steady rest to the tool.
    bar_diameter_mm : float or array [mm]
        Diameter of the bar.
    elasticity_n_mm2 : float or array [N/mm2]
        Modulus of elasticity, table ``bar_materials``.

    Returns
    -------
    float or array [mm]
        Deflection; the diameter is wrong by twice as much.

    Range
    -----
    Lengths above zero; chuck and steady rest are taken as stiff.

    Raises
    ------
    RangeError
        If a figure cannot be.

    Examples
    --------
    >>> round(float(overhang_bend_mm(200, 260, 40, 20)), 6)
    0.015493

    Source
    ------
    Beam clamped at one end with a support, textbook; proven in the tests by a stiffness matrix.
    """
    stiffness = positive("elasticity_n_mm2", elasticity_n_mm2) * second_moment_mm4(bar_diameter_mm)
    beyond = positive("overhang_mm", overhang_mm)
    behind = positive("steady_distance_mm", steady_distance_mm)
    force = not_negative("cutting_force_n", cutting_force_n)
    return force * (beyond**3 / 3 + beyond**2 * behind / 4) / stiffness


def sag_mm(overhang_mm, bar_diameter_mm, density_kg_m3=7850.0, elasticity_n_mm2=STEEL_N_MM2):
    """How far the free end of a bar hangs down by its own weight.

    Formula
    -------
    weight_n_mm = 9.80665 * density_kg_m3 * 1e-9 * pi / 4 * bar_diameter_mm**2
    section_mm4 = pi / 64 * bar_diameter_mm**4
    sag_mm = weight_n_mm * overhang_mm**4 / (8 * elasticity_n_mm2 * section_mm4)

    Parameters
    ----------
    overhang_mm : float or array [mm]
        From the jaws to the end.
    bar_diameter_mm : float or array [mm]
        Diameter of the bar.
    density_kg_m3 : float or array [kg/m3]
        Density, table ``bar_materials``.
    elasticity_n_mm2 : float or array [N/mm2]
        Modulus of elasticity, same table.

    Returns
    -------
    float or array [mm]
        Sag of the end; it turns with the bar only if the bar is bent, so it does not show as run-out.

    Range
    -----
    All above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a figure is zero or negative.

    Examples
    --------
    >>> round(float(sag_mm(300, 20)), 4)
    0.0151

    Source
    ------
    Cantilever under its own weight, any textbook on the strength of materials.
    """
    diameter = positive("bar_diameter_mm", bar_diameter_mm)
    weight_n_mm = 9.80665 * positive("density_kg_m3", density_kg_m3) * 1e-9 * np.pi / 4 * diameter**2
    length = positive("overhang_mm", overhang_mm)
    stiffness = positive("elasticity_n_mm2", elasticity_n_mm2) * second_moment_mm4(diameter)
    return weight_n_mm * length**4 / (8 * stiffness)


def slender_ratio(overhang_mm, bar_diameter_mm):
    """How many times its diameter a bar stands out: the workshop's rule, which leaves out the bar's size.

    Formula
    -------
    slender_ratio = overhang_mm / bar_diameter_mm

    Parameters
    ----------
    overhang_mm : float or array [mm]
        Length that stands out.
    bar_diameter_mm : float or array [mm]
        Diameter of the bar.

    Returns
    -------
    float or array [1]
        Diameters of overhang; up to 3 or 4 from the chuck, 6 to 10 with a centre (common practice, no
        source).

    Range
    -----
    Both above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If one is zero or negative.

    Examples
    --------
    >>> slender_ratio(80, 20)
    4.0

    Source
    ------
    Derived here: a definition. At the same ratio a thinner bar bends more, in proportion.
    """
    return positive("overhang_mm", overhang_mm) / positive("bar_diameter_mm", bar_diameter_mm)
