"""The steady rest: where its fingers go for a diameter, where the axis goes with them, lobes it copies."""

from dataclasses import dataclass

import numpy as np

from machinelab.errors import RangeError
from machinelab.least_squares import columns_of
from machinelab.ranges import not_negative, positive

__all__ = [
    "AxisShift",
    "axis_shift_mm",
    "copied_share",
    "finger_travel_mm",
    "lobes_left_share",
    "roller_circle_mm",
    "seat_rise_mm",
]

MOST_LOBES = 50
FRONT_DEG = 90.0


@dataclass(frozen=True)
class AxisShift:
    """Where the axis of the work goes when fingers are moved.

    Parameters
    ----------
    across_mm : float [mm]
        Sideways, towards the finger at 90 degrees from the top.
    up_mm : float [mm]
        Upwards.
    """

    across_mm: float
    up_mm: float


def roller_circle_mm(bar_diameter_mm, roller_diameter_mm):
    """The radius from the axis at which the middles of the rollers stand for a diameter of work.

    Formula
    -------
    roller_circle_mm = bar_diameter_mm / 2 + roller_diameter_mm / 2

    Parameters
    ----------
    bar_diameter_mm : float or array [mm]
        Diameter of the work in the steady rest.
    roller_diameter_mm : float or array [mm]
        Diameter of a roller; 0 for a plain tip.

    Returns
    -------
    float or array [mm]
        Radius of the circle.

    Range
    -----
    Work above zero, rollers from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a diameter cannot be.

    Examples
    --------
    >>> roller_circle_mm(20, 19)
    19.5

    Source
    ------
    Derived here: circles that touch.
    """
    return (
        positive("bar_diameter_mm", bar_diameter_mm) / 2
        + not_negative("roller_diameter_mm", roller_diameter_mm) / 2
    )


def finger_travel_mm(largest_mm, smallest_mm, clearance_mm):
    """How far each finger must be able to move to take the whole range of work.

    Formula
    -------
    finger_travel_mm = (largest_mm - smallest_mm) / 2 + 2 * clearance_mm

    Parameters
    ----------
    largest_mm : float or array [mm]
        Thickest work.
    smallest_mm : float or array [mm]
        Thinnest work.
    clearance_mm : float or array [mm]
        Room at each end of the travel.

    Returns
    -------
    float or array [mm]
        Travel along the finger.

    Range
    -----
    The thickest is no thinner than the thinnest; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If they are changed over.

    Examples
    --------
    >>> finger_travel_mm(60, 6, 1)
    29.0

    Source
    ------
    Derived here.
    """
    if np.any(np.asarray(largest_mm) < np.asarray(smallest_mm)):
        raise RangeError(
            f"largest_mm is {largest_mm}, less than the thinnest, {smallest_mm}; change them over."
        )
    return (largest_mm - smallest_mm) / 2 + 2 * not_negative("clearance_mm", clearance_mm)


def axis_shift_mm(finger_deg, moved_in_mm) -> AxisShift:
    """Where the axis goes when two fingers that carry the work are moved.

    Formula
    -------
    none: two linear equations, one a finger: the shift away from the finger equals the finger's move

    Parameters
    ----------
    finger_deg : array of shape (2,) [deg]
        Where the two carrying fingers stand, counted from the top: 120 and 240 for three even ones.
    moved_in_mm : array of shape (2,) [mm]
        How far each was moved towards the work.

    Returns
    -------
    AxisShift
        Across and up. The third finger only follows.

    Range
    -----
    Two fingers that do not stand in one line; small moves.

    Raises
    ------
    RangeError
        If they stand in one line, or there are not two.

    Examples
    --------
    >>> found = axis_shift_mm([120, 240], [0.1, 0.0])
    >>> round(abs(found.across_mm), 5), round(found.up_mm, 5)
    (0.05774, 0.1)

    Source
    ------
    Derived here: the work stays in touch with both fingers.
    """
    angle, moved = columns_of(finger_deg=finger_deg, moved_in_mm=moved_in_mm)
    turned = np.radians(angle)
    # A finger at this angle from the top pushes towards the middle, that is the other way.
    design = -np.column_stack([np.sin(turned), np.cos(turned)])
    if design.shape != (2, 2) or abs(np.linalg.det(design)) < 0.05:
        raise RangeError(
            "Give two carrying fingers that do not stand in one line, such as 120 and 240 degrees."
        )
    across, up = np.linalg.solve(design, moved)
    return AxisShift(float(across), float(up))


def seat_rise_mm(radius_change_mm, work_radius_mm, roller_diameter_mm, roller_from_bottom_deg):
    """How much higher thicker work lies on two rollers that were not moved.

    Formula
    -------
    reach = work_radius_mm + roller_diameter_mm / 2
    side = reach * sin(roller_from_bottom_deg * pi / 180)
    drop = reach * cos(roller_from_bottom_deg * pi / 180)
    seat_rise_mm = sqrt((reach + radius_change_mm)**2 - side**2) - drop

    Parameters
    ----------
    radius_change_mm : float or array [mm]
        New radius less the old.
    work_radius_mm : float or array [mm]
        Radius for which the rollers were set.
    roller_diameter_mm : float or array [mm]
        Diameter of a roller.
    roller_from_bottom_deg : float or array [deg]
        Where the two rollers stand, counted from the bottom to either side.

    Returns
    -------
    float or array [mm]
        Rise of the axis; each diameter needs its own setting.

    Range
    -----
    Rollers between 5 and 85 degrees from the bottom; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the rollers cannot carry the work.

    Examples
    --------
    >>> round(float(seat_rise_mm(0.5, 10, 19, 30)), 4)
    0.575

    Source
    ------
    Derived here: circles that touch.
    """
    angle = np.asarray(roller_from_bottom_deg)
    if np.any((angle < 5) | (angle > 85)):
        raise RangeError(
            f"roller_from_bottom_deg is {roller_from_bottom_deg}; rollers carry from 5 to 85 degrees."
        )
    roller = not_negative("roller_diameter_mm", roller_diameter_mm)
    reach = positive("work_radius_mm", work_radius_mm) + roller / 2
    side, drop = reach * np.sin(np.radians(angle)), reach * np.cos(np.radians(angle))
    return np.sqrt((reach + radius_change_mm) ** 2 - side**2) - drop


def copied_share(lobes, finger_deg):
    """How much the lobes of the band in the steady rest swing in front of a dial or tool that stands at it.

    Formula
    -------
    none: the axis follows the two carrying fingers; its sideways motion is added, with its phase, to the lobe
    that passes the front at the same moment

    Parameters
    ----------
    lobes : int or array [1]
        Lobes round the band, from 2 up.
    finger_deg : array of shape (2,) [deg]
        Where the carrying fingers stand, counted from the top; the tool stands at 90.

    Returns
    -------
    float or array [1]
        Swing over height of the lobes: a cut taken there varies by so much.

    Range
    -----
    2 to 50 lobes.

    Raises
    ------
    RangeError
        If the fingers cannot carry, or the lobes are out of range.

    Examples
    --------
    >>> copied_share(np.arange(2, 5), [120, 240]).round(3)
    array([1.414, 1.   , 1.414])

    Source
    ------
    Derived here.
    """
    counts = _lobes(lobes)
    passing = np.exp(1j * counts * np.radians(FRONT_DEG))
    return np.abs(_sideways(counts, finger_deg) + passing)[()]


def lobes_left_share(lobes, finger_deg):
    """How strongly the lobes of the band come back on work that is turned beside the steady rest.

    Formula
    -------
    none: the tool stands still, so the turned radius varies by the axis' sideways motion

    Parameters
    ----------
    lobes : int or array [1]
        Lobes round the band, from 2 up.
    finger_deg : array of shape (2,) [deg]
        Where the carrying fingers stand, counted from the top; the tool stands at 90.

    Returns
    -------
    float or array [1]
        Lobes on the turned part over lobes of the band; 0 is not copied at all.

    Range
    -----
    2 to 50 lobes.

    Raises
    ------
    RangeError
        If the fingers cannot carry, or the lobes are out of range.

    Examples
    --------
    >>> lobes_left_share(np.arange(2, 5), [120, 240]).round(3)
    array([1., 0., 1.])

    Source
    ------
    Derived here. No layout is free of it for every number of lobes: turn a true band first.
    """
    counts = _lobes(lobes)
    return np.abs(_sideways(counts, finger_deg)).round(12)[()]


def _lobes(lobes) -> np.ndarray:
    counts = np.asarray(lobes)
    if np.any((counts < 2) | (counts > MOST_LOBES)):
        raise RangeError(f"lobes is {lobes}; an oval has 2, and up to {MOST_LOBES} are reckoned.")
    return counts


def _sideways(counts: np.ndarray, finger_deg) -> np.ndarray:
    """Sideways motion of the axis for lobes of height 1: one under a finger acts as if that were moved in."""
    first = axis_shift_mm(finger_deg, [1.0, 0.0])
    second = axis_shift_mm(finger_deg, [0.0, 1.0])
    one, other = (np.exp(1j * counts * np.radians(angle)) for angle in finger_deg)
    return one * first.across_mm + other * second.across_mm
