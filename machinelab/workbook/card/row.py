"""One thread on the card: its numbers, and the few words in which they hang on the machine."""

import math
from dataclasses import dataclass
from fractions import Fraction

from machinelab.leadscrew.lead_accuracy import compare_with_screw
from machinelab.units import show
from machinelab.workbook.panels.gearing import fraction_text, ppm_text
from machinelab.workbook.shop_lengths import MILLIMETRES, ShopLengths

NOT_KNOWN = "not known"
# Longer ones, as of a worm with its share of pi, nobody types.
LONGEST_RATIO = 16
LEFT_HAND = (
    "LEFT HAND: with the spindle forward the carriage runs away from the chuck. Start in the groove. "
    "Change the sign only through STOP, with the spindle at rest."
)


@dataclass(frozen=True, kw_only=True)
class CardRow:
    """What one thread's row says; what is not known is NaN, None or empty.

    Parameters
    ----------
    designation, name : str
        As on the drawing, and what it is for.
    pitch_mm : Fraction
        Pitch, exact.
    starts : int
        Number of starts.
    left_hand : bool
        Whether it is a left-hand thread.
    wanted, used : Fraction or None
        Steps of the leadscrew for one encoder edge: the exact ratio, and the nearest that the controller
        holds.
    error_ppm, screw_error_ppm : float
        Pitch error of that ratio, and the screw's own error.
    speed_rpm : float
        Highest spindle speed; NaN where none is feasible.
    limit, why_not : str
        What sets that speed; why there is none.
    groove_mm, run_out_mm : float
        Groove at the shoulder, and how far past the thread the tool comes to rest in 99 passes of 100.
    groove_from : str
        Where the groove comes from.
    depths_mm : tuple of float
        Where the tool stands in each cut, on the radius, from the touch on the blank.
    spring_passes : int
        Passes at the last depth once more.
    blank_mm : float
        Diameter of the blank that the depths count from.
    tool : str
        The tip of the tool in words.
    wire_mm : float
        Wires to measure with.
    over_wires_mm : tuple of float
        Smallest and largest reading over them; one figure where only the basic size is known.
    measured_against : str
        The tolerance in words.
    notes : tuple of str
        What else to mind at this thread.
    lengths : ShopLengths
        How the shop writes lengths.
    """

    designation: str
    name: str = ""
    pitch_mm: Fraction
    starts: int = 1
    left_hand: bool = False
    wanted: Fraction | None = None
    used: Fraction | None = None
    error_ppm: float = math.nan
    screw_error_ppm: float = math.nan
    speed_rpm: float = math.nan
    limit: str = ""
    why_not: str = ""
    groove_mm: float = math.nan
    groove_from: str = ""
    run_out_mm: float = math.nan
    depths_mm: tuple[float, ...] = ()
    spring_passes: int = 0
    blank_mm: float = math.nan
    tool: str = ""
    wire_mm: float = math.nan
    over_wires_mm: tuple[float, ...] = ()
    measured_against: str = ""
    notes: tuple[str, ...] = ()
    lengths: ShopLengths = MILLIMETRES

    @property
    def pitch_words(self) -> str:
        """The pitch in both units; the lead too where there are several starts."""
        pitch = show(self.pitch_mm, "mm", kind="lead")
        if self.starts == 1:
            return pitch
        return f"{pitch}; {self.starts} starts, lead {self.lengths.short(self.pitch_mm * self.starts, 5)}"

    @property
    def speed_words(self) -> str:
        """The highest speed."""
        return "no speed" if math.isnan(self.speed_rpm) else f"{self.speed_rpm:.0f} rpm"

    @property
    def limit_words(self) -> str:
        """What sets the highest speed."""
        if not math.isnan(self.speed_rpm):
            return f"set by {self.limit}" if self.limit else ""
        return "is slow enough" if self.why_not else NOT_KNOWN

    @property
    def ratio_words(self) -> str:
        """The two whole numbers to enter, with the sign of the hand."""
        return NOT_KNOWN if self.used is None else fraction_text(self.used).replace("-", "−")

    @property
    def error_words(self) -> str:
        """How good that ratio is, beside the screw's own error."""
        if self.used is None:
            return ""
        if self.used == self.wanted:
            return "exact"
        screw = self.screw_error_ppm
        beside = "" if math.isnan(screw) else f"; the screw {screw:.0f} ppm"
        told = f"{ppm_text(self.error_ppm)}{beside}"
        if not math.isnan(screw) and not compare_with_screw(self.error_ppm, screw).screw_is_limit:
            told += " (it shows)"
        exact = fraction_text(self.wanted).replace("-", "−")
        return f"{told}; exact: {exact}" if len(exact) <= LONGEST_RATIO else told

    @property
    def groove_words(self) -> str:
        """Width of the groove."""
        if math.isnan(self.groove_mm):
            return NOT_KNOWN
        return self._sized(self.groove_mm)

    @property
    def run_out_words(self) -> str:
        """How far the tool runs past the thread."""
        return "" if math.isnan(self.run_out_mm) else f"stops in {self._sized(self.run_out_mm)}"

    @property
    def cuts_words(self) -> str:
        """Where to set the tool in each cut."""
        if not self.depths_mm:
            return ""
        depths = ", ".join(self.lengths.number(depth, 2) for depth in self.depths_mm)
        blank = "" if math.isnan(self.blank_mm) else f"blank {self.lengths.told(self.blank_mm, 2)}, "
        told = f"{blank}{self.tool}: set in {depths} {self.lengths.unit}."
        return told[:1].upper() + told[1:]

    @property
    def depth_words(self) -> str:
        """The whole depth."""
        return self.lengths.told(self.depths_mm[-1], 2) if self.depths_mm else NOT_KNOWN

    @property
    def passes_words(self) -> str:
        """How many passes."""
        if not self.depths_mm:
            return ""
        springs = f" + {self.spring_passes}" if self.spring_passes else ""
        return f"{len(self.depths_mm)}{springs} passes"

    @property
    def wires_words(self) -> str:
        """What the micrometer should read over wires."""
        if not self.over_wires_mm:
            return ""
        wire = f"{self.lengths.number(self.wire_mm, 3)} wires"
        if len(self.over_wires_mm) == 1:
            only = f"{self.lengths.told(self.over_wires_mm[0], 2)} at the {self.measured_against}"
            return f"Over {wire}: {only}; no more than that."
        smallest, largest = self.over_wires_mm
        down_to = f"{self.lengths.number(largest, 3)} down to {self.lengths.told(smallest, 3)}"
        return f"Over {wire}: {down_to} ({self.measured_against})."

    @property
    def remarks(self) -> tuple[str, ...]:
        """The lines that run across the row, under its figures."""
        no_speed = f"No speed up to the shoulder: {self.why_not}" if self.why_not else ""
        hand = LEFT_HAND if self.left_hand else ""
        lines = (hand, no_speed, self.cuts_words, self.wires_words, *self.notes)
        return tuple(line for line in lines if line)

    def _sized(self, millimetres: float) -> str:
        return self.lengths.told(millimetres, 1 if millimetres < 10 else 0)
