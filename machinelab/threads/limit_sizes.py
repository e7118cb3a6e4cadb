"""The limits of a thread: between which sizes each of its diameters must stand."""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from math import inf

__all__ = ["Limits"]

OPEN = inf


@dataclass(frozen=True)
class Limits:
    """Lowest and highest size of each diameter of a screw or a nut.

    Parameters
    ----------
    designation : str
        The thread.
    tolerance_class : str
        The class, such as "6g".
    side : str
        "screw" or "nut".
    major_mm : tuple of (float, float) [mm]
        Outside diameter of the screw, or the bottom of the nut's groove, whose upper end is open (inf).
    pitch_mm : tuple of (float, float) [mm]
        Pitch diameter.
    minor_mm : tuple of (float, float) [mm]
        Bore of the nut, or the bottom of the screw's groove, whose lower end is open (0) where the standard
        gives none.
    source : str
        The standard, and where its figures were seen.

    Source
    ------
    See `machinelab.threads.limits.limits`.
    """

    designation: str
    tolerance_class: str
    side: str
    major_mm: tuple[float, float]
    pitch_mm: tuple[float, float]
    minor_mm: tuple[float, float]
    source: str


def rounded(size, places: int) -> Decimal:
    """A size to so many places, halves upward, as the tables of threads are printed.

    Examples
    --------
    >>> rounded(9.0257215, 3)
    Decimal('9.026')
    """
    # The computer's decimal digits, so that a half that was typed as such is a half.
    return Decimal(repr(float(size))).quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)


def micrometres(number: float) -> Decimal:
    """A tolerance in whole micrometres, as millimetres."""
    return rounded(number, 0) / 1000
