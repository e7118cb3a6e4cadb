"""The lead of a thread or a screw, from the way in which the trade writes it down.

An inch is exactly 127/5 mm, so inch leads are exact fractions. Only worms (by module or diametral pitch)
carry pi, which no fraction holds: their leads are fractions too, of a pi that is right to 4 parts in
10^17, and must go through `machinelab.leadscrew.gearing.nearest_ratio` like any ratio that does not fit.
"""

from fractions import Fraction
from math import pi

from machinelab.ranges import exact_positive, whole

INCH_MM = Fraction(127, 5)

_PI = Fraction(pi)


def pitch_lead_mm(pitch_mm, starts=1):
    """Lead of a thread with one or more starts: how far a nut moves in one turn.

    Formula
    -------
    pitch_lead_mm = pitch_mm * starts

    Parameters
    ----------
    pitch_mm : Fraction or int [mm]
        From one groove to the next, whatever start it belongs to.
    starts : int [1]
        Number of starts.

    Returns
    -------
    Fraction [mm]
        Lead. Gearing for the pitch of a two-start thread instead would cut half of it.

    Range
    -----
    Both above zero.

    Raises
    ------
    RangeError
        If the pitch is a rounded decimal or not above zero, or the starts are not a whole number.

    Examples
    --------
    >>> pitch_lead_mm(Fraction(3, 2), 2)
    Fraction(3, 1)

    Source
    ------
    Definition of lead in ISO 5408 (from memory).
    """
    return exact_positive("pitch_mm", pitch_mm) * whole("starts", starts)


def tpi_lead_mm(tpi, starts=1):
    """Lead of a thread or screw given in threads to the inch.

    Formula
    -------
    tpi_lead_mm = 127/5 * starts / tpi

    Parameters
    ----------
    tpi : Fraction or int [1/in]
        Threads counted in one inch; 11 1/2 is Fraction(23, 2).
    starts : int [1]
        Number of starts.

    Returns
    -------
    Fraction [mm]
        Lead, exact.

    Range
    -----
    Both above zero.

    Raises
    ------
    RangeError
        If the threads are a rounded decimal or not above zero, or the starts are not a whole number.

    Examples
    --------
    >>> tpi_lead_mm(8)
    Fraction(127, 40)

    Source
    ------
    One inch is 25.4 mm exactly: international yard and pound agreement of 1959 (from memory).
    """
    return INCH_MM * whole("starts", starts) / exact_positive("tpi", tpi)


def module_lead_mm(module_mm, starts=1):
    """Lead of a worm that runs with a gear of a given module.

    Formula
    -------
    module_lead_mm = pi * module_mm * starts

    Parameters
    ----------
    module_mm : Fraction or int [mm]
        Axial module of the worm.
    starts : int [1]
        Number of starts.

    Returns
    -------
    Fraction [mm]
        Lead with pi to 4 parts in 10^17: never exact, though far nearer than any screw.

    Range
    -----
    Both above zero.

    Raises
    ------
    RangeError
        If the module is a rounded decimal or not above zero, or the starts are not a whole number.

    Examples
    --------
    >>> round(float(module_lead_mm(1)), 6)
    3.141593

    Source
    ------
    Axial pitch of a worm is pi times its module: gear textbooks, from memory.
    """
    return _PI * exact_positive("module_mm", module_mm) * whole("starts", starts)


def diametral_pitch_lead_mm(diametral_pitch, starts=1):
    """Lead of a worm that runs with a gear of a given diametral pitch.

    Formula
    -------
    diametral_pitch_lead_mm = pi * 127/5 * starts / diametral_pitch

    Parameters
    ----------
    diametral_pitch : Fraction or int [1/in]
        Teeth for each inch of the gear's pitch diameter.
    starts : int [1]
        Number of starts of the worm.

    Returns
    -------
    Fraction [mm]
        Lead with pi to 4 parts in 10^17: never exact, though far nearer than any screw.

    Range
    -----
    Both above zero.

    Raises
    ------
    RangeError
        If the pitch is a rounded decimal or not above zero, or the starts are not a whole number.

    Examples
    --------
    >>> round(float(diametral_pitch_lead_mm(20)), 5)
    3.98982

    Source
    ------
    Circular pitch is pi over diametral pitch, in inches: gear textbooks, from memory.
    """
    return _PI * INCH_MM * whole("starts", starts) / exact_positive("diametral_pitch", diametral_pitch)
