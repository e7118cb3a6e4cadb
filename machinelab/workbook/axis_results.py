"""What the readings of a carriage come to: backlash, lead, what is wrong, and what a thread needs of it."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd

from machinelab.accuracy.indicator import reading_sd_mm
from machinelab.errors import RangeError
from machinelab.leadscrew.axis_findings import AxisFinding, axis_findings, reversal_uncertainty_um
from machinelab.leadscrew.backlash import PeriodicError, Positioning, periodic_error, positioning
from machinelab.workbook.shop_lengths import MILLIMETRES, ShopLengths
from machinelab.workbook.verdict import Verdict, verdict

# For a machine whose owner has set no limit; common practice, no source.
USUAL_BACKLASH_MM = 0.15
USUAL_LEAD_ERROR_PPM = 133.0
UM = 1000.0


@dataclass(frozen=True)
class AxisLimits:
    """What the owner accepts, a usual figure where nothing is set, and how the shop writes lengths."""

    backlash_mm: float | None
    lead_error_ppm: float | None
    lengths: ShopLengths = MILLIMETRES

    @property
    def allowed_reversal_um(self) -> float:
        """Backlash to judge findings by."""
        return UM * (self.backlash_mm or USUAL_BACKLASH_MM)

    @property
    def allowed_lead_error_ppm(self) -> float:
        """Lead error to judge findings by."""
        return self.lead_error_ppm or USUAL_LEAD_ERROR_PPM


@dataclass(frozen=True)
class AxisResult:
    """An evaluated table with the dial's doubt and the owner's limits."""

    evaluated: Positioning
    up_um: np.ndarray
    down_um: np.ndarray
    reading_sd_um: float
    limits: AxisLimits
    periodic: PeriodicError | None = None

    @property
    def runs(self) -> int:
        """Runs each way."""
        return self.up_um.shape[1]

    @cached_property
    def reversal_uncertainty_um(self) -> float:
        """U of the backlash."""
        return reversal_uncertainty_um(self.evaluated, runs=self.runs, reading_sd_um=self.reading_sd_um)

    @cached_property
    def findings(self) -> tuple[AxisFinding, ...]:
        """What is wrong, worst first."""
        return axis_findings(
            self.evaluated,
            periodic=self.periodic,
            reversal_uncertainty_um=self.reversal_uncertainty_um,
            allowed_reversal_um=self.limits.allowed_reversal_um,
            allowed_lead_error_ppm=self.limits.allowed_lead_error_ppm,
        )

    @property
    def headline(self) -> str:
        """The conclusion, for the top of the figure."""
        lengths = self.limits.lengths
        play = f"The carriage has {lengths.told(self.evaluated.reversal_um / UM, 3)} of backlash"
        lead = f"the screw is {_far(self.evaluated.lead_error_ppm.value, lengths)}"
        worst = f"; first to look at: {self.findings[0].name}" if self.findings else ""
        return f"{play} and {lead}{worst}."

    @property
    def details(self) -> str:
        """What else the figure shows, for those who cannot see it."""
        one, told = self.evaluated, self.limits.lengths.told
        one_sided = max(one.repeatability_up_um, one.repeatability_down_um)
        return (
            f"It comes back to within {told(one_sided / UM, 3)} from one side and "
            f"{told(one.repeatability_um / UM, 3)} from both. {' '.join(one.notes)}"
        ).strip()

    def backlash_verdict(self) -> Verdict:
        """Whether the backlash is within what the owner accepts."""
        found = round(self.evaluated.reversal_um / UM, 5)
        doubt, lengths = self.reversal_uncertainty_um / UM, self.limits.lengths
        return lengths.verdict(found, doubt, None, self.limits.backlash_mm)

    def lead_verdict(self) -> Verdict:
        """Whether the lead error is within what the owner accepts."""
        found, limit = self.evaluated.lead_error_ppm, self.limits.lead_error_ppm
        ends = (None, None) if limit is None else (-round(limit, 1), round(limit, 1))
        return verdict(round(found.value, 3), found.expanded_uncertainty, *ends, unit="ppm")

    def table(self) -> pd.DataFrame:
        """The figures of the evaluation."""
        one, lengths = self.evaluated, self.limits.lengths
        found = {
            "backlash, the largest": one.reversal_um,
            "backlash, mean along the bed": abs(one.mean_reversal_um),
            "comes back, rising travel": one.repeatability_up_um,
            "comes back, falling travel": one.repeatability_down_um,
            "comes back, both ways": one.repeatability_um,
            "place, rising travel only": one.accuracy_up_um,
            "place, both ways": one.accuracy_um,
        }
        doubts = [lengths.number(self.reversal_uncertainty_um / UM, 3), *[""] * (len(found) - 1)]
        rows = [
            (name, lengths.number(size / UM, 3), doubt)
            for (name, size), doubt in zip(found.items(), doubts, strict=True)
        ]
        columns = ["", lengths.unit, f"doubt (k=2), {lengths.unit}"]
        return pd.DataFrame(rows, columns=columns).set_index("").rename_axis(None)


def evaluate_table(
    rows: np.ndarray,
    *,
    division_mm: float,
    limits: AxisLimits,
    screw_lead_mm: float | None,
    periodic: PeriodicError | None = None,
) -> AxisResult:
    """Evaluate lines of target, reading up and reading down, all in mm, one run a line."""
    targets, up, down = _by_target(np.asarray(rows, dtype=float))
    evaluated = positioning(targets, UM * up, UM * down, screw_lead_mm=screw_lead_mm)
    sd_um = UM * float(reading_sd_mm(division_mm))
    return AxisResult(evaluated, UM * up, UM * down, sd_um, limits, periodic)


def evaluate_close(rows: np.ndarray, *, screw_lead_mm: float) -> PeriodicError:
    """Evaluate lines of position and reading, both in mm, taken within a few turns of the screw."""
    position, reading = np.asarray(rows, dtype=float).T
    return periodic_error(position, UM * reading, screw_lead_mm=screw_lead_mm)


def _by_target(rows: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    targets, counts = np.unique(rows[:, 0], return_counts=True)
    if np.ptp(counts):
        few = targets[np.argmin(counts)]
        raise RangeError(
            f"The target {few:g} mm has {counts.min()} runs and another has {counts.max()}; give each target "
            "the same number of lines."
        )
    gathered = np.array([rows[rows[:, 0] == target, 1:] for target in targets])
    return targets, gathered[:, :, 0], gathered[:, :, 1]


def _far(error_ppm: float, lengths: ShopLengths) -> str:
    way = "long" if error_ppm > 0 else "short"
    return f"{lengths.slope(error_ppm)} too {way}"
