"""How stiff chuck and spindle really are, from a push at two overhangs; the cut's force from a turned bar."""

from dataclasses import dataclass

import numpy as np

from machinelab.errors import RangeError
from machinelab.estimate import Estimate
from machinelab.least_squares import columns_of, fit_with_known_sd
from machinelab.ranges import positive
from machinelab.work.bar import Bar, tool_deflection_mm
from machinelab.work.bending import STEEL_N_MM2, chuck_only_bend_mm

__all__ = ["ChuckStiffness", "chuck_stiffness", "force_across_n", "gripped_bend_mm", "proven_force_n"]

FEWEST = 3


@dataclass(frozen=True)
class ChuckStiffness:
    """What chuck, spindle and bearings add to the bending of the bar.

    Parameters
    ----------
    chuck_turning_nmm_rad : Estimate [N mm/rad]
        Moment for each radian that the bar leans in the jaws; infinite where no lean is found.
    chuck_spring_n_mm : Estimate [N/mm]
        Force for each millimetre that chuck and spindle give sideways; infinite where no give is found.
    push_unexplained_mm : float [mm]
        Largest part of a reading that neither bar nor chuck explains.
    """

    chuck_turning_nmm_rad: Estimate
    chuck_spring_n_mm: Estimate
    push_unexplained_mm: float


def gripped_bend_mm(
    cutting_force_n,
    overhang_mm,
    bar_diameter_mm,
    *,
    chuck_turning_nmm_rad,
    chuck_spring_n_mm,
    elasticity_n_mm2=STEEL_N_MM2,
):
    """How far the end of a bar gives way in a chuck that gives as well.

    Formula
    -------
    section_mm4 = pi / 64 * bar_diameter_mm**4
    bent_mm = cutting_force_n * overhang_mm**3 / (3 * elasticity_n_mm2 * section_mm4)
    leaned_mm = cutting_force_n * overhang_mm**2 / chuck_turning_nmm_rad
    gripped_bend_mm = bent_mm + leaned_mm + cutting_force_n / chuck_spring_n_mm

    Parameters
    ----------
    cutting_force_n : float or array [N]
        Force of the tool across the bar, at its end.
    overhang_mm : float or array [mm]
        From the jaws to the tool.
    bar_diameter_mm : float or array [mm]
        Diameter of the bar.
    chuck_turning_nmm_rad : float or array [N mm/rad]
        Moment for each radian that the bar leans in the jaws.
    chuck_spring_n_mm : float or array [N/mm]
        Force for each millimetre that chuck and spindle give sideways.
    elasticity_n_mm2 : float or array [N/mm2]
        Modulus of elasticity, table ``bar_materials``.

    Returns
    -------
    float or array [mm]
        Deflection; the diameter is wrong by twice as much.

    Range
    -----
    Figures above zero; infinite stiffness gives the stiff chuck of the textbooks.

    Raises
    ------
    RangeError
        If a figure cannot be.

    Examples
    --------
    >>> bent = gripped_bend_mm(100, 80, 20, chuck_turning_nmm_rad=1e8, chuck_spring_n_mm=30000)
    >>> round(float(bent), 5)
    0.02028

    Source
    ------
    Cantilever, textbook, on a root that leans and gives: derived here by adding what each lets go.
    """
    turning = positive("chuck_turning_nmm_rad", chuck_turning_nmm_rad)
    spring = positive("chuck_spring_n_mm", chuck_spring_n_mm)
    bent = chuck_only_bend_mm(cutting_force_n, overhang_mm, bar_diameter_mm, elasticity_n_mm2)
    return bent + cutting_force_n * np.asarray(overhang_mm) ** 2 / turning + cutting_force_n / spring


def chuck_stiffness(
    overhangs_mm, pushes_n, moved_mm, *, bar_diameter_mm, reading_sd_mm, elasticity_n_mm2=STEEL_N_MM2
) -> ChuckStiffness:
    """How stiff chuck and spindle are, from a bar pushed at two overhangs or more.

    Formula
    -------
    none: linear least squares of moved less the bar's own bending on force times overhang squared and force;
    the two columns give the inverse of the two stiffnesses

    Parameters
    ----------
    overhangs_mm : array of shape (readings,) [mm]
        From the jaws to the place of push and dial.
    pushes_n : array of shape (readings,) [N]
        Force across the bar.
    moved_mm : array of shape (readings,) [mm]
        What the dial showed there.
    bar_diameter_mm : float [mm]
        Diameter of the bar that was pushed.
    reading_sd_mm : float [mm]
        Standard uncertainty of a reading.
    elasticity_n_mm2 : float [N/mm2]
        Modulus of elasticity of the bar.

    Returns
    -------
    ChuckStiffness
        Both stiffnesses with 95 % intervals, and the largest reading that is left over.

    Range
    -----
    At least three readings at two overhangs that differ by a third.

    Raises
    ------
    RangeError
        If there are too few, or the overhangs are too much alike to tell the two apart.

    Examples
    --------
    >>> out, push = np.array([40.0, 40.0, 120.0, 120.0]), np.array([50.0, 100.0, 50.0, 100.0])
    >>> moved = gripped_bend_mm(push, out, 25, chuck_turning_nmm_rad=1e8, chuck_spring_n_mm=2e4)
    >>> found = chuck_stiffness(out, push, moved, bar_diameter_mm=25, reading_sd_mm=0.0005)
    >>> round(found.chuck_turning_nmm_rad.value), round(found.chuck_spring_n_mm.value)
    (100000000, 20000)

    Source
    ------
    Derived here: `gripped_bend_mm` is linear in the inverse of each stiffness.
    """
    overhangs, pushes, moved = columns_of(overhangs_mm=overhangs_mm, pushes_n=pushes_n, moved_mm=moved_mm)
    if overhangs.size < FEWEST or overhangs.max() < 4 / 3 * overhangs.min():
        raise RangeError(
            f"{overhangs.size} readings cannot tell how the bar leans in the jaws from how the chuck gives: "
            "push at two overhangs that differ by a third or more, three readings at least."
        )
    sd = float(positive("reading_sd_mm", reading_sd_mm))
    own = chuck_only_bend_mm(positive("pushes_n", pushes), overhangs, bar_diameter_mm, elasticity_n_mm2)
    design = np.column_stack([pushes * overhangs**2, pushes])
    (lean, give), left_over = fit_with_known_sd(design, moved - own, sd)
    return ChuckStiffness(_inverse(lean), _inverse(give), float(np.max(np.abs(left_over))))


def force_across_n(force_n, *, across_share):
    """The part of a cut's force that pushes the work away from the tool.

    Formula
    -------
    force_across_n = across_share * force_n

    Parameters
    ----------
    force_n : float or array [N]
        Force along the cut, see `machinelab.work.cutting.turning`.
    across_share : float or array [1]
        Share across the work: 0.3 to 0.5 for tools that cut square, more with a large nose or a fine cut.

    Returns
    -------
    float or array [N]
        Force across the work.

    Range
    -----
    Shares above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a figure is not above zero.

    Examples
    --------
    >>> force_across_n(200.0, across_share=0.4)
    80.0

    Source
    ------
    Common practice, no source: 0.3 to 0.5.
    """
    return positive("across_share", across_share) * positive("force_n", force_n)


def proven_force_n(bar: Bar, at_mm, diameters_mm, *, reading_sd_mm) -> Estimate:
    """The force of the tool that explains how a turned bar's diameter changes along it.

    Formula
    -------
    none: linear least squares of the diameters on a constant and on twice the deflection for one newton

    Parameters
    ----------
    bar : Bar
        Bar and supports as it was turned.
    at_mm : array of shape (readings,) [mm]
        Places of the readings, from the jaws.
    diameters_mm : array of shape (readings,) [mm]
        Diameters there.
    reading_sd_mm : float [mm]
        Standard uncertainty of a diameter.

    Returns
    -------
    Estimate [N]
        Force across the bar; one that cannot be, such as below zero, tells of another cause.

    Range
    -----
    At least three places where the bar does not give alike.

    Raises
    ------
    RangeError
        If there are fewer, or the bar gives nearly alike at all of them.

    Examples
    --------
    >>> from machinelab.work.holding import diameter_error_mm, held_bar
    >>> bar = held_bar("chuck only", bar_diameter_mm=20, overhang_mm=120)
    >>> places = [20, 60, 100]
    >>> turned = 20 + diameter_error_mm(bar, 40, places)
    >>> round(proven_force_n(bar, places, turned, reading_sd_mm=0.001).value, 3)
    40.0

    Source
    ------
    Derived here.
    """
    places, diameters = columns_of(at_mm=at_mm, diameters_mm=diameters_mm)
    if places.size < FEWEST:
        raise RangeError(f"{places.size} places are too few; measure the bar at {FEWEST} places or more.")
    gives = 2 * tool_deflection_mm(bar, 1.0, places)
    if np.ptp(gives) < 1e-9:
        raise RangeError("The bar gives alike at all these places; measure near its supports and far away.")
    sd = float(positive("reading_sd_mm", reading_sd_mm))
    (_, force), _ = fit_with_known_sd(np.column_stack([np.ones_like(gives), gives]), diameters, sd)
    return force


def _inverse(give: Estimate) -> Estimate:
    """A stiffness from how much a thing gives; what gives nothing is infinitely stiff."""
    low, high = give.interval
    stiff = [1 / part if part > 0 else np.inf for part in (give.value, high, low)]
    return Estimate(stiff[0], (stiff[1], stiff[2]))
