"""What collars, level and dial come to: the causes of a taper with their cures, and a run-out taken apart."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from machinelab.accuracy.alignment import Alignment, AlignmentTest, separate_causes
from machinelab.accuracy.collars import bending_taper_mm
from machinelab.accuracy.runout import Runout, runout
from machinelab.accuracy.tram import cross_slide_mm_m, face_hollow_mm
from machinelab.estimate import Estimate
from machinelab.workbook.shop_lengths import MILLIMETRES, ShopLengths
from machinelab.workbook.verdict import Verdict

# Lobes that a three-jaw chuck leaves.
LOBES = 3
# Two tests that differ so much by chance less than one time in twenty.
UNLIKELY = 0.05
PPM_PER_MM_M = 1000.0
# Hollow only, 0.02 mm on 160 mm: a published inspection record of a lathe of 400 mm swing (excerpt).
HOLLOW_SHARE = 0.02 / 160


@dataclass(frozen=True)
class AlignmentResult:
    """The tests that were made, and what they tell of each cause."""

    tests: tuple[AlignmentTest, ...]
    causes: Alignment
    foot_base_mm: float
    lengths: ShopLengths = MILLIMETRES

    @property
    def cures(self) -> tuple[str, ...]:
        """What to do about each cause that is known and not nothing, in the order in which to do it."""
        return tuple(
            words
            for estimate, cure in (
                (self.causes.bed_twist_mm_m2, self._untwist),
                (self.causes.headstock_mm_m, self._swing_headstock),
                (self.causes.tailstock_mm, self._set_tailstock),
            )
            if estimate is not None and (words := cure(estimate))
        )

    @property
    def headline(self) -> str:
        """The conclusion, for the top of the figure."""
        if self.cures:
            return f"First: {self.cures[0]}"
        if self.causes.ask_next:
            return f"The causes cannot be told apart yet: {self.causes.ask_next[0]}."
        return "Bed, headstock and tailstock are true, as far as these tests can tell."

    @property
    def details(self) -> str:
        """What else is to be said."""
        told = [f"Not told apart yet: {advice}." for advice in self.causes.ask_next]
        if self.causes.disagreement < UNLIKELY:
            told.append("The tests contradict each other: repeat them before anything is moved.")
        return " ".join(told)

    def _untwist(self, twist: Estimate) -> str:
        if not _sure(twist):
            return ""
        side = "front" if twist.value > 0 else "back"
        return (
            f"the bed is twisted by {self.lengths.twist.told(abs(twist.value))}: at the tailstock end raise "
            f"the foot that lets the {side} sink, until the level reads alike at both ends."
        )

    def _swing_headstock(self, skew: Estimate) -> str:
        if not _sure(skew):
            return ""
        way = "towards the tool" if skew.value > 0 else "away from the tool"
        shim = abs(skew.value) / 1000 * self.foot_base_mm
        told, lean = self.lengths.told, self.lengths.lean.told(abs(skew.value))
        return (
            f"swing the far end of the spindle's axis {way} by {lean}, that is {told(shim, 3)} at feet "
            f"{told(self.foot_base_mm, 0)} apart."
        )

    def _set_tailstock(self, offset: Estimate) -> str:
        if not _sure(offset):
            return ""
        way = "towards the tool" if offset.value > 0 else "away from the tool"
        return f"set the tailstock {way} by {self.lengths.told(abs(offset.value), 3)}."


@dataclass(frozen=True)
class RunoutResult:
    """A run-out with the owner's limit."""

    found: Runout
    angle_deg: np.ndarray
    reading_mm: np.ndarray
    reading_sd_mm: float
    limit_mm: float | None
    lengths: ShopLengths = MILLIMETRES

    @property
    def headline(self) -> str:
        """The conclusion, for the top of the figure."""
        one, told = self.found, self.lengths.told
        return (
            f"Total run-out {told(one.total_mm, 3)}: {told(one.eccentricity_mm.value, 3)} off centre, "
            f"high at {one.high_deg:.0f} degrees."
        )

    @property
    def details(self) -> str:
        """What else the figure shows."""
        two, three = self.found.lobes_mm[:2]
        told = self.lengths.told
        return (
            f"Oval by {told(two.value, 4)}, three-cornered by {told(three.value, 4)} (half swings); "
            f"{told(self.found.roundness_mm, 3)} would be left if it were centred."
        )

    @property
    def advice(self) -> str:
        """Where to tap and what not to blame."""
        one = self.found
        if one.eccentricity_mm.interval[0] <= 0:
            return "No eccentricity is proven: leave it as it is."
        tap = (
            f"Turn {one.high_deg:.0f} degrees under the dial and tap there, by "
            f"{self.lengths.told(one.eccentricity_mm.value, 3)}: half of what the dial swings."
        )
        three = one.lobes_mm[1]
        if three.interval[0] > 0 and three.value > one.eccentricity_mm.value / 2:
            return f"{tap} The three corners are the jaws' or the work's own; no tapping takes them out."
        return tap

    @property
    def uncertainty_mm(self) -> float:
        """U of the total: two readings, each with the dial's doubt."""
        return 2 * np.sqrt(2) * self.reading_sd_mm

    def verdict(self) -> Verdict:
        """Whether the run-out is within what the owner accepts."""
        return self.lengths.verdict(round(self.found.total_mm, 5), self.uncertainty_mm, None, self.limit_mm)


@dataclass(frozen=True)
class Collars:
    """A pair of collars that was turned and measured."""

    taper_mm: float
    taper_sd_mm: float
    collar_distance_mm: float
    bent_mm: float


def collars_in_chuck(*, far_mm, near_mm, distance_mm, bar_mm, force_n, doubt_mm) -> Collars:
    """Take what bending alone made off the difference of two collars, the near one close to the jaws."""
    bent = float(bending_taper_mm(float(force_n), 0.0, float(distance_mm), float(bar_mm)))
    # The doubt is that of one diameter, k = 2; a difference has two of them.
    sd = float(doubt_mm) / 2 * np.sqrt(2)
    return Collars(float(far_mm - near_mm) - bent, sd, float(distance_mm), bent)


def bar_in_spindle(*, near_mm, near_turned_mm, far_mm, far_turned_mm, distance_mm, doubt_mm) -> Collars:
    """Tell the axis by a test bar: the mean of readings half a turn apart leaves the bar's own run-out out.

    The dial stands on the carriage at the tool's side and shows more where the bar comes nearer to it.
    """
    towards = float(far_mm + far_turned_mm - near_mm - near_turned_mm) / 2
    # A collar turned there would be too thick by twice what the axis has moved away.
    return Collars(-2 * towards, float(doubt_mm), float(distance_mm), 0.0)


@dataclass(frozen=True)
class FaceResult:
    """A face that was turned, carried under the dial by the slide that turned it."""

    hollow_mm: float
    uncertainty_mm: float
    diameter_mm: float
    lengths: ShopLengths = MILLIMETRES

    @property
    def allowed_mm(self) -> float:
        """How hollow a face of this size may be; it may not stand proud at all."""
        return HOLLOW_SHARE * self.diameter_mm

    def verdict(self) -> Verdict:
        """Whether the face is hollow by no more than is usual, and never proud."""
        found, doubt = round(self.hollow_mm, 5), self.uncertainty_mm
        return self.lengths.verdict(found, doubt, 0.0, round(self.allowed_mm, 4))

    @property
    def told(self) -> str:
        """What it says of the cross slide, and which way to swing it."""
        lean = float(cross_slide_mm_m(self.hollow_mm, self.diameter_mm))
        shape = "hollow" if self.hollow_mm >= 0 else "proud"
        return (
            f"The face is {shape} by {self.lengths.told(abs(self.hollow_mm), 4)}, half of what the dial "
            f"shows on the far side: the cross slide is {self.lengths.lean.told(abs(lean))} off square."
        )


def judge_face(*, far_side_mm, diameter_mm, doubt_mm, lengths=MILLIMETRES) -> FaceResult:
    """Take the reading on the far side of a face apart; the dial shows the error twice there."""
    hollow = float(face_hollow_mm(float(far_side_mm)))
    return FaceResult(hollow, float(doubt_mm) / 2, float(diameter_mm), lengths)


def judge_alignment(
    tests: Sequence[AlignmentTest], *, foot_base_mm: float, lengths: ShopLengths = MILLIMETRES
) -> AlignmentResult:
    """Tell the causes apart."""
    return AlignmentResult(tuple(tests), separate_causes(tests), foot_base_mm, lengths)


def judge_runout(
    rows: np.ndarray, *, reading_sd_mm: float, limit_mm: float | None, lengths: ShopLengths = MILLIMETRES
) -> RunoutResult:
    """Take lines of angle in degrees and reading in mm apart."""
    angle, reading = np.asarray(rows, dtype=float).T
    found = runout(angle, reading, lobes=LOBES)
    return RunoutResult(found, angle, reading, reading_sd_mm, limit_mm, lengths)


def _sure(estimate: Estimate) -> bool:
    """Whether its interval leaves out nothing at all."""
    low, high = estimate.interval
    return low > 0 or high < 0
