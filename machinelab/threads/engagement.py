"""How much of a thread holds: the drill before the tap, and the length of nut that a tolerance is for."""

from dataclasses import dataclass

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import positive

__all__ = ["EngagementGroup", "engagement_share", "normal_engagement_mm", "tap_drill_mm"]


@dataclass(frozen=True)
class EngagementGroup:
    """The lengths of engagement that an ordinary tolerance is meant for (group N).

    Parameters
    ----------
    shortest_mm : float [mm]
        The group holds above this.
    longest_mm : float [mm]
        And up to this.

    Source
    ------
    See `normal_engagement_mm`.
    """

    shortest_mm: float
    longest_mm: float


def tap_drill_mm(major_diameter_mm, *, thread_height_mm, engagement_share):
    """The drill that leaves a wanted share of the thread in a nut.

    Formula
    -------
    tap_drill_mm = major_diameter_mm - 2 * thread_height_mm * engagement_share

    Parameters
    ----------
    major_diameter_mm : float or array [mm]
        Nominal diameter of the thread.
    thread_height_mm : float or array [mm]
        What counts as the whole height, on the radius: 5/8 of the sharp triangle by ISO (0.5413 pitches), 3/4
        of it in inch tables (0.6495 pitches). The same drill is 92 % by the one and 77 % by the other.
    engagement_share : float or array [1]
        The share wanted; 0.75 of the larger height is usual, 0.6 in tough or thin work (common practice, no
        source).

    Returns
    -------
    float or array [mm]
        Diameter of the hole; take the nearest drill, remembering that drills cut large.

    Range
    -----
    Sizes and share above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is not above zero, or the hole would be none.

    Examples
    --------
    >>> round(tap_drill_mm(10, thread_height_mm=0.6495 * 1.5, engagement_share=0.77), 2)
    8.5

    Source
    ------
    Derived here.
    """
    cut = 2 * positive("thread_height_mm", thread_height_mm) * positive("engagement_share", engagement_share)
    hole = positive("major_diameter_mm", major_diameter_mm) - cut
    if np.any(np.less_equal(hole, 0)):
        raise RangeError("The thread is higher than the bolt is thick. Look at both numbers again.")
    return hole


def engagement_share(major_diameter_mm, *, thread_height_mm, hole_mm):
    """The share of the thread that a hole leaves.

    Formula
    -------
    engagement_share = (major_diameter_mm - hole_mm) / (2 * thread_height_mm)

    Parameters
    ----------
    major_diameter_mm : float or array [mm]
        Nominal diameter of the thread.
    thread_height_mm : float or array [mm]
        What counts as the whole height, see `tap_drill_mm`.
    hole_mm : float or array [mm]
        Diameter of the hole as measured.

    Returns
    -------
    float or array [1]
        Share; above one the tap has to move metal that has no room.

    Range
    -----
    Sizes above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a size is not above zero.

    Examples
    --------
    >>> round(engagement_share(10, thread_height_mm=0.6495 * 1.5, hole_mm=8.5), 2)
    0.77

    Source
    ------
    Inverse of `tap_drill_mm`.
    """
    left = positive("major_diameter_mm", major_diameter_mm) - positive("hole_mm", hole_mm)
    return left / (2 * positive("thread_height_mm", thread_height_mm))


def normal_engagement_mm(pitch_mm, *, step_from_mm) -> EngagementGroup:
    """The lengths of engagement that an ordinary metric tolerance is meant for.

    A longer nut asks one grade wider, a shorter one grade finer; that is for the person to decide.

    Formula
    -------
    result.shortest_mm = 2.24 * pitch_mm * step_from_mm**(1/5)
    result.longest_mm = 6.7 * pitch_mm * step_from_mm**(1/5)

    Parameters
    ----------
    pitch_mm : Fraction or float [mm]
        Pitch of the thread.
    step_from_mm : float [mm]
        Lower end of the standard's step of diameters that the thread falls into.

    Returns
    -------
    EngagementGroup
        Before rounding to the standard's whole figures.

    Range
    -----
    Above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a size is not above zero.

    Examples
    --------
    M10x1.5, for which the standard's table has 5 and 15 mm:

    >>> group = normal_engagement_mm(1.5, step_from_mm=5.6)
    >>> round(group.shortest_mm, 2), round(group.longest_mm, 2)
    (4.74, 14.18)

    Source
    ------
    ISO 965-1, formula from memory.
    """
    length = float(positive("pitch_mm", pitch_mm)) * float(positive("step_from_mm", step_from_mm)) ** 0.2
    return EngagementGroup(2.24 * length, 6.7 * length)
