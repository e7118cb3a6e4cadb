"""How deep to cut a thread with the tool in hand, and what to turn at the slides for it.

No single rule of depth fits every tool: a home-ground point that is truly sharp goes a fifth deeper than one
with the rounding of the standard. The stop is the wires or the nut, not the dial.
"""

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import not_negative, positive
from machinelab.threads.flanks import half_angle_rad

__all__ = [
    "compound_travel_mm",
    "full_form_depth_mm",
    "minor_diameter_mm",
    "start_shift_mm",
    "thread_depth_mm",
]


def thread_depth_mm(
    blank_mm, pitch_diameter_mm, *, pitch_mm, included_angle_deg=60.0, tip_flat_mm=0.0, tip_radius_mm=0.0
):
    """How far the tool goes in from the blank until the pitch diameter is right.

    Formula
    -------
    half = included_angle_deg * pi / 360
    to_sharp = (blank_mm - pitch_diameter_mm) / 2 + pitch_mm / 4 / tan(half)
    thread_depth_mm = to_sharp - tip_flat_mm / 2 / tan(half) - tip_radius_mm * (1 / sin(half) - 1)

    Parameters
    ----------
    blank_mm : float or array [mm]
        Diameter as turned, measured: not the nominal one.
    pitch_diameter_mm : float or array [mm]
        The pitch diameter to come to; the middle of its limits.
    pitch_mm : Fraction or float or array [mm]
        From one groove to the next: the pitch, not the lead.
    included_angle_deg : float or array [deg]
        Included angle of the thread.
    tip_flat_mm : float or array [mm]
        Width of the flat at the tool's tip, between its roundings; zero for a round or a sharp tip.
    tip_radius_mm : float or array [mm]
        Radius of the tool's tip, or of the corners of its flat; zero for sharp ones.

    Returns
    -------
    float or array [mm]
        Depth on the radius, from the touch on the blank; a dial in diameters shows twice as much.

    Range
    -----
    Sizes above zero, flat and radius from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a size is out of range, or the tip is so blunt that it fills the groove before it is deep enough.

    Examples
    --------
    M10x1.5 with a sharp tool, and with a radius of a sixth of the sharp height:

    >>> round(float(thread_depth_mm(10, 9.0257, pitch_mm=1.5)), 3)
    1.137
    >>> round(float(thread_depth_mm(10, 9.0257, pitch_mm=1.5, tip_radius_mm=0.2165)), 3)
    0.92

    Source
    ------
    Derived here; with the profile of ISO 68-1 it gives the printed 0.6134 pitches for that radius.
    """
    half = half_angle_rad(included_angle_deg)
    blank = positive("blank_mm", blank_mm) - positive("pitch_diameter_mm", pitch_diameter_mm)
    pitch = np.asarray(positive("pitch_mm", pitch_mm), dtype=float)
    flat = not_negative("tip_flat_mm", tip_flat_mm) / 2 / np.tan(half)
    rounded = not_negative("tip_radius_mm", tip_radius_mm) * (1 / np.sin(half) - 1)
    depth = blank / 2 + pitch / 4 / np.tan(half) - flat - rounded
    if np.any(depth <= 0):
        raise RangeError(
            "This tip is too blunt for the thread, or the blank too thin: the groove would be wide enough "
            "before the tool is in at all. Look at the tip, at the blank and at the pitch diameter."
        )
    return depth[()]


def minor_diameter_mm(blank_mm, thread_depth_mm):
    """The diameter at the bottom of the grooves.

    Formula
    -------
    minor_diameter_mm = blank_mm - 2 * thread_depth_mm

    Parameters
    ----------
    blank_mm : float or array [mm]
        Diameter of the blank.
    thread_depth_mm : float or array [mm]
        Depth on the radius.

    Returns
    -------
    float or array [mm]
        To be compared with the thread's limit: too large and the nut bears on it, too small and the core is
        weak.

    Range
    -----
    Sizes above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a size is not above zero, or nothing is left of the blank.

    Examples
    --------
    >>> round(minor_diameter_mm(10, 0.92), 2)
    8.16

    Source
    ------
    Derived here.
    """
    core = positive("blank_mm", blank_mm) - 2 * positive("thread_depth_mm", thread_depth_mm)
    if np.any(np.less_equal(core, 0)):
        raise RangeError("The thread is deeper than the blank is thick. Look at both numbers again.")
    return core


def full_form_depth_mm(blank_mm, minor_diameter_mm):
    """How far a full-form tool goes in, which cuts crest and root with the flanks.

    Such a tool has the root's own shape, so its bottom tells the depth, not the flank; and it takes the crest
    down to size, so the blank is left a little thick.

    Formula
    -------
    full_form_depth_mm = (blank_mm - minor_diameter_mm) / 2

    Parameters
    ----------
    blank_mm : float or array [mm]
        Diameter as turned.
    minor_diameter_mm : float or array [mm]
        Diameter at the bottom of the grooves, from the thread's profile.

    Returns
    -------
    float or array [mm]
        Depth on the radius.

    Range
    -----
    The blank is thicker than the bottom of the grooves; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If it is not.

    Examples
    --------
    >>> round(full_form_depth_mm(10.1, 8.16), 2)
    0.97

    Source
    ------
    Derived here.
    """
    deep = positive("blank_mm", blank_mm) - positive("minor_diameter_mm", minor_diameter_mm)
    if np.any(np.less_equal(deep, 0)):
        raise RangeError("The blank is no thicker than the bottom of the grooves; nothing is left to cut.")
    return deep / 2


def compound_travel_mm(thread_depth_mm, *, compound_angle_deg, included_angle_deg=60.0):
    """How far to turn in the compound slide for a depth, when it feeds the tool in along one flank.

    The usual angles are half a degree less than half the thread's own, so that the trailing flank is just
    shaved: 29.5 for 60 degrees, 27 for 55, 14.5 for 30, 14 for 29 (common practice, no source). The angle
    counts from the cross slide; some scales count from the bed and say 60.5 for 29.5.

    Formula
    -------
    compound_angle_deg <= included_angle_deg / 2
    compound_travel_mm = thread_depth_mm / cos(compound_angle_deg * pi / 180)

    Parameters
    ----------
    thread_depth_mm : float or array [mm]
        Depth on the radius.
    compound_angle_deg : float or array [deg]
        Angle of the compound slide, from the cross slide; 0 is straight in.
    included_angle_deg : float or array [deg]
        Included angle of the thread.

    Returns
    -------
    float or array [mm]
        Travel of the compound slide.

    Range
    -----
    Up to half the thread's angle; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the angle is more than half the thread's: the tool would cut the trailing flank away.

    Examples
    --------
    >>> round(float(compound_travel_mm(1, compound_angle_deg=29.5)), 5)
    1.14896

    Source
    ------
    Derived here: the depth is the travel's share across the bed.
    """
    angle = _within_flank(compound_angle_deg, included_angle_deg)
    return not_negative("thread_depth_mm", thread_depth_mm) / np.cos(np.radians(angle))


def start_shift_mm(thread_depth_mm, *, compound_angle_deg, included_angle_deg=60.0):
    """How far to shift the start of a pass along the bed, which does what a slanted compound slide would do.

    Formula
    -------
    compound_angle_deg <= included_angle_deg / 2
    start_shift_mm = thread_depth_mm * tan(compound_angle_deg * pi / 180)

    Parameters
    ----------
    thread_depth_mm : float or array [mm]
        Depth on the radius at that pass.
    compound_angle_deg : float or array [deg]
        Angle of the flank to be followed, from the cross slide.
    included_angle_deg : float or array [deg]
        Included angle of the thread.

    Returns
    -------
    float or array [mm]
        Shift toward the flank that is cut; above 3 mm of pitch to and fro, so that both edges wear alike
        (common practice, no source).

    Range
    -----
    Up to half the thread's angle; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the angle is more than half the thread's.

    Examples
    --------
    >>> round(float(start_shift_mm(0.92, compound_angle_deg=29.5)), 3)
    0.521

    Source
    ------
    Derived here.
    """
    angle = _within_flank(compound_angle_deg, included_angle_deg)
    return not_negative("thread_depth_mm", thread_depth_mm) * np.tan(np.radians(angle))


def _within_flank(compound_angle_deg, included_angle_deg):
    angle = np.asarray(not_negative("compound_angle_deg", compound_angle_deg), dtype=float)
    half = np.degrees(half_angle_rad(included_angle_deg))
    if np.any(angle > half * (1 + 1e-12)):
        raise RangeError(
            f"compound_angle_deg is {np.nanmax(angle):g}, more than half the thread's angle "
            f"({np.nanmin(half):g}): the tool would cut the trailing flank away. Half a degree less than "
            "half is usual: 29.5 for 60 degrees, 14.5 for 30."
        )
    # A missing thread angle leaves the slide's missing too.
    return np.where(np.isnan(half), np.nan, angle)[()]
