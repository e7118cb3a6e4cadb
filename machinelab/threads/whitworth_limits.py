"""Limits of Whitworth threads (BSW and BSF), from the formulas of the standard's annex."""

from decimal import Decimal
from math import sqrt

from machinelab.errors import RangeError
from machinelab.leadscrew.lead import INCH_MM
from machinelab.ranges import positive
from machinelab.threads.basic_sizes import basic_sizes
from machinelab.threads.limit_sizes import OPEN, Limits, rounded
from machinelab.threads.thread import Thread

__all__ = ["WHITWORTH_CLASSES", "whitworth_limits", "whitworth_tolerance_in"]

WHITWORTH_CLASSES = ("close screw", "medium screw", "free screw", "close nut", "medium nut", "normal nut")
SOURCE = (
    "BS 84: formulas from memory and in a public technical note after BS 84:2007 (read); "
    "good to 0.0001 in of the printed tables"
)
SHARE = {"close": 2 / 3, "medium": 1.0, "free": 3 / 2, "normal": 3 / 2}
# What the roots of a screw have more than its pitch diameter, in roots of the pitch in inches.
ROOT_SHARE = {"close": 0.013, "medium": 0.02, "free": 0.02}


def whitworth_limits(thread: Thread, tolerance_class: str) -> Limits:
    """Limits of a Whitworth screw or nut.

    Formula
    -------
    none: shares of `whitworth_tolerance_in`, rounded to 0.0001 in

    Parameters
    ----------
    thread : Thread
        A BSW or BSF thread.
    tolerance_class : str
        "close", "medium" or "free" with "screw"; "close", "medium" or "normal" with "nut".

    Returns
    -------
    Limits
        In millimetres, from inches to four places; the length of engagement taken as the diameter.

    Range
    -----
    BSW and BSF, uncoated; stainless screws want some play besides (from memory), which is not added.

    Raises
    ------
    RangeError
        If there is no such class, or the designation does not say the diameter.

    Examples
    --------
    >>> from machinelab.threads.form import parse
    >>> round(whitworth_limits(parse("1/4 BSW"), "medium screw").pitch_mm[0] / 25.4, 4)
    0.2141

    Source
    ------
    BS 84: formulas from memory, and in a public technical note after BS 84:2007 (read). A question on a
    public page says that they give the printed tolerances of the pitch diameter, the others to 0.0001 in.
    """
    if tolerance_class not in WHITWORTH_CLASSES:
        raise RangeError(
            f"{tolerance_class} is no class of Whitworth threads. There are {', '.join(WHITWORTH_CLASSES)}."
        )
    basic, inch = basic_sizes(thread), float(INCH_MM)
    word, side = tolerance_class.split()
    pitch = float(thread.pitch_mm) / inch
    major, effective, minor = (
        rounded(size / inch, 4)
        for size in (basic.major_diameter_mm, basic.pitch_diameter_mm, basic.minor_diameter_mm)
    )
    unit = whitworth_tolerance_in(float(major), engagement_in=float(major), pitch_in=pitch)
    tolerance = SHARE[word] * unit
    if side == "screw":
        pairs = (
            (major - rounded(tolerance + 0.01 * sqrt(pitch), 4), major),
            (effective - rounded(tolerance, 4), effective),
            (minor - rounded(tolerance + ROOT_SHARE[word] * sqrt(pitch), 4), minor),
        )
    else:
        pairs = (
            (major, Decimal(repr(OPEN))),
            (effective, effective + rounded(tolerance, 4)),
            (minor, minor + rounded(0.2 * pitch + _bore_more_in(float(thread.tpi)), 4)),
        )
    sizes = [(float(low) * inch, float(high) * inch) for low, high in pairs]
    return Limits(thread.designation, tolerance_class, side, *sizes, source=SOURCE)


def whitworth_tolerance_in(nominal_diameter_in, *, engagement_in, pitch_in):
    """Pitch-diameter tolerance of a Whitworth thread of the medium class.

    Formula
    -------
    by_size = 0.002 * nominal_diameter_in**(1/3) + 0.003 * sqrt(engagement_in)
    whitworth_tolerance_in = by_size + 0.005 * sqrt(pitch_in)

    Parameters
    ----------
    nominal_diameter_in : float [in]
        Nominal diameter.
    engagement_in : float [in]
        Length of engagement.
    pitch_in : float [in]
        Pitch.

    Returns
    -------
    float [in]
        The close class has two thirds of it, the free class half as much again.

    Range
    -----
    Above zero.

    Raises
    ------
    RangeError
        If a figure is not above zero.

    Examples
    --------
    >>> round(whitworth_tolerance_in(0.25, engagement_in=0.25, pitch_in=0.05), 4)
    0.0039

    Source
    ------
    BS 84, annex: from memory, and in a public technical note after BS 84:2007 (read).
    """
    diameter = positive("nominal_diameter_in", nominal_diameter_in)
    by_size = 0.002 * diameter ** (1 / 3) + 0.003 * sqrt(positive("engagement_in", engagement_in))
    return by_size + 0.005 * sqrt(positive("pitch_in", pitch_in))


def _bore_more_in(tpi: float) -> float:
    """What the bore of a nut has more than a fifth of the pitch."""
    if tpi >= 26:
        return 0.004
    return 0.005 if tpi >= 22 else 0.007
