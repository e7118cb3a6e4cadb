"""Limits of Unified threads, computed as the standard's own tables were.

The tables are formulas worked out in inches and rounded in a settled order, halves upward; another order
misses the last figure of the sizes on every bench (the nut of 1/4-20, the screw of 1-8).
"""

from dataclasses import dataclass
from decimal import Decimal
from math import sqrt

from machinelab.errors import RangeError
from machinelab.leadscrew.lead import INCH_MM
from machinelab.ranges import positive
from machinelab.threads.limit_sizes import OPEN, Limits, rounded
from machinelab.threads.thread import Thread

__all__ = ["UNIFIED_CLASSES", "unified_limits", "unified_pitch_tolerance_in"]

UNIFIED_CLASSES = ("1A", "2A", "3A", "1B", "2B", "3B")
SOURCE = (
    "ASME B1.1: formulas from memory, worked out in the order of its tables and compared with two of them"
)
# Share of the screw's tolerance of class 2A.
SHARE = {"1A": 1.5, "2A": 1.0, "3A": 0.75, "1B": 1.95, "2B": 1.3, "3B": 0.975}
# Series whose length of engagement is taken as the diameter; all others as nine pitches.
ENGAGED_BY_DIAMETER = ("UNC", "UNF")
COARSEST_ENGAGED_BY_PITCH = 12
SMALL_IN, SMALLEST_THREE_PLACES_IN = 0.25, 0.138


@dataclass(frozen=True)
class _Inches:
    """A thread in inches: diameter, pitch and the basic sizes rounded as the tables round them."""

    diameter: float
    pitch: float

    @property
    def effective(self) -> Decimal:
        return rounded(self.diameter - 0.64951905 * self.pitch, 4)

    @property
    def minor(self) -> Decimal:
        return rounded(self.diameter - 1.08253175 * self.pitch, 4)


def unified_limits(thread: Thread, tolerance_class: str) -> Limits:
    """Limits of a Unified screw or nut.

    Formula
    -------
    none: the formulas of the standard with a rounding after each step; see `unified_pitch_tolerance_in`

    Parameters
    ----------
    thread : Thread
        A Unified thread.
    tolerance_class : str
        1A, 2A, 3A for the screw; 1B, 2B, 3B for the nut.

    Returns
    -------
    Limits
        In millimetres, from inches to four places as printed.

    Raises
    ------
    RangeError
        If there is no such class, or the designation does not say the diameter.

    Examples
    --------
    >>> from machinelab.threads.form import parse
    >>> round(unified_limits(parse("1/4-20"), "2B").pitch_mm[1] / 25.4, 4)
    0.2224

    Source
    ------
    ASME B1.1, formulas from memory; tables transcribed on public pages agree but for one cell of 192.
    """
    if tolerance_class not in UNIFIED_CLASSES:
        raise RangeError(
            f"{tolerance_class} is no class of Unified threads. There are {', '.join(UNIFIED_CLASSES)}."
        )
    if thread.nominal_diameter_mm is None:
        raise RangeError(
            f"{thread.designation} does not say the diameter; type it in front, such as 1/4-20 UNC."
        )
    inches = _Inches(float(thread.nominal_diameter_mm / INCH_MM), float(thread.pitch_mm / INCH_MM))
    make = _screw if tolerance_class.endswith("A") else _nut
    major, effective, minor = make(thread, tolerance_class, inches)
    return Limits(
        designation=thread.designation,
        tolerance_class=tolerance_class,
        side="screw" if make is _screw else "nut",
        major_mm=_mm(major),
        pitch_mm=_mm(effective),
        minor_mm=_mm(minor),
        source=SOURCE,
    )


def unified_pitch_tolerance_in(nominal_diameter_in, *, engagement_in, pitch_in):
    """Pitch-diameter tolerance of a Unified screw of class 2A, before any rounding.

    Formula
    -------
    by_size = 0.0015 * nominal_diameter_in**(1/3) + 0.0015 * sqrt(engagement_in)
    unified_pitch_tolerance_in = by_size + 0.015 * pitch_in**(2/3)

    Parameters
    ----------
    nominal_diameter_in : float [in]
        Nominal diameter.
    engagement_in : float [in]
        Length of engagement: the diameter for UNC and UNF, nine pitches for finer series.
    pitch_in : float [in]
        Pitch.

    Returns
    -------
    float [in]
        The nut of class 2B has 1.3 of it, the classes 1 half as much again, the classes 3 three quarters.

    Range
    -----
    Above zero.

    Raises
    ------
    RangeError
        If a figure is not above zero.

    Examples
    --------
    >>> round(unified_pitch_tolerance_in(0.25, engagement_in=0.25, pitch_in=0.05), 6)
    0.003731

    Source
    ------
    ASME B1.1, from memory.
    """
    diameter = positive("nominal_diameter_in", nominal_diameter_in)
    by_size = 0.0015 * diameter ** (1 / 3) + 0.0015 * sqrt(positive("engagement_in", engagement_in))
    return by_size + 0.015 * positive("pitch_in", pitch_in) ** (2 / 3)


def _screw(thread: Thread, tolerance_class: str, inches: _Inches):
    allowance = Decimal(0)
    if tolerance_class != "3A":
        allowance = rounded(Decimal("0.3") * _pitch_tolerance(thread, "2A", inches), 4)
    share = 0.09 if tolerance_class == "1A" else 0.06
    major = rounded(inches.diameter, 4) - allowance
    effective = inches.effective - allowance
    lowest = rounded(effective - _pitch_tolerance(thread, tolerance_class, inches), 4)
    lowest_major = major - rounded(share * inches.pitch ** (2 / 3), 4)
    return (lowest_major, major), (lowest, effective), (Decimal(0), inches.minor - allowance)


def _nut(thread: Thread, tolerance_class: str, inches: _Inches):
    highest = rounded(inches.effective + _pitch_tolerance(thread, tolerance_class, inches), 4)
    three_places = 3 if inches.diameter >= SMALLEST_THREE_PLACES_IN else 4
    most = _minor_tolerance_three(inches) if tolerance_class == "3B" else _minor_tolerance(inches)
    # The finest class is printed to four places throughout.
    places = 4 if tolerance_class == "3B" else three_places
    highest_minor = rounded(float(inches.minor) + most, places)
    major = (rounded(inches.diameter, 4), Decimal(repr(OPEN)))
    return major, (inches.effective, highest), (rounded(inches.minor, three_places), highest_minor)


def _pitch_tolerance(thread: Thread, tolerance_class: str, inches: _Inches) -> Decimal:
    by_diameter = thread.series in ENGAGED_BY_DIAMETER or (
        thread.series == "UN" and thread.tpi < COARSEST_ENGAGED_BY_PITCH
    )
    engaged = inches.diameter if by_diameter else 9 * inches.pitch
    tolerance = unified_pitch_tolerance_in(inches.diameter, engagement_in=engaged, pitch_in=inches.pitch)
    return rounded(SHARE[tolerance_class] * float(rounded(tolerance, 6)), 6)


def _minor_tolerance(inches: _Inches) -> float:
    """Classes 1B and 2B."""
    pitch = inches.pitch
    least = 0.25 * pitch - 0.4 * pitch**2
    if inches.diameter >= SMALL_IN:
        return least
    return max(least, min(0.394 * pitch, _by_size(inches)))


def _minor_tolerance_three(inches: _Inches) -> float:
    """Class 3B, from memory."""
    pitch = inches.pitch
    least = 0.23 * pitch - 1.5 * pitch**2 if 1 / pitch > 12.5 else 0.12 * pitch
    return max(least, min(0.394 * pitch, _by_size(inches)))


def _by_size(inches: _Inches) -> float:
    return 0.05 * inches.pitch ** (2 / 3) + 0.03 * inches.pitch / inches.diameter - 0.002


def _mm(pair: tuple[Decimal, Decimal]) -> tuple[float, float]:
    inch = float(INCH_MM)
    return float(pair[0]) * inch, float(pair[1]) * inch
