"""What an error of lead means: over a length, for the fit of the thread, and beside the screw's own error."""

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import exact_positive, positive

# Derived here: errors add about as the root of their squares, so a fifth of the screw's own error
# lengthens the whole by no more than 2 %.
NEGLIGIBLE_SHARE = Fraction(1, 5)

# Handbook value for steel, from memory.
STEEL_EXPANSION_PER_K = 11.5e-6


@dataclass(frozen=True)
class ScrewComparison:
    """The error of a ratio beside the error that the screw has anyway.

    Parameters
    ----------
    ratio_error_ppm : float [ppm]
        Pitch error of the ratio in use, with its sign.
    screw_error_ppm : float [ppm]
        Lead error of the screw, without sign.
    error_share : float [1]
        Size of the first over the second.
    screw_is_limit : bool
        True when the ratio's share is below one fifth: exact for practical purposes, the screw is the limit.
    """

    ratio_error_ppm: float
    screw_error_ppm: float
    error_share: float
    screw_is_limit: bool


def lead_error_mm(error_ppm, length_mm):
    """How far a thread is out over a length.

    Formula
    -------
    lead_error_mm = error_ppm / 1000000 * length_mm

    Parameters
    ----------
    error_ppm : float or array [ppm]
        Pitch error, see `machinelab.leadscrew.gearing.pitch_error_ppm`.
    length_mm : float or array [mm]
        Length along the thread.

    Returns
    -------
    float or array [mm]
        Error at the far end when the near end is right; positive when the thread is long.

    Range
    -----
    Any numbers; NaN in gives NaN out.

    Examples
    --------
    >>> round(lead_error_mm(133, 300), 4)
    0.0399

    Source
    ------
    Derived here: the definition of parts in a million.
    """
    return error_ppm / 1_000_000 * length_mm


def screw_error_ppm(travel_error_um, over_mm):
    """A screw's permitted travel error as parts in a million.

    Formula
    -------
    screw_error_ppm = travel_error_um / 1000 / over_mm * 1000000

    Parameters
    ----------
    travel_error_um : float or array [um]
        Error permitted or measured over a length, see the table ``leadscrews``.
    over_mm : float or array [mm]
        That length.

    Returns
    -------
    float or array [ppm]
        Error of the screw's lead.

    Range
    -----
    The length is above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the length is zero or negative.

    Examples
    --------
    >>> round(screw_error_ppm(40, 300), 1)
    133.3

    Source
    ------
    Derived here: the definition of parts in a million.
    """
    return travel_error_um / positive("over_mm", over_mm) * 1000


def compare_with_screw(ratio_error_ppm, screw_error_ppm):
    """Whether a ratio's pitch error matters beside the error that the screw has anyway.

    Formula
    -------
    result.ratio_error_ppm = ratio_error_ppm
    result.screw_error_ppm = screw_error_ppm
    result.error_share = abs(ratio_error_ppm) / screw_error_ppm
    result.screw_is_limit = abs(ratio_error_ppm) / screw_error_ppm < 1/5

    Parameters
    ----------
    ratio_error_ppm : float [ppm]
        Pitch error of the ratio, see `machinelab.leadscrew.gearing.pitch_error_ppm`.
    screw_error_ppm : float [ppm]
        Lead error of the screw: measured, or from the table ``leadscrews``.

    Returns
    -------
    ScrewComparison
        Both errors, their proportion, and which of the two sets the limit.

    Range
    -----
    The screw's error is above zero: no screw is perfect. A missing error gives a missing share and no claim.

    Raises
    ------
    RangeError
        If the screw's error is zero or negative.

    Examples
    --------
    >>> compare_with_screw(23.6, 133.3).screw_is_limit
    True

    Source
    ------
    The fifth is derived here: two errors adding as root of squares grow by 2 % at that share.
    """
    share = abs(ratio_error_ppm) / positive("screw_error_ppm", screw_error_ppm)
    return ScrewComparison(
        float(ratio_error_ppm), float(screw_error_ppm), float(share), bool(share < NEGLIGIBLE_SHARE)
    )


def pitch_diameter_equivalent_mm(error_ppm, engagement_mm, included_angle_deg=60.0):
    """How much of the pitch-diameter tolerance an error of lead uses up.

    A nut feels an error of lead over its length as a screw that is too thick by this much.

    Formula
    -------
    half_angle = included_angle_deg * pi / 360
    pitch_diameter_equivalent_mm = abs(error_ppm) / 1000000 * engagement_mm / tan(half_angle)

    Parameters
    ----------
    error_ppm : float or array [ppm]
        Pitch error; its sign does not matter.
    engagement_mm : float or array [mm]
        Length of thread that the nut holds.
    included_angle_deg : float or array [deg]
        Included angle of the thread: 60 metric and unified (the default), 55 Whitworth, 30 trapezoidal.

    Returns
    -------
    float or array [mm]
        Equivalent change of the pitch diameter.

    Range
    -----
    Angles above 0 and below 180 degrees. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the angle cannot be that of a thread.

    Examples
    --------
    >>> round(float(pitch_diameter_equivalent_mm(133, 18)), 5)
    0.00415

    Source
    ------
    Change of pitch diameter is the cotangent of half the angle times the pitch error: thread metrology
    textbooks, from memory.
    """
    angle = np.asarray(included_angle_deg, dtype=float)
    if np.any((angle <= 0) | (angle >= 180)):
        raise RangeError(
            f"included_angle_deg is {included_angle_deg}; type the whole angle of the thread, such as 60."
        )
    return abs(error_ppm) / 1_000_000 * engagement_mm / np.tan(np.radians(included_angle_deg) / 2)


def thermal_growth_mm(length_mm, temperature_rise_k, expansion_per_k=STEEL_EXPANSION_PER_K):
    """How much longer a screw or a bar gets when it warms up.

    Formula
    -------
    thermal_growth_mm = length_mm * temperature_rise_k * expansion_per_k

    Parameters
    ----------
    length_mm : float or array [mm]
        Length at the start.
    temperature_rise_k : float or array [K]
        Warming, in kelvin or degrees Celsius of difference.
    expansion_per_k : float or array [1/K]
        Coefficient of linear expansion; the default is a handbook value for steel, from memory.

    Returns
    -------
    float or array [mm]
        Growth; 10 K of warming is 115 ppm in steel.

    Range
    -----
    Any numbers; NaN in gives NaN out.

    Examples
    --------
    >>> round(thermal_growth_mm(300, 10), 5)
    0.0345

    Source
    ------
    Linear expansion, any physics textbook.
    """
    return length_mm * temperature_rise_k * expansion_per_k


def slip_length_mm(lead_mm, wanted_lead_mm):
    """Along which length a nearly right thread falls a whole turn behind the right one.

    Formula
    -------
    slip_length_mm = lead_mm * wanted_lead_mm / abs(lead_mm - wanted_lead_mm)

    Parameters
    ----------
    lead_mm : Fraction or int [mm]
        The lead that is cut.
    wanted_lead_mm : Fraction or int [mm]
        The lead that was wanted.

    Returns
    -------
    Fraction [mm]
        Length over which the two differ by one turn.

    Range
    -----
    Both above zero and not the same.

    Raises
    ------
    RangeError
        If a lead is not exact or not above zero, or the two are equal and never part.

    Examples
    --------
    A screw of 14/11 mm against 1/20 inch parts by one turn in 23 1/3 inches:

    >>> slip_length_mm(Fraction(14, 11), Fraction(127, 100)) / Fraction(127, 5)
    Fraction(70, 3)

    Source
    ------
    Derived here, as two rules of a vernier; a home-shop note on a metric leadscrew gives 23.33 inches.
    """
    lead, wanted = exact_positive("lead_mm", lead_mm), exact_positive("wanted_lead_mm", wanted_lead_mm)
    if lead == wanted:
        raise RangeError(f"lead_mm and wanted_lead_mm are both {lead}: the threads never part.")
    return lead * wanted / abs(lead - wanted)
