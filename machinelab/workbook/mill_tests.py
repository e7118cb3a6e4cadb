"""What the readings of page 15 come to: the head's lean, which spindle the meter shows, the run-down."""

from dataclasses import dataclass

import numpy as np

from machinelab.accuracy.tram import Tram, dish_mm, step_mm, tram
from machinelab.workbook.measured import value_with_uncertainty
from machinelab.workbook.shop_lengths import MILLIMETRES, ShopLengths
from machinelab.workbook.verdict import Agreement, Verdict, agrees, verdict

PPM_PER_MM_M = 1000.0
# From right over back, as the dial is swept.
SIDES = ("right", "back right", "back", "back left", "left", "front left", "front", "front right")
WAVE_POINTS = 181
# Grease on a cold day, brushes after bedding in; common practice, no source.
QUARTER_MORE = 1.25


@dataclass(frozen=True)
class TramResult:
    """A swept dial with the owner's limit."""

    found: Tram
    angle_deg: np.ndarray
    reading_mm: np.ndarray
    radius_mm: float
    limit_ppm: float | None
    tap_from_pivot_mm: float
    lengths: ShopLengths = MILLIMETRES

    @property
    def lean_mm_m(self) -> float:
        """How far the spindle leans, whichever way."""
        return float(np.hypot(self.found.lean_right_mm_m.value, self.found.lean_back_mm_m.value))

    @property
    def uncertainty_mm_m(self) -> float:
        """U of it, the larger of the two directions."""
        one = self.found
        return max(one.lean_right_mm_m.expanded_uncertainty, one.lean_back_mm_m.expanded_uncertainty)

    @property
    def proven(self) -> bool:
        """Whether there is a lean at all."""
        return self.lean_mm_m > self.uncertainty_mm_m

    @property
    def side(self) -> str:
        """The side on which the dial reads most."""
        return side_of(self.found.high_deg)

    @property
    def other_side(self) -> str:
        """The side across from it."""
        return side_of(self.found.high_deg + 180)

    @property
    def falls_by_mm(self) -> float:
        """By how much the high reading must fall."""
        return self.lean_mm_m / 1000 * self.radius_mm

    @property
    def tap_mm(self) -> float:
        """How far the head moves where it is tapped."""
        return self.lean_mm_m / 1000 * self.tap_from_pivot_mm

    @property
    def wave(self) -> tuple[np.ndarray, np.ndarray]:
        """The fitted reading round the sweep."""
        angle = np.linspace(0, 360, WAVE_POINTS)
        middle = float(np.mean(self.reading_mm))
        return angle, middle + self.falls_by_mm * np.cos(np.radians(angle - self.found.high_deg))

    @property
    def headline(self) -> str:
        """The conclusion, for the top of the figure."""
        leans = self.lengths.slope(PPM_PER_MM_M * self.lean_mm_m)
        if not self.proven:
            return f"No lean is proven: {leans} is within the dial's doubt."
        return (
            f"The head leans {leans} of table, its top to the {self.side}: tap it to the {self.other_side}."
        )

    @property
    def details(self) -> str:
        """What else the figure shows."""
        told = self.lengths.told
        return (
            f"In all the dial swings {told(self.found.total_mm, 3)}; {told(self.found.uneven_mm, 3)} of the "
            "worst reading is no lean but the table, a chip, or the dial."
        )

    @property
    def cure(self) -> str:
        """What to do, in words."""
        if not self.proven:
            return "Leave the head as it is; a larger sweep or a finer dial would tell more."
        falls, tapped = (self.lengths.told(size, 3) for size in (self.falls_by_mm, self.tap_mm))
        return (
            f"Set the dial to the {self.side}, loosen the head a little, and tap its top to the "
            f"{self.other_side} until the reading has fallen by {falls}, half of what it swings: {tapped} "
            "where you tap. Clamp, sweep again: clamping moves it."
        )

    def face_told(self, *, cutter_mm: float, width_mm: float, step_over_mm: float) -> str:
        """What the lean does to a milled face."""
        along, across = abs(self.found.lean_right_mm_m.value), abs(self.found.lean_back_mm_m.value)
        dish = float(dish_mm(along, cutter_mm, min(width_mm, cutter_mm)))
        short, small = self.lengths.short, self.lengths.small.told
        return (
            f"A {short(cutter_mm)} cutter fed along X mills a face {small(dish)} hollow over "
            f"{short(min(width_mm, cutter_mm))}, and leaves steps of {small(step_mm(across, step_over_mm))} "
            "from pass to pass."
        )

    def verdict(self) -> Verdict:
        """Whether the head stands as square as the owner wants."""
        limit = None if self.limit_ppm is None else round(self.limit_ppm, 1)
        value, doubt = (round(PPM_PER_MM_M * part, 2) for part in (self.lean_mm_m, self.uncertainty_mm_m))
        return verdict(value, doubt, None, limit, unit="ppm")


@dataclass(frozen=True)
class MeterCheck:
    """The display beside turns of the mill spindle that were counted."""

    shown_rpm: float
    counted_rpm: float
    uncertainty_rpm: float
    resolution_rpm: float

    def agreement(self) -> Agreement:
        """Whether the meter shows the mill spindle."""
        return agrees(
            round(self.shown_rpm, 3),
            uncertainty=self.resolution_rpm,
            predicted=round(self.counted_rpm, 1),
            predicted_uncertainty=self.uncertainty_rpm,
            unit="rpm",
        )

    @property
    def told(self) -> str:
        """What that means, in words."""
        found = self.agreement()
        if found.agrees:
            return f"The meter shows the mill spindle: {found.sentence}"
        share = self.shown_rpm / self.counted_rpm
        return (
            f"The meter does not show the mill spindle: {found.sentence} It shows {share:.3g} times as much: "
            "either the selector leaves the lathe's pick-up connected, or the marks a turn are the lathe's."
        )


@dataclass(frozen=True)
class StopCheck:
    """The head's free run-down against the timer that lets hands or the other direction in."""

    stop_s: float
    uncertainty_s: float
    from_rpm: float
    timer_s: float | None
    how: str

    @property
    def took(self) -> str:
        """Speed and time, in words."""
        took = value_with_uncertainty(self.stop_s, self.uncertainty_s, "s")
        return f"From {self.from_rpm:.0f} rpm the head runs on for {took} ({self.how})."

    @property
    def told(self) -> str:
        """What it means for stopping, in words."""
        told = self.took
        if self.timer_s is None:
            return f"{told} Say how long the standstill timer waits, to compare."
        if self.stop_s + self.uncertainty_s <= self.timer_s:
            return f"{told} The timer waits {self.timer_s:g} s, longer than that."
        waits = f"waits only {self.timer_s:g} s" if self.timer_s else "waits for nothing"
        longer_s = QUARTER_MORE * (self.stop_s + self.uncertainty_s)
        return (
            f"{told} Caution: the control box {waits}, so the head may still turn when the other direction "
            f"is let through. Let it wait {longer_s:.0f} s or more: the head has no brake, and a quarter "
            "more allows for a colder day."
        )

    def verdict(self) -> Verdict:
        """Whether it stands before the timer runs out; without a timer there is nothing to judge by."""
        return verdict(round(self.stop_s, 3), self.uncertainty_s, None, self.timer_s or None, unit="s")


def judge_tram(
    rows: np.ndarray,
    *,
    radius_mm: float,
    reading_sd_mm: float,
    limit_ppm: float | None,
    tap_from_pivot_mm: float,
    lengths: ShopLengths = MILLIMETRES,
) -> TramResult:
    """Take lines of angle in degrees and reading in mm."""
    angle, reading = np.asarray(rows, dtype=float).T
    found = tram(angle, reading, sweep_radius_mm=radius_mm, reading_sd_mm=reading_sd_mm)
    return TramResult(found, angle, reading, radius_mm, limit_ppm, tap_from_pivot_mm, lengths)


def side_of(angle_deg: float) -> str:
    """The side of the table that an angle of the sweep points to, in words."""
    return SIDES[round((angle_deg % 360) / 45) % len(SIDES)]
