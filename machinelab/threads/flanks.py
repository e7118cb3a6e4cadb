"""The flanks of a symmetrical thread: half the included angle, and what errors of lead and flank cost a fit.

A nut feels a screw whose lead or flanks are out as a screw that is too thick: the effect is always added on
the screw and taken off the nut, whatever the sign of the error.
"""

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import not_negative, positive

__all__ = [
    "allowed_lead_error_ppm",
    "flank_effect_mm",
    "half_angle_rad",
    "lead_effect_mm",
    "virtual_nut_pitch_diameter_mm",
    "virtual_pitch_diameter_mm",
]


def half_angle_rad(included_angle_deg=60.0):
    """Half of the angle between the flanks of a symmetrical thread.

    Formula
    -------
    half_angle_rad = included_angle_deg * pi / 360

    Parameters
    ----------
    included_angle_deg : float or array [deg]
        Included angle: 60 metric, unified and cycle (the default), 55 Whitworth, 30 trapezoidal, 29 Acme.

    Returns
    -------
    float or array [rad]
        Angle between a flank and the plane across the thread.

    Range
    -----
    Above 0 and below 180 degrees; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the angle cannot be that of a thread.

    Examples
    --------
    >>> round(float(half_angle_rad(60)), 4)
    0.5236

    Source
    ------
    The definition of the included angle.
    """
    angle = np.asarray(positive("included_angle_deg", included_angle_deg), dtype=float)
    if np.any(angle >= 180):
        raise RangeError(
            f"included_angle_deg is {np.nanmax(angle):g}; type the whole angle between the flanks, such as "
            "60."
        )
    return (np.radians(angle) / 2)[()]


def lead_effect_mm(lead_departure_mm, included_angle_deg=60.0):
    """What an error of lead costs in pitch diameter.

    The departure is the largest between any two grooves that the nut holds at once: what adds up along the
    screw and what comes and goes with its turns together, not the error from one groove to the next. Steel on
    steel warms alike and adds nothing; rounding to whole steps stays within one step, however long the nut.

    Formula
    -------
    lead_effect_mm = abs(lead_departure_mm) / tan(included_angle_deg * pi / 360)

    Parameters
    ----------
    lead_departure_mm : float or array [mm]
        Largest departure of two grooves from their right distance within the engagement; the sign is no
        matter.
    included_angle_deg : float or array [deg]
        Included angle of the thread.

    Returns
    -------
    float or array [mm]
        Change of the pitch diameter with the same effect: 1.732 times the departure at 60 degrees.

    Range
    -----
    Angles above 0 and below 180 degrees; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the angle cannot be that of a thread.

    Examples
    --------
    A screw of 26 threads to the inch in a nut of 1 mm pitch and 5 mm length:

    >>> round(float(lead_effect_mm((1 - 25.4 / 26) * 5)), 3)
    0.2

    Source
    ------
    Thread metrology textbooks, from memory: the cotangent of the half angle times the error of pitch.
    """
    return np.abs(lead_departure_mm) / np.tan(half_angle_rad(included_angle_deg))


def flank_effect_mm(
    leading_error_deg, following_error_deg, *, leading_reach_mm, following_reach_mm, included_angle_deg=60.0
):
    """What errors of the flank angles cost in pitch diameter.

    Formula
    -------
    half = included_angle_deg * pi / 360
    leading = abs(leading_error_deg) * pi/180 * leading_reach_mm
    following = abs(following_error_deg) * pi/180 * following_reach_mm
    flank_effect_mm = (leading + following) / (sin(half) * cos(half))

    Parameters
    ----------
    leading_error_deg, following_error_deg : float or array [deg, deg]
        Error of each flank's angle; the sign is no matter here, it decides where the flank bears.
    leading_reach_mm, following_reach_mm : float or array [mm, mm]
        How far from the pitch line, across the thread, the flank bears. For an ISO thread 3/8 of the height
        of the sharp triangle where it bears at the crest, 1/4 of it where it bears at the root.
    included_angle_deg : float or array [deg]
        Included angle of the thread.

    Returns
    -------
    float or array [mm]
        Change of the pitch diameter with the same effect.

    Range
    -----
    Reaches from zero up, small errors of angle; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a reach is negative, or the angle cannot be that of a thread.

    Examples
    --------
    One flank of a thread of 1 mm pitch, a minute of angle out and bearing at its crest, costs 0.22 um:

    >>> crest = 3 / 8 * 0.8660254
    >>> round(1000 * float(flank_effect_mm(1 / 60, 0, leading_reach_mm=crest, following_reach_mm=0)), 3)
    0.218

    Source
    ------
    Derived here. Textbooks print 0.073 um for each minute and millimetre of pitch, times 3 where the flank
    bears at the crest and times 2 at the root (from memory).
    """
    half = half_angle_rad(included_angle_deg)
    leading = np.abs(np.radians(leading_error_deg)) * not_negative("leading_reach_mm", leading_reach_mm)
    following = np.abs(np.radians(following_error_deg)) * not_negative(
        "following_reach_mm", following_reach_mm
    )
    return (leading + following) / (np.sin(half) * np.cos(half))


def virtual_pitch_diameter_mm(pitch_diameter_mm, *, lead_effect_mm, flank_effect_mm=0.0):
    """The pitch diameter of a screw as a perfect nut feels it.

    Formula
    -------
    virtual_pitch_diameter_mm = pitch_diameter_mm + lead_effect_mm + flank_effect_mm

    Parameters
    ----------
    pitch_diameter_mm : float or array [mm]
        As measured over wires, at one place.
    lead_effect_mm, flank_effect_mm : float or array [mm, mm]
        What errors of lead and of the flanks cost.

    Returns
    -------
    float or array [mm]
        It must not exceed the upper limit (the GO side); the measured one must not fall below the lower
        limit.

    Range
    -----
    Pitch diameter above zero, effects from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the pitch diameter is not above zero or an effect is negative.

    Examples
    --------
    >>> round(virtual_pitch_diameter_mm(9.30, lead_effect_mm=0.02), 3)
    9.32

    Source
    ------
    The idea of ISO 965-1 and ASME B1.3, from memory.
    """
    effects = not_negative("lead_effect_mm", lead_effect_mm) + not_negative(
        "flank_effect_mm", flank_effect_mm
    )
    return positive("pitch_diameter_mm", pitch_diameter_mm) + effects


def virtual_nut_pitch_diameter_mm(pitch_diameter_mm, *, lead_effect_mm, flank_effect_mm=0.0):
    """The pitch diameter of a nut as a perfect screw feels it.

    Formula
    -------
    virtual_nut_pitch_diameter_mm = pitch_diameter_mm - lead_effect_mm - flank_effect_mm

    Parameters
    ----------
    pitch_diameter_mm : float or array [mm]
        As measured at one place.
    lead_effect_mm, flank_effect_mm : float or array [mm, mm]
        What errors of lead and of the flanks cost.

    Returns
    -------
    float or array [mm]
        It must not fall below the lower limit (the GO side); the measured one must not exceed the upper
        limit.

    Range
    -----
    Pitch diameter above zero, effects from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the pitch diameter is not above zero or an effect is negative.

    Examples
    --------
    >>> round(virtual_nut_pitch_diameter_mm(9.40, lead_effect_mm=0.02), 3)
    9.38

    Source
    ------
    The idea of ISO 965-1 and ASME B1.3, from memory.
    """
    effects = not_negative("lead_effect_mm", lead_effect_mm) + not_negative(
        "flank_effect_mm", flank_effect_mm
    )
    return positive("pitch_diameter_mm", pitch_diameter_mm) - effects


def allowed_lead_error_ppm(
    pitch_diameter_tolerance_um, *, tolerance_share, engagement_mm, included_angle_deg=60.0
):
    """How far the lead may be out if it is to use up no more than a share of the tolerance.

    Formula
    -------
    allowance = tolerance_share * pitch_diameter_tolerance_um / 1000 * tan(included_angle_deg * pi / 360)
    allowed_lead_error_ppm = 1000000 * allowance / engagement_mm

    Parameters
    ----------
    pitch_diameter_tolerance_um : float or array [um]
        Tolerance of the pitch diameter.
    tolerance_share : float or array [1]
        The share of it that the lead may take.
    engagement_mm : float or array [mm]
        Length of thread that the nut holds; the nut's, not the screw's.
    included_angle_deg : float or array [deg]
        Included angle of the thread.

    Returns
    -------
    float or array [ppm]
        Error of lead.

    Range
    -----
    All above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If an input is not above zero.

    Examples
    --------
    >>> round(float(allowed_lead_error_ppm(132, tolerance_share=0.2, engagement_mm=10)))
    1524

    Source
    ------
    Inverse of `lead_effect_mm`.
    """
    share = positive("tolerance_share", tolerance_share)
    tolerance_mm = positive("pitch_diameter_tolerance_um", pitch_diameter_tolerance_um) / 1000
    departure_mm = share * tolerance_mm * np.tan(half_angle_rad(included_angle_deg))
    return 1_000_000 * departure_mm / positive("engagement_mm", engagement_mm)
