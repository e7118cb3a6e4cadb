"""Three wires in the grooves: which size, and what the micrometer reads over them.

The textbook rule, for a thread without lead; the lead angle's part stands beside it. What a straight wire on
a helix really does is in `wires_on_helix`, what a reading is worth in `wire_reading`.
"""

from dataclasses import dataclass

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import not_negative, positive
from machinelab.threads.flanks import half_angle_rad

__all__ = [
    "WireRange",
    "best_wire_mm",
    "lead_angle_correction_mm",
    "lead_angle_deg",
    "over_wires_mm",
    "wire_contact_height_mm",
    "wire_range",
]


@dataclass(frozen=True)
class WireRange:
    """The wires that a thread can be measured with.

    Parameters
    ----------
    smallest_wire_mm : float [mm]
        Thinner ones stand below the crests, or touch below the straight part of the flanks.
    best_wire_mm : float [mm]
        Touches at the pitch line, where an error of the flank angle does no harm.
    largest_wire_mm : float [mm]
        Thicker ones ride on the corners of the crests.

    Source
    ------
    See `wire_range`.
    """

    smallest_wire_mm: float
    best_wire_mm: float
    largest_wire_mm: float


def best_wire_mm(pitch_mm, included_angle_deg=60.0):
    """The wire that touches the flanks at the pitch line.

    Formula
    -------
    best_wire_mm = pitch_mm / (2 * cos(included_angle_deg * pi / 360))

    Parameters
    ----------
    pitch_mm : Fraction or float or array [mm]
        From one groove to the next: the pitch, not the lead.
    included_angle_deg : float or array [deg]
        Included angle of the thread.

    Returns
    -------
    float or array [mm]
        Diameter: 0.57735 pitches at 60 degrees.

    Range
    -----
    Pitch above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the pitch is not above zero, or the angle cannot be that of a thread.

    Examples
    --------
    >>> round(float(best_wire_mm(1.5)), 4)
    0.866

    Source
    ------
    Derived here from the triangle at the pitch line; a U.S. Army ordnance course (OD1645) gives the same
    0.57735 over the threads to the inch.
    """
    return _decimal("pitch_mm", pitch_mm) / (2 * np.cos(half_angle_rad(included_angle_deg)))


def wire_contact_height_mm(wire_mm, *, pitch_mm, included_angle_deg=60.0):
    """How far outside the pitch line a wire touches the flanks.

    Formula
    -------
    half = included_angle_deg * pi / 360
    too_thick = wire_mm - pitch_mm / (2 * cos(half))
    wire_contact_height_mm = too_thick / 2 * cos(half)**2 / sin(half)

    Parameters
    ----------
    wire_mm : float or array [mm]
        Diameter of the wire.
    pitch_mm : Fraction or float or array [mm]
        Pitch of the thread.
    included_angle_deg : float or array [deg]
        Included angle of the thread.

    Returns
    -------
    float or array [mm]
        Height on the radius; below zero for a wire thinner than the best.

    Range
    -----
    Wire and pitch above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a size is not above zero.

    Examples
    --------
    >>> round(float(wire_contact_height_mm(1.0, pitch_mm=1.5)), 3)
    0.1

    Source
    ------
    Derived here.
    """
    half = half_angle_rad(included_angle_deg)
    too_thick = positive("wire_mm", wire_mm) - best_wire_mm(pitch_mm, included_angle_deg)
    return too_thick / 2 * np.cos(half) ** 2 / np.sin(half)


def wire_range(
    pitch_mm, *, crest_height_mm, flank_height_mm, flank_depth_mm, included_angle_deg=60.0
) -> WireRange:
    """Which wires touch the straight flanks and still stand above the crests.

    Formula
    -------
    half = included_angle_deg * pi / 360
    best = pitch_mm / (2 * cos(half))
    clears = (2*crest_height_mm + pitch_mm / (2 * tan(half))) / (1 + 1 / sin(half))
    low = best - 2 * flank_depth_mm * sin(half) / cos(half)**2
    result.smallest_wire_mm = max(clears, low)
    result.best_wire_mm = best
    result.largest_wire_mm = best + 2 * flank_height_mm * sin(half) / cos(half)**2

    Parameters
    ----------
    pitch_mm : Fraction or float [mm]
        Pitch of the thread.
    crest_height_mm : float [mm]
        From the pitch line to the crest, on the radius: half of outside diameter less pitch diameter.
    flank_height_mm : float [mm]
        From the pitch line out to where the straight flank ends; less than the crest's where it is rounded.
    flank_depth_mm : float [mm]
        From the pitch line in to where the straight flank ends.
    included_angle_deg : float [deg]
        Included angle of the thread.

    Returns
    -------
    WireRange
        Smallest, best and largest wire.

    Range
    -----
    Heights from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a size is out of range, or no wire fits at all.

    Examples
    --------
    >>> height = 3 / 8 * 0.8660254
    >>> found = wire_range(1, crest_height_mm=height, flank_height_mm=height, flank_depth_mm=height)
    >>> [
    ...     round(float(wire), 4)
    ...     for wire in (found.smallest_wire_mm, found.best_wire_mm, found.largest_wire_mm)
    ... ]
    [0.5052, 0.5774, 1.0104]

    Source
    ------
    Derived here.
    """
    half, pitch = half_angle_rad(included_angle_deg), _decimal("pitch_mm", pitch_mm)
    best = best_wire_mm(pitch, included_angle_deg)
    crest = not_negative("crest_height_mm", crest_height_mm)
    clears = (2 * crest + pitch / (2 * np.tan(half))) / (1 + 1 / np.sin(half))
    a_millimetre = 2 * np.sin(half) / np.cos(half) ** 2
    low = best - a_millimetre * not_negative("flank_depth_mm", flank_depth_mm)
    largest = best + a_millimetre * not_negative("flank_height_mm", flank_height_mm)
    smallest = np.maximum(clears, low)
    if smallest > largest:
        raise RangeError(
            f"No wire both touches the flanks and stands above the crests: it would have to be at least "
            f"{smallest:.3f} mm and at most {largest:.3f} mm. Measure this thread with its nut or a gauge."
        )
    return WireRange(float(smallest), float(best), float(largest))


def over_wires_mm(pitch_diameter_mm, *, wire_mm, pitch_mm, included_angle_deg=60.0):
    """What the micrometer reads over three wires, by the textbook rule.

    The rule takes the grooves for rings. `wires_on_helix.over_wires_on_helix_mm` does not: the difference is
    2 um for M10, and a tenth of a millimetre for quick threads of several starts.

    Formula
    -------
    half = included_angle_deg * pi / 360
    above = wire_mm * (1 + 1 / sin(half))
    over_wires_mm = pitch_diameter_mm + above - pitch_mm / 2 / tan(half)

    Parameters
    ----------
    pitch_diameter_mm : float or array [mm]
        Pitch diameter.
    wire_mm : float or array [mm]
        Diameter of all three wires.
    pitch_mm : Fraction or float or array [mm]
        From one groove to the next, also for several starts: the pitch, not the lead.
    included_angle_deg : float or array [deg]
        Included angle of the thread.

    Returns
    -------
    float or array [mm]
        Reading over the wires.

    Range
    -----
    All above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a size is not above zero.

    Examples
    --------
    >>> round(float(over_wires_mm(9.026, wire_mm=0.866, pitch_mm=1.5)), 3)
    10.325

    Source
    ------
    Derived here from the triangle in the groove; a treatise on screw threads of the 1910s prints the same
    constants for 55 degrees (3.1657 wires less 0.9605 pitches).
    """
    half = half_angle_rad(included_angle_deg)
    above = positive("wire_mm", wire_mm) * (1 + 1 / np.sin(half))
    pitch = _decimal("pitch_mm", pitch_mm)
    return positive("pitch_diameter_mm", pitch_diameter_mm) + above - pitch / 2 / np.tan(half)


def lead_angle_deg(pitch_diameter_mm, *, thread_lead_mm):
    """How steeply a thread climbs at its pitch diameter.

    Formula
    -------
    lead_angle_deg = atan(abs(thread_lead_mm) / (pi * pitch_diameter_mm)) * 180 / pi

    Parameters
    ----------
    pitch_diameter_mm : float or array [mm]
        Pitch diameter.
    thread_lead_mm : Fraction or float [mm]
        Lead: pitch times starts; the sign is its hand.

    Returns
    -------
    float or array [deg]
        Angle against the plane across the thread; the tool's side needs as much relief more.

    Range
    -----
    Pitch diameter above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the pitch diameter is not above zero.

    Examples
    --------
    >>> round(float(lead_angle_deg(9.026, thread_lead_mm=1.5)), 2)
    3.03

    Source
    ------
    Derived here: one turn of the helix laid out flat.
    """
    around = np.pi * positive("pitch_diameter_mm", pitch_diameter_mm)
    return np.degrees(np.arctan(abs(float(thread_lead_mm)) / around))


def lead_angle_correction_mm(wire_mm, *, lead_angle_deg, included_angle_deg=60.0):
    """How much more the micrometer reads because the groove climbs, to first order.

    Formula
    -------
    half = included_angle_deg * pi / 360
    climb = tan(lead_angle_deg * pi / 180)
    lead_angle_correction_mm = wire_mm / 2 * climb**2 * cos(half) / tan(half)

    Parameters
    ----------
    wire_mm : float or array [mm]
        Diameter of the wires.
    lead_angle_deg : float or array [deg]
        Lead angle at the pitch diameter.
    included_angle_deg : float or array [deg]
        Included angle of the thread.

    Returns
    -------
    float or array [mm]
        To be added to `over_wires_mm`.

    Range
    -----
    Good to a tenth of itself up to about 10 degrees of lead angle; beyond, take
    `machinelab.threads.wires_on_helix`. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the wire is not above zero, or the lead angle is not from 0 to below 90 degrees.

    Examples
    --------
    >>> round(1000 * float(lead_angle_correction_mm(0.866, lead_angle_deg=3.028)), 2)
    1.82

    Source
    ------
    Form of the term from memory; compared here with `machinelab.threads.wires_on_helix`.
    """
    climb = np.asarray(not_negative("lead_angle_deg", lead_angle_deg), dtype=float)
    if np.any(climb >= 90):
        raise RangeError(f"lead_angle_deg is {np.nanmax(climb):g}; it must be below 90.")
    half = half_angle_rad(included_angle_deg)
    return positive("wire_mm", wire_mm) / 2 * np.tan(np.radians(climb)) ** 2 * np.cos(half) / np.tan(half)


def _decimal(name: str, value):
    """A size above zero as decimal numbers: a pitch may come as an exact fraction."""
    return np.asarray(positive(name, value), dtype=float)[()]
