"""A straight wire in a groove that climbs: reading and pitch diameter without the textbook's rings.

A wire that is free to tilt settles where both flanks press through the middle of its axis: else the two
pushes would turn it further. So it lies exactly as deep as a ball of its own diameter, and the ball's touch
on the flank is three short equations.
"""

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import positive
from machinelab.threads.flanks import half_angle_rad

__all__ = ["over_wires_on_helix_mm", "pitch_diameter_on_helix_mm"]

MOST_ROUNDS = 200
SETTLED_MM = 1e-12


def over_wires_on_helix_mm(pitch_diameter_mm, *, wire_mm, pitch_mm, thread_lead_mm, included_angle_deg=60.0):
    """What the micrometer reads over three wires, with the lead angle as it is.

    Formula
    -------
    none: radius and angle of the touch are found by rounds, each from the one before

    Parameters
    ----------
    pitch_diameter_mm : float or array [mm]
        Pitch diameter.
    wire_mm : float or array [mm]
        Diameter of all three wires.
    pitch_mm : Fraction or float or array [mm]
        From one groove to the next.
    thread_lead_mm : Fraction or float or array [mm]
        Lead: pitch times starts; the sign is its hand. Zero gives the textbook rule.
    included_angle_deg : float or array [deg]
        Included angle of the thread, in a section along its axis.

    Returns
    -------
    float or array [mm]
        Reading over the wires.

    Range
    -----
    Lead angles up to about 45 degrees. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a size is not above zero, or the wire does not find both flanks of so steep a groove.

    Examples
    --------
    >>> round(float(over_wires_on_helix_mm(9.026, wire_mm=0.866025, pitch_mm=1.5, thread_lead_mm=1.5)), 4)
    10.3268

    Source
    ------
    Derived here: the touch of a ball and a helicoid with straight flanks in its axial section. Compared in
    the tests with a contact found by numbers alone.
    """
    slope, climb, pitch, wire = _groove(wire_mm, pitch_mm, thread_lead_mm, included_angle_deg)
    radius = middle = np.asarray(positive("pitch_diameter_mm", pitch_diameter_mm), dtype=float) / 2
    for _ in range(MOST_ROUNDS):
        aside = _aside(wire, slope, climb, radius)
        angle = np.arctan2(-aside * climb, radius * (radius + aside * slope))
        nearer = middle + (aside - pitch / 4 - climb * angle) / slope
        moved, radius = np.abs(nearer - radius), nearer
        if not np.any(moved > SETTLED_MM):
            break
    _refuse_unsettled(moved, radius)
    aside = _aside(wire, slope, climb, radius)
    return (2 * (radius + aside * slope) / np.cos(angle) + wire)[()]


def pitch_diameter_on_helix_mm(over_wires_mm, *, wire_mm, pitch_mm, thread_lead_mm, included_angle_deg=60.0):
    """The pitch diameter that a reading over three wires tells.

    Formula
    -------
    none: radius and angle of the touch are found by rounds, each from the one before

    Parameters
    ----------
    over_wires_mm : float or array [mm]
        Reading over the wires.
    wire_mm : float or array [mm]
        Diameter of all three wires, measured.
    pitch_mm : Fraction or float or array [mm]
        From one groove to the next.
    thread_lead_mm : Fraction or float or array [mm]
        Lead: pitch times starts; the sign is its hand.
    included_angle_deg : float or array [deg]
        Included angle of the thread, in a section along its axis.

    Returns
    -------
    float or array [mm]
        Pitch diameter; from what is measured, never from the basic size.

    Range
    -----
    As `over_wires_on_helix_mm`; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a size is not above zero, or the reading is too small for the wires.

    Examples
    --------
    >>> measured = {"wire_mm": 0.866025, "pitch_mm": 1.5, "thread_lead_mm": 1.5}
    >>> round(float(pitch_diameter_on_helix_mm(10.3268, **measured)), 4)
    9.026

    Source
    ------
    Inverse of `over_wires_on_helix_mm`, derived here.
    """
    slope, climb, pitch, wire = _groove(wire_mm, pitch_mm, thread_lead_mm, included_angle_deg)
    centre = (np.asarray(positive("over_wires_mm", over_wires_mm), dtype=float) - wire) / 2
    radius = centre - _aside(wire, slope, 0, 1) * slope
    _refuse_unsettled(np.zeros_like(radius), radius)
    for _ in range(MOST_ROUNDS):
        aside = _aside(wire, slope, climb, radius)
        angle = np.arctan2(-aside * climb, radius * (radius + aside * slope))
        nearer = centre * np.cos(angle) - aside * slope
        moved, radius = np.abs(nearer - radius), nearer
        if not np.any(moved > SETTLED_MM):
            break
    _refuse_unsettled(moved, radius)
    aside = _aside(wire, slope, climb, radius)
    return (2 * (radius - (aside - pitch / 4 - climb * angle) / slope))[()]


def _groove(wire_mm, pitch_mm, thread_lead_mm, included_angle_deg) -> tuple[np.ndarray, ...]:
    """Slope of the flank, travel for a radian, pitch and wire, as arrays of decimals."""
    slope = np.tan(half_angle_rad(included_angle_deg))
    climb = np.abs(np.asarray(thread_lead_mm, dtype=float)) / (2 * np.pi)
    pitch = np.asarray(positive("pitch_mm", pitch_mm), dtype=float)
    return slope, climb, pitch, np.asarray(positive("wire_mm", wire_mm), dtype=float)


def _aside(wire, slope, climb, radius):
    """How far along the axis the ball touches beside its middle, when it touches at a radius."""
    return wire / 2 / np.sqrt(1 + slope**2 + (climb / radius) ** 2)


def _refuse_unsettled(moved, radius) -> None:
    if np.any(moved > SETTLED_MM) or np.any(radius <= 0):
        raise RangeError(
            "These wires do not find both flanks of this thread. Look at the wire, the pitch and the lead "
            "again: was the lead typed for the pitch, or a reading taken without the wires?"
        )
