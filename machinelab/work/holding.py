"""The five ways to hold a slender bar, and what each lets it do: diameter error, force, length."""

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import not_negative, positive
from machinelab.work.bar import Bar, Section, Support, tool_deflection_mm
from machinelab.work.bending import STEEL_N_MM2

__all__ = [
    "HOLDINGS",
    "diameter_error_mm",
    "held_bar",
    "largest_force_n",
    "longest_work_mm",
    "worst_error_mm",
]

CHUCK_ONLY = "chuck only"
CHUCK_AND_CENTRE = "chuck and centre"
BETWEEN_CENTRES = "between centres"
CHUCK_AND_STEADY = "chuck and steady rest"
CHUCK_STEADY_CENTRE = "chuck, steady rest and centre"
HOLDINGS = (CHUCK_ONLY, CHUCK_AND_CENTRE, BETWEEN_CENTRES, CHUCK_AND_STEADY, CHUCK_STEADY_CENTRE)
WITH_CHUCK = (CHUCK_ONLY, CHUCK_AND_CENTRE, CHUCK_AND_STEADY, CHUCK_STEADY_CENTRE)
WITH_CENTRE = (CHUCK_AND_CENTRE, BETWEEN_CENTRES, CHUCK_STEADY_CENTRE)
WITH_STEADY = (CHUCK_AND_STEADY, CHUCK_STEADY_CENTRE)
ALONG = 81
SHORTEST_RATIO, LONGEST_RATIO = 0.2, 200.0


def held_bar(
    holding,
    *,
    bar_diameter_mm,
    overhang_mm,
    steady_share=0.5,
    steady_spring_n_mm=np.inf,
    chuck_turning_nmm_rad=np.inf,
    chuck_spring_n_mm=np.inf,
    elasticity_n_mm2=STEEL_N_MM2,
    density_kg_m3=7850.0,
) -> Bar:
    """A plain round bar with the supports of one way to hold it.

    Formula
    -------
    none: chuck at 0, centre at the far end, steady rest between; a centre lets the bar lean, a chuck only as
    far as its own spring lets it

    Parameters
    ----------
    holding : str
        One of ``HOLDINGS``.
    bar_diameter_mm : float [mm]
        Diameter of the bar.
    overhang_mm : float [mm]
        From the jaws, or from centre to centre.
    steady_share : float [1]
        Place of the steady rest as a share of the length; only where there is one.
    steady_spring_n_mm : float [N/mm]
        How stiff the steady rest is, by a push test.
    chuck_turning_nmm_rad : float [N mm/rad]
        Moment for each radian that the bar leans in the jaws; infinite for a stiff chuck.
    chuck_spring_n_mm : float [N/mm]
        Force for each millimetre that spindle and chuck give sideways.
    elasticity_n_mm2 : float [N/mm2]
        Modulus of elasticity, table ``bar_materials``.
    density_kg_m3 : float [kg/m3]
        Density, same table.

    Returns
    -------
    Bar
        The bar with its supports.

    Range
    -----
    Lengths above zero; a steady rest between the ends.

    Raises
    ------
    RangeError
        If the way to hold is not known or a length cannot be.

    Examples
    --------
    >>> bar = held_bar("chuck and centre", bar_diameter_mm=20, overhang_mm=300)
    >>> [support.position_mm for support in bar.supports]
    [0.0, 300.0]

    Source
    ------
    Derived here: what touches the bar.
    """
    if holding not in HOLDINGS:
        raise RangeError(f"There is no way to hold called {holding!r}. Choose one of: {'; '.join(HOLDINGS)}.")
    length = float(positive("overhang_mm", overhang_mm))
    chuck = holding in WITH_CHUCK
    supports = [Support(0.0, chuck_spring_n_mm, chuck_turning_nmm_rad) if chuck else Support(0.0)]
    if holding in WITH_STEADY:
        if not 0 < steady_share < 1:
            raise RangeError(
                f"The steady rest stands at {steady_share:.3g} of the length; it must stand between the ends."
            )
        supports.append(Support(steady_share * length, steady_spring_n_mm))
    if holding in WITH_CENTRE:
        supports.append(Support(length))
    sections = (Section(length, float(positive("bar_diameter_mm", bar_diameter_mm))),)
    return Bar(sections, tuple(supports), float(elasticity_n_mm2), float(density_kg_m3))


def diameter_error_mm(bar, cutting_force_n, at_mm) -> np.ndarray:
    """How much too thick the work comes out where the tool stands.

    Formula
    -------
    none: twice `machinelab.work.bar.tool_deflection_mm`, for the work gives way by half of what is left on

    Parameters
    ----------
    bar : Bar
        Bar and supports.
    cutting_force_n : float [N]
        Force of the tool across the bar.
    at_mm : array of shape (places,) [mm]
        Where the tool stands, from the jaws.

    Returns
    -------
    array of shape (places,) [mm]
        Error of the diameter.

    Range
    -----
    Places on the bar.

    Raises
    ------
    RangeError
        If a place lies off the bar or nothing holds it.

    Examples
    --------
    >>> bar = held_bar("chuck only", bar_diameter_mm=20, overhang_mm=80)
    >>> diameter_error_mm(bar, 100, [80]).round(4)
    array([0.0211])

    Source
    ------
    Derived here: the diameter is twice the radius.
    """
    return 2 * tool_deflection_mm(bar, not_negative("cutting_force_n", cutting_force_n), at_mm)


def worst_error_mm(bar, cutting_force_n) -> float:
    """The largest error of the diameter as the tool travels along the whole bar.

    Formula
    -------
    none: the most of `diameter_error_mm` over evenly spaced places

    Parameters
    ----------
    bar : Bar
        Bar and supports.
    cutting_force_n : float [N]
        Force of the tool across the bar.

    Returns
    -------
    float [mm]
        Error of the diameter where it is worst.

    Range
    -----
    A bar that is held.

    Raises
    ------
    RangeError
        If nothing holds the bar.

    Examples
    --------
    >>> round(worst_error_mm(held_bar("chuck and centre", bar_diameter_mm=20, overhang_mm=300), 200), 4)
    0.0655

    Source
    ------
    Derived here.
    """
    return float(diameter_error_mm(bar, cutting_force_n, np.linspace(0, bar.length_mm, ALONG)).max())


def largest_force_n(bar, allowed_error_mm) -> float:
    """The largest force of the tool for which the diameter keeps its limit all along the bar.

    Formula
    -------
    none: the limit over the worst error of one newton; a bar bends in proportion to the force

    Parameters
    ----------
    bar : Bar
        Bar and supports.
    allowed_error_mm : float [mm]
        What the diameter may be too large.

    Returns
    -------
    float [N]
        Force across the bar.

    Range
    -----
    A limit above zero.

    Raises
    ------
    RangeError
        If the limit is not above zero or nothing holds the bar.

    Examples
    --------
    >>> round(largest_force_n(held_bar("chuck only", bar_diameter_mm=20, overhang_mm=80), 0.02), 1)
    94.8

    Source
    ------
    Derived here.
    """
    return float(positive("allowed_error_mm", allowed_error_mm)) / worst_error_mm(bar, 1.0)


def longest_work_mm(
    holding,
    cutting_force_n,
    allowed_error_mm,
    *,
    bar_diameter_mm,
    steady_share=0.5,
    steady_spring_n_mm=np.inf,
    chuck_turning_nmm_rad=np.inf,
    chuck_spring_n_mm=np.inf,
    elasticity_n_mm2=STEEL_N_MM2,
) -> float:
    """How long a bar may be held in one way before the diameter breaks its limit.

    Formula
    -------
    none: root of the logarithm of worst error over limit, over that of the length (Brent); the steady rest
    keeps its share

    Parameters
    ----------
    holding : str
        One of ``HOLDINGS``.
    cutting_force_n : float [N]
        Force of the tool across the bar.
    allowed_error_mm : float [mm]
        What the diameter may be too large.
    bar_diameter_mm : float [mm]
        Diameter of the bar.
    steady_share : float [1]
        Place of the steady rest as a share of the length.
    steady_spring_n_mm : float [N/mm]
        How stiff the steady rest is.
    chuck_turning_nmm_rad : float [N mm/rad]
        Moment for each radian that the bar leans in the jaws.
    chuck_spring_n_mm : float [N/mm]
        Force for each millimetre that spindle and chuck give sideways.
    elasticity_n_mm2 : float [N/mm2]
        Modulus of elasticity.

    Returns
    -------
    float [mm]
        Length; NaN where even a stub breaks the limit because chuck or steady rest give too much, and
        infinite where 200 diameters still keep it.

    Range
    -----
    A force and a limit above zero.

    Raises
    ------
    RangeError
        If the way to hold is not known or a figure cannot be.

    Examples
    --------
    >>> round(longest_work_mm("chuck only", 100, 0.02, bar_diameter_mm=20), 2)
    78.59

    Source
    ------
    Derived here.
    """
    from scipy.optimize import brentq

    force = positive("cutting_force_n", cutting_force_n)
    limit = positive("allowed_error_mm", allowed_error_mm)
    diameter = float(positive("bar_diameter_mm", bar_diameter_mm))

    def too_much(log_length):
        # On scales of equal ratios the error is nearly a straight line, so a few tries do.
        bar = held_bar(
            holding,
            bar_diameter_mm=bar_diameter_mm,
            overhang_mm=np.exp(log_length),
            steady_share=steady_share,
            steady_spring_n_mm=steady_spring_n_mm,
            chuck_turning_nmm_rad=chuck_turning_nmm_rad,
            chuck_spring_n_mm=chuck_spring_n_mm,
            elasticity_n_mm2=elasticity_n_mm2,
        )
        return np.log(worst_error_mm(bar, force) / limit)

    shortest, longest = np.log([SHORTEST_RATIO * diameter, LONGEST_RATIO * diameter])
    if too_much(shortest) > 0:
        return float("nan")
    if too_much(longest) < 0:
        return float("inf")
    return float(np.exp(brentq(too_much, shortest, longest)))
