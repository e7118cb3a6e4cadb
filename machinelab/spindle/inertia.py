"""The moment of inertia by hand: of a disc, of the spindle by it, and what each way to it leaves open.

Two ways lead to the inertia, a disc on the spindle and a brake of known volts and ohms. Each has a weak point
of its own: the disc leans on friction that repeats itself, the brake on volts and ohms that are known.
"""

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import not_negative, positive

__all__ = [
    "braking_doubt_share",
    "friction_doubt_share",
    "inertia_from_drag_ratio_kg_m2",
    "ring_inertia_kg_m2",
]


def ring_inertia_kg_m2(mass_kg, *, outer_diameter_mm, bore_diameter_mm=0.0):
    """Moment of inertia of a weighed disc, with a hole or without, about its own axis.

    Formula
    -------
    squares = (outer_diameter_mm/1000)**2 + (bore_diameter_mm/1000)**2
    ring_inertia_kg_m2 = mass_kg * squares / 8

    Parameters
    ----------
    mass_kg : float or array [kg]
        What the scales say.
    outer_diameter_mm : float or array [mm]
        Outside diameter.
    bore_diameter_mm : float or array [mm]
        Diameter of the hole; 0 for a solid disc.

    Returns
    -------
    float or array [kg m2]
        Moment of inertia. A stub to hold it by adds next to nothing, as it lies near the axis.

    Range
    -----
    Mass and outside diameter above zero, the bore smaller than the outside; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is out of range.

    Examples
    --------
    >>> round(float(ring_inertia_kg_m2(4.162, outer_diameter_mm=150.0)), 6)
    0.011706

    Source
    ------
    Hollow cylinder about its axis, textbook of mechanics.
    """
    outer = np.asarray(positive("outer_diameter_mm", outer_diameter_mm)) / 1000
    bore = np.asarray(not_negative("bore_diameter_mm", bore_diameter_mm)) / 1000
    if np.any(bore >= outer):
        raise RangeError("bore_diameter_mm: the hole is as large as the disc; measure both again.")
    return positive("mass_kg", mass_kg) * (outer**2 + bore**2) / 8


def inertia_from_drag_ratio_kg_m2(drag_ratio, *, added_inertia_kg_m2):
    """Moment of inertia of the spindle, told by how much more gently it slows with a disc on it.

    Formula
    -------
    inertia_from_drag_ratio_kg_m2 = added_inertia_kg_m2 / (drag_ratio - 1)

    Parameters
    ----------
    drag_ratio : float or array [1]
        How many times quicker the spindle slows without the disc.
    added_inertia_kg_m2 : float or array [kg m2]
        Moment of inertia of the disc and all that holds it.

    Returns
    -------
    float or array [kg m2]
        All that turns without the disc, felt at the spindle.

    Range
    -----
    A ratio above 1 and an inertia above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is out of range.

    Examples
    --------
    >>> round(inertia_from_drag_ratio_kg_m2(1.39, added_inertia_kg_m2=0.0117), 3)
    0.03

    Source
    ------
    Derived here: the same friction slows J + J_added as many times more gently as it is larger than J.
    """
    return positive("added_inertia_kg_m2", added_inertia_kg_m2) / (_above_one(drag_ratio) - 1)


def friction_doubt_share(drag_ratio, *, friction_scatter_share):
    """How far off the inertia by a disc is, because friction never repeats itself quite.

    Formula
    -------
    friction_doubt_share = friction_scatter_share * sqrt(2) * drag_ratio / (drag_ratio - 1)

    Parameters
    ----------
    drag_ratio : float or array [1]
        How many times quicker the spindle slows without the disc.
    friction_scatter_share : float or array [1]
        Standard deviation of the friction from run to run, over itself.

    Returns
    -------
    float or array [1]
        Standard deviation of the inertia over itself, from one pair of runs. A disc with as much inertia as
        the spindle makes it about three times the friction's own; a light one makes it many times that.

    Range
    -----
    A ratio above 1, a scatter from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is out of range.

    Examples
    --------
    >>> round(float(friction_doubt_share(1.39, friction_scatter_share=0.03)), 3)
    0.151

    Source
    ------
    Derived here: a ratio of two frictions scatters by the root of two of each.
    """
    ratio = _above_one(drag_ratio)
    scatter = not_negative("friction_scatter_share", friction_scatter_share)
    return scatter * np.sqrt(2) * ratio / (ratio - 1)


def braking_doubt_share(*, emf_doubt_share, resistance_doubt_share):
    """How far off the inertia by a brake may be, because its volts and ohms are not known any better.

    Formula
    -------
    braking_doubt_share = sqrt((2*emf_doubt_share)**2 + resistance_doubt_share**2)

    Parameters
    ----------
    emf_doubt_share : float or array [1]
        Doubt of the voltage constant, over itself.
    resistance_doubt_share : float or array [1]
        Doubt of armature and resistor together, over themselves.

    Returns
    -------
    float or array [1]
        Doubt of the inertia over itself, of the same kind as the two that were given.

    Range
    -----
    Both from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is below zero.

    Examples
    --------
    >>> round(float(braking_doubt_share(emf_doubt_share=0.02, resistance_doubt_share=0.03)), 3)
    0.05

    Source
    ------
    Derived here from `machinelab.spindle.brake_circuit.inertia_from_braking_kg_m2`: the volts enter squared.
    """
    volts = 2 * np.asarray(not_negative("emf_doubt_share", emf_doubt_share))
    return np.hypot(volts, not_negative("resistance_doubt_share", resistance_doubt_share))


def _above_one(ratio):
    if np.any(np.asarray(ratio) <= 1):
        raise RangeError(
            "drag_ratio: with a disc on it the spindle slows more gently, so the ratio is above 1; were the "
            "two runs taken for each other?"
        )
    return ratio
