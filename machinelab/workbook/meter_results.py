"""What the two tests of the RPM meter come to: its lag by a sudden change, its error at settled speeds."""

from dataclasses import dataclass

import numpy as np

from machinelab.estimate import Estimate
from machinelab.spindle.meter_calibration import MeterCalibration, calibrate
from machinelab.spindle.meter_step import MeterStep
from machinelab.workbook.measured import with_interval
from machinelab.workbook.verdict import Verdict, verdict


@dataclass(frozen=True)
class StepResult:
    """A fitted step, and the lag that the machine file has."""

    fit: MeterStep
    filed_lag_s: float | None

    @property
    def headline(self) -> str:
        """The conclusion, for the top of the figure."""
        filed = "" if self.filed_lag_s is None else f"; the machine file has {self.filed_lag_s:g} s"
        return f"The display lags by {with_interval(self.fit.lag_s)} s{filed}."

    @property
    def details(self) -> str:
        """What else the figure shows, for those who cannot see it."""
        before, after = (round(level.value) for level in (self.fit.before_rpm, self.fit.after_rpm))
        return f"From {before} to {after} rpm. {' '.join(self.fit.notes)}"


@dataclass(frozen=True)
class ScaleResult:
    """Readings at settled speeds, the line through them, and the error that is allowed."""

    found: MeterCalibration
    true_rpm: np.ndarray
    shown_rpm: np.ndarray
    allowed_percent: float | None

    @property
    def worst(self) -> tuple[float, Estimate]:
        """The tested speed at which the line is furthest off, and its error there in per cent."""
        speeds = np.array([np.min(self.true_rpm), np.max(self.true_rpm)])
        # Scale and zero err together; adding their doubts is on the careful side.
        doubts = 100 * (
            self.found.meter_scale.expanded_uncertainty + self.found.zero_rpm.expanded_uncertainty / speeds
        )
        errors = 100 * self.found.error_share(speeds)
        place = int(np.argmax(np.abs(errors) + doubts))
        return float(speeds[place]), Estimate.symmetric(float(errors[place]), float(doubts[place]))

    @property
    def headline(self) -> str:
        """The conclusion, for the top of the figure."""
        speed, error = self.worst
        doubt = f"give or take {error.expanded_uncertainty:.1g} %"
        return (
            f"The meter is furthest off at {speed:.0f} rpm: {error.value:+.2f} % of the true speed, {doubt}."
        )

    @property
    def details(self) -> str:
        """What else the figure shows, for those who cannot see it."""
        found = self.found
        return (
            f"Scale {with_interval(found.meter_scale)}, zero {with_interval(found.zero_rpm)} rpm, largest "
            f"difference from the line {found.largest_residual_rpm:.1f} rpm. {' '.join(found.notes)}"
        )

    def verdict(self) -> Verdict:
        """Whether the meter is as true as the owner wants."""
        _, error = self.worst
        limit = self.allowed_percent
        low = None if limit is None else -limit
        return verdict(round(error.value, 4), error.expanded_uncertainty, low, limit, unit="%")


def scale_result(
    table: np.ndarray, *, resolution_rpm: float | None, allowed_percent: float | None
) -> ScaleResult:
    """Work out a typed table of true and shown speeds."""
    true, shown = table.T
    found = calibrate(true, shown, resolution_rpm=resolution_rpm or 0.0)
    return ScaleResult(found, true, shown, allowed_percent)
