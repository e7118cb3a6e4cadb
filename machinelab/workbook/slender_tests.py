"""Push test, turned bar and steady rest on paper: what the readings of page 14 come to."""

from dataclasses import dataclass

import numpy as np

from machinelab.estimate import Estimate
from machinelab.work.bending import chuck_only_bend_mm
from machinelab.work.chuck_push import ChuckStiffness, chuck_stiffness, gripped_bend_mm, proven_force_n
from machinelab.work.holding import diameter_error_mm
from machinelab.work.steady import axis_shift_mm, finger_travel_mm, roller_circle_mm, seat_rise_mm
from machinelab.work.steady_offset import sideways_taper_mm, walk_out_bend_mm, walk_out_force_n
from machinelab.workbook.shop_lengths import MILLIMETRES, ShopLengths
from machinelab.workbook.slender_work import Grip, SlenderWork
from machinelab.workbook.verdict import Agreement, Verdict, agrees

UM = 1000.0
# Three fingers evenly spaced, two of them below: the usual frame.
CARRYING_DEG = (120.0, 240.0)
ROLLER_FROM_BOTTOM_DEG = 60.0
FINGER_CLEARANCE_MM = 1.0
SMALL_MOVE_MM = 0.1
POINTS = 81
# A give that a stiff chuck would hardly show.
NOT_STIFF = 1.1


@dataclass(frozen=True)
class PushResult:
    """A bar that was pushed at several overhangs."""

    overhang_mm: np.ndarray
    push_n: np.ndarray
    moved_mm: np.ndarray
    bar_mm: float
    found: ChuckStiffness
    lengths: ShopLengths = MILLIMETRES

    @property
    def grip(self) -> Grip:
        """The stiffness to reckon with."""
        return Grip(self.found.chuck_turning_nmm_rad.value, self.found.chuck_spring_n_mm.value)

    @property
    def out_mm(self) -> np.ndarray:
        """Overhangs to draw curves over."""
        return np.linspace(0.3 * self.overhang_mm.min(), 1.15 * self.overhang_mm.max(), POINTS)

    @property
    def stiff_mm_n(self) -> np.ndarray:
        """What the bar alone gives for each newton."""
        return chuck_only_bend_mm(1.0, self.out_mm, self.bar_mm)

    @property
    def fitted_mm_n(self) -> np.ndarray:
        """What bar and chuck give together."""
        return gripped_bend_mm(
            1.0,
            self.out_mm,
            self.bar_mm,
            chuck_turning_nmm_rad=self.grip.turning_nmm_rad,
            chuck_spring_n_mm=self.grip.spring_n_mm,
        )

    @property
    def times(self) -> float:
        """How many times more than the bar alone all gives, at the longest overhang."""
        longest = float(self.overhang_mm.max())
        both = gripped_bend_mm(
            1.0,
            longest,
            self.bar_mm,
            chuck_turning_nmm_rad=self.grip.turning_nmm_rad,
            chuck_spring_n_mm=self.grip.spring_n_mm,
        )
        return float(both / chuck_only_bend_mm(1.0, longest, self.bar_mm))

    @property
    def headline(self) -> str:
        """The conclusion, for the top of the figure."""
        at = f"At {self.lengths.told(self.overhang_mm.max(), 0)}"
        if self.times > NOT_STIFF:
            return (
                f"{at} the end gives {self.times:.1f} times what the bar alone would: the chuck is not stiff."
            )
        return f"{at} the bar's own bending explains what the dial showed."

    @property
    def details(self) -> str:
        """What else the figure shows."""
        turning, spring = self.found.chuck_turning_nmm_rad, self.found.chuck_spring_n_mm
        return (
            f"Against leaning in the jaws {_stiffness(turning, 'N m/rad', 1000)}; sideways "
            f"{_stiffness(spring, 'N/µm', UM)}; {self.lengths.small.told(self.found.push_unexplained_mm)} of "
            "the worst reading is left over."
        )


@dataclass(frozen=True)
class TurnedBar:
    """A bar that was turned, and its diameters along it."""

    work: SlenderWork
    at_mm: np.ndarray
    diameter_mm: np.ndarray
    uncertainty_mm: float
    force_n: Estimate

    @property
    def along_mm(self) -> np.ndarray:
        """Places to draw curves over."""
        return np.linspace(0, self.work.length_mm, POINTS)

    @property
    def thinnest_mm(self) -> float:
        """The diameter that a bar which does not give would have come to, by the fit."""
        gives = diameter_error_mm(self.work.bar, 1.0, self.at_mm)
        return float(np.mean(self.diameter_mm - self.force_n.value * gives))

    @property
    def predicted_mm(self) -> np.ndarray:
        """Error that the page predicts along the bar."""
        return diameter_error_mm(self.work.bar, self.work.force_n, self.along_mm)

    @property
    def measured_mm(self) -> np.ndarray:
        """Error that was measured."""
        return self.diameter_mm - self.thinnest_mm

    @property
    def spread_mm(self) -> float:
        """Thickest less thinnest."""
        return float(np.ptp(self.diameter_mm))

    @property
    def headline(self) -> str:
        """The conclusion, for the top of the figure."""
        word = "agrees with" if self.agreement().agrees else "does not agree with"
        spread = self.work.lengths.told(self.spread_mm, 3)
        return (
            f"The bar is {spread} thicker at its worst; its curve tells of "
            f"{self.force_n.value:.0f} N, which {word} the {self.work.force_n:.0f} N reckoned from the cut."
        )

    @property
    def details(self) -> str:
        """What else the figure shows."""
        chuck = "with the chuck as it was pushed" if self.work.grip.measured else "with a stiff chuck"
        return f"Reckoned {chuck}, held {self.work.holding}."

    def agreement(self) -> Agreement:
        """Whether the measured force agrees with the one predicted."""
        doubt = max(self.work.force_doubt * self.work.force_n, 0.01)
        return agrees(
            round(self.force_n.value, 2),
            uncertainty=self.force_n.expanded_uncertainty,
            predicted=round(self.work.force_n, 1),
            predicted_uncertainty=doubt,
            unit="N",
        )

    def verdict(self) -> Verdict:
        """Whether the bar keeps what is allowed."""
        doubt = float(np.sqrt(2) * self.uncertainty_mm)
        return self.work.lengths.verdict(round(self.spread_mm, 5), doubt, None, self.work.allowed_mm)


@dataclass(frozen=True)
class SteadySetting:
    """How to set the steady rest for a diameter, and what a wrong setting does."""

    diameter_mm: float
    roller_mm: float
    steady_mm: float
    offset_mm: float
    cut_mm: float
    elasticity_n_mm2: float
    lengths: ShopLengths = MILLIMETRES

    @property
    def told(self) -> list[str]:
        """The setting and its consequences, in words."""
        told, unit = self.lengths.told, self.lengths.unit
        by, twice = (self.lengths.short(times * SMALL_MOVE_MM, 1) for times in (1, 2))
        return [
            f"Middles of the tips stand {told(self.circle_mm, 2)} from the axis.",
            f"One low finger moved in by {by} moves the axis {by} up and "
            f"{told(abs(self.shift.across_mm), 3)} aside; both low ones, {twice} straight up.",
            f"Work 1 {unit} thicker lies {float(self.rise_mm):.2f} {unit} too high: set it again for each "
            "diameter.",
            f"{told(abs(self.offset_mm), 2)} to the side, work held loosely in the chuck: a taper of "
            f"{told(abs(self.taper_mm), 3)} on the diameter over {told(self.cut_mm, 0)}.",
            f"The same, work held fast: it is bent, {told(abs(self.bend_mm), 3)} half way, and pulls with "
            f"{self.pull_n:.0f} N, turned over at each turn: it walks out of the chuck.",
            "Up or down by as much changes the diameter a hundred times less.",
        ]

    @property
    def circle_mm(self) -> float:
        """Radius on which the middles of the rollers stand."""
        return roller_circle_mm(self.diameter_mm, self.roller_mm)

    @property
    def shift(self):
        """Where the axis goes when one carrying finger is moved in."""
        return axis_shift_mm(CARRYING_DEG, (SMALL_MOVE_MM, 0.0))

    @property
    def rise_mm(self) -> float:
        """How much higher work lies that is a millimetre thicker."""
        return seat_rise_mm(0.5, self.diameter_mm / 2, self.roller_mm, ROLLER_FROM_BOTTOM_DEG)

    @property
    def taper_mm(self) -> float:
        """Taper over the cut."""
        return float(sideways_taper_mm(self.offset_mm, self.steady_mm, self.cut_mm))

    @property
    def bend_mm(self) -> float:
        """Bow half way to the chuck."""
        return float(walk_out_bend_mm(self.offset_mm, self.steady_mm, self.steady_mm / 2))

    @property
    def pull_n(self) -> float:
        """Force that bends it."""
        return float(
            walk_out_force_n(self.offset_mm, self.steady_mm, self.diameter_mm, self.elasticity_n_mm2)
        )


def judge_push(
    rows: np.ndarray, *, bar_mm: float, reading_sd_mm: float, lengths: ShopLengths = MILLIMETRES
) -> PushResult:
    """Take lines of overhang in mm, force in N and movement in mm; the bar is of steel."""
    out, push, moved = np.asarray(rows, dtype=float).T
    found = chuck_stiffness(out, push, moved, bar_diameter_mm=bar_mm, reading_sd_mm=reading_sd_mm)
    return PushResult(out, push, moved, bar_mm, found, lengths)


def judge_turned(rows: np.ndarray, *, work: SlenderWork, uncertainty_mm: float) -> TurnedBar:
    """Take lines of place and diameter, both in mm."""
    at, diameter = np.asarray(rows, dtype=float).T
    force = proven_force_n(work.bar, at, diameter, reading_sd_mm=uncertainty_mm / 2)
    return TurnedBar(work, at, diameter, uncertainty_mm, force)


def travel_needed_mm(smallest_mm: float, largest_mm: float) -> float:
    """How far a finger of the steady rest must move."""
    return float(finger_travel_mm(largest_mm, smallest_mm, FINGER_CLEARANCE_MM))


def _stiffness(stiffness: Estimate, unit: str, parts: float) -> str:
    low, high = (end / parts for end in stiffness.interval)
    if not np.isfinite(stiffness.value):
        return f"more than {low:.3g} {unit}, too stiff for this test to tell"
    upper = f"to {_rounded(high)}" if np.isfinite(high) else "upwards"
    return f"{_rounded(stiffness.value / parts)} {unit} (95 %: {_rounded(low)} {upper})"


def _rounded(stiffness: float) -> str:
    """Three figures are as many as a push test can tell."""
    return f"{float(f'{stiffness:.3g}'):,.0f}".replace(",", " ")
