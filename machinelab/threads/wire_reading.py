"""What a reading over wires is worth: its doubt, and what the micrometer's own push takes off it."""

import numpy as np

from machinelab.estimate import Estimate
from machinelab.ranges import not_negative, positive
from machinelab.threads.flanks import half_angle_rad
from machinelab.threads.wires import best_wire_mm
from machinelab.threads.wires_on_helix import pitch_diameter_on_helix_mm

__all__ = ["pitch_diameter_from_wires", "wire_doubt_mm", "wire_flattening_um"]

# Steel on steel: elastic modulus and Poisson's ratio, handbook values from memory.
STEEL_N_MM2, STEEL_POISSON = 206_000.0, 0.3
CONTACT_N_MM2 = STEEL_N_MM2 / (2 * (1 - STEEL_POISSON**2))
# How well the flattening of a real thread is known; common practice, no source.
FLATTENING_DOUBT_SHARE = 0.5


def wire_doubt_mm(
    reading_doubt_mm,
    *,
    diameter_doubt_mm,
    wire_mm,
    pitch_mm,
    flank_doubt_deg=0.0,
    included_angle_deg=60.0,
):
    """How well a pitch diameter is known from a reading over wires.

    All three wires are of one rod and wrong together: a wire that is 1 um thicker than it was taken for moves
    the pitch diameter by 3 um at 60 degrees, by nearly 5 at 30.

    Formula
    -------
    half = included_angle_deg * pi / 360
    by_wire = diameter_doubt_mm * (1 + 1 / sin(half))
    too_thick = wire_mm - pitch_mm / (2 * cos(half))
    by_flank = flank_doubt_deg * pi/180 * too_thick * cos(half) / sin(half)**2
    wire_doubt_mm = sqrt(reading_doubt_mm**2 + by_wire**2 + by_flank**2)

    Parameters
    ----------
    reading_doubt_mm : float or array [mm]
        95 % doubt of the micrometer's reading.
    diameter_doubt_mm : float or array [mm]
        95 % doubt of the wires' diameter.
    wire_mm : float or array [mm]
        Diameter of the wires.
    pitch_mm : Fraction or float or array [mm]
        Pitch of the thread.
    flank_doubt_deg : float or array [deg]
        95 % doubt of the flank angle; with the best wire it does not matter.
    included_angle_deg : float or array [deg]
        Included angle of the thread.

    Returns
    -------
    float or array [mm]
        95 % doubt of the pitch diameter.

    Range
    -----
    Doubts from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a doubt is negative or a size not above zero.

    Examples
    --------
    >>> round(float(wire_doubt_mm(0.004, diameter_doubt_mm=0.002, wire_mm=0.866, pitch_mm=1.5)), 4)
    0.0072

    Source
    ------
    Derived here: the law of propagation of uncertainty, JCGM 100:2008, 5.1.2 (from memory).
    """
    half = half_angle_rad(included_angle_deg)
    by_wire = not_negative("diameter_doubt_mm", diameter_doubt_mm) * (1 + 1 / np.sin(half))
    too_thick = positive("wire_mm", wire_mm) - best_wire_mm(pitch_mm, included_angle_deg)
    flank = np.radians(not_negative("flank_doubt_deg", flank_doubt_deg))
    by_flank = flank * too_thick * np.cos(half) / np.sin(half) ** 2
    return np.sqrt(not_negative("reading_doubt_mm", reading_doubt_mm) ** 2 + by_wire**2 + by_flank**2)


def wire_flattening_um(measuring_force_n, *, wire_mm, pitch_diameter_mm, included_angle_deg=60.0) -> float:
    """How much less the micrometer reads because it presses wires and flanks flat.

    A wire and a flank touch like two crossed cylinders: the wire's radius, and the flank's own curve across
    it. The wire alone on its side takes the whole push, the two opposite take half each. What the flat anvils
    give is small beside that and left out.

    Formula
    -------
    none: Hertz's ellipse of contact, whose axes' ratio is found by SciPy

    Parameters
    ----------
    measuring_force_n : float [N]
        Push of the micrometer; a ratchet gives 5 to 10 N (common practice, no source).
    wire_mm : float [mm]
        Diameter of the wires.
    pitch_diameter_mm : float [mm]
        Pitch diameter.
    included_angle_deg : float [deg]
        Included angle of the thread.

    Returns
    -------
    float [um]
        To be added to the reading; steel wires on a steel thread.

    Range
    -----
    Force from zero up, not so much that the steel yields; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the force is negative or a size not above zero.

    Examples
    --------
    >>> round(wire_flattening_um(10, wire_mm=0.866, pitch_diameter_mm=9.026), 1)
    3.8

    Source
    ------
    H. Hertz's theory of elastic contact as in K. L. Johnson, Contact Mechanics, chapter 4, from memory.
    """
    half = float(half_angle_rad(included_angle_deg))
    force = float(not_negative("measuring_force_n", measuring_force_n))
    radii = (
        positive("wire_mm", wire_mm) / 2,
        positive("pitch_diameter_mm", pitch_diameter_mm) / 2 / np.sin(half),
    )
    alone = _approach_mm(force / (2 * np.sin(half)), *radii)
    of_two = _approach_mm(force / (4 * np.sin(half)), *radii)
    return float(1000 * (alone + of_two) / np.sin(half))


def pitch_diameter_from_wires(
    over_wires_mm,
    *,
    reading_doubt_mm,
    wire_mm,
    diameter_doubt_mm,
    pitch_mm,
    thread_lead_mm,
    included_angle_deg=60.0,
    flank_doubt_deg=0.0,
    measuring_force_n=0.0,
) -> Estimate:
    """The pitch diameter that a reading over wires tells, with its doubt.

    Formula
    -------
    none: `pitch_diameter_on_helix_mm` of the reading with its flattening, and `wire_doubt_mm`

    Parameters
    ----------
    over_wires_mm : float [mm]
        Reading over the wires.
    reading_doubt_mm : float [mm]
        95 % doubt of the reading.
    wire_mm, diameter_doubt_mm : float [mm, mm]
        Diameter of all three wires as measured, and its 95 % doubt.
    pitch_mm : Fraction or float [mm]
        From one groove to the next.
    thread_lead_mm : Fraction or float [mm]
        Lead: pitch times starts.
    included_angle_deg : float [deg]
        Included angle of the thread.
    flank_doubt_deg : float [deg]
        95 % doubt of the flank angle.
    measuring_force_n : float [N]
        Push of the micrometer; zero leaves the flattening out.

    Returns
    -------
    Estimate
        Pitch diameter in millimetres with its 95 % interval.

    Range
    -----
    As the functions it is made of.

    Raises
    ------
    RangeError
        If an input is out of range.

    Examples
    --------
    >>> wires = {"wire_mm": 0.866, "diameter_doubt_mm": 0.002, "pitch_mm": 1.5, "thread_lead_mm": 1.5}
    >>> found = pitch_diameter_from_wires(10.25, reading_doubt_mm=0.004, **wires)
    >>> f"{found.value:.3f} +/- {found.expanded_uncertainty:.3f}"
    '8.949 +/- 0.007'

    Source
    ------
    As the functions it is made of.
    """
    thread = {"wire_mm": wire_mm, "pitch_mm": pitch_mm, "included_angle_deg": included_angle_deg}
    plain = pitch_diameter_on_helix_mm(over_wires_mm, thread_lead_mm=thread_lead_mm, **thread)
    short_um = wire_flattening_um(
        measuring_force_n, wire_mm=wire_mm, pitch_diameter_mm=plain, included_angle_deg=included_angle_deg
    )
    found = pitch_diameter_on_helix_mm(
        over_wires_mm + short_um / 1000, thread_lead_mm=thread_lead_mm, **thread
    )
    doubt = wire_doubt_mm(
        reading_doubt_mm, diameter_doubt_mm=diameter_doubt_mm, flank_doubt_deg=flank_doubt_deg, **thread
    )
    return Estimate.symmetric(float(found), float(np.hypot(doubt, FLATTENING_DOUBT_SHARE * short_um / 1000)))


def _approach_mm(push_n: float, small_radius_mm: float, large_radius_mm: float) -> float:
    """How far two crossed steel cylinders come together under a push."""
    from scipy.optimize import brentq
    from scipy.special import ellipe, ellipk

    if np.isnan(push_n + small_radius_mm + large_radius_mm):
        return float("nan")
    if push_n == 0:
        return 0.0
    small, large = sorted((small_radius_mm, large_radius_mm))

    def uneven(squared):
        # Ratio of the curvatures that an ellipse of this eccentricity belongs to, less the one there is.
        first, second = ellipk(squared), ellipe(squared)
        return (second / (1 - squared) - first) / (first - second) - large / small

    squared = brentq(uneven, 1e-6, 1 - 1e-12) if large > small * (1 + 1e-5) else 1e-6
    first, second = ellipk(squared), ellipe(squared)
    long_axis = np.cbrt(3 * push_n * (first - second) * large / (np.pi * CONTACT_N_MM2 * squared))
    return float(3 * push_n * first / (2 * np.pi * CONTACT_N_MM2 * long_axis))
