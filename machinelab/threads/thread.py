"""A thread: size, pitch and form, with its starts, its hand and what it is called.

Size and pitch alone are not a thread: 26 threads to the inch are not 1 mm, and 1.370 in by 24 in the cycle
form and 1.375 in by 24 in the ISO form are one and the same fit.
"""

from dataclasses import dataclass
from fractions import Fraction

from machinelab.leadscrew.lead import INCH_MM
from machinelab.threads.profile import ThreadForm

__all__ = ["Thread"]


@dataclass(frozen=True)
class Thread:
    """A thread as its designation says it.

    Parameters
    ----------
    designation : str
        The settled way to write it, which reads back as the same thread.
    form : ThreadForm
        Angle, heights and roundings.
    series : str
        The series of sizes it belongs to, such as "UNC"; "special" for a size of no series.
    nominal_diameter_mm : Fraction or None [mm]
        Nominal outside diameter, exact; None where the designation does not say it.
    pitch_mm : Fraction [mm]
        From one groove to the next, exact; of a worm to 4 parts in 10^17.
    starts : int [1]
        Number of starts.
    hand : str
        "right" or "left".
    tolerance_class : str
        As typed, such as "6g"; empty where none is.
    taper : Fraction [1]
        Growth of the diameter along the axis: 1/16 for taper pipe threads, else 0.

    Source
    ------
    See `machinelab.threads.form.parse`.
    """

    designation: str
    form: ThreadForm
    series: str
    nominal_diameter_mm: Fraction | None
    pitch_mm: Fraction
    starts: int = 1
    hand: str = "right"
    tolerance_class: str = ""
    taper: Fraction = Fraction(0)

    @property
    def lead_mm(self) -> Fraction:
        """How far a nut moves in one turn: pitch times starts."""
        return self.pitch_mm * self.starts

    @property
    def turning_lead_mm(self) -> Fraction:
        """The lead with the sign of its hand: below zero for a left-hand thread."""
        return -self.lead_mm if self.hand == "left" else self.lead_mm

    @property
    def tpi(self) -> Fraction:
        """Threads to the inch, exact, whatever unit the thread is called by."""
        return INCH_MM / self.pitch_mm
