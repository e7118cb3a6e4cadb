"""What page 07 finds: the ratio of each thread beside the screw's own error, and a measured trial."""

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from machinelab.errors import RangeError
from machinelab.leadscrew.gearing import pitch_error_ppm
from machinelab.leadscrew.lead_accuracy import NEGLIGIBLE_SHARE, lead_error_mm
from machinelab.units import show
from machinelab.workbook.measured import value_with_uncertainty
from machinelab.workbook.panels.gearing import fraction_text

LENGTH_MM = 100
UM_PER_THOU = 25.4
SMALLEST_UM = 0.01
# Beyond this share of its lead no screw is wrong; something else was set or counted.
LARGEST_SHARE = Fraction(1, 50)


@dataclass(frozen=True)
class ThreadRatio:
    """One thread of the machine and the ratio that it will be cut with."""

    name: str
    lead_mm: Fraction
    wanted: Fraction
    used: Fraction
    error_ppm: float

    @property
    def remark(self) -> str:
        """What the ratio does to the thread, beside the figure."""
        if not self.error_ppm:
            return f"exact: {fraction_text(self.used)}"
        return f"{fraction_text(self.used)}:\n{over_length(self.error_ppm)} in {LENGTH_MM} mm"


@dataclass(frozen=True)
class ThreadRatios:
    """All threads of the machine beside the screw's own error."""

    threads: tuple[ThreadRatio, ...]
    screw_error_ppm: float

    @property
    def harmless_ppm(self) -> float:
        """The error below which the screw alone sets the limit."""
        return self.screw_error_ppm * float(NEGLIGIBLE_SHARE)

    @property
    def visible(self) -> tuple[ThreadRatio, ...]:
        """Threads whose ratio shows beside the screw; with an unknown screw every inexact one."""
        limit = 0.0 if np.isnan(self.harmless_ppm) else self.harmless_ppm
        return tuple(thread for thread in self.threads if abs(thread.error_ppm) > limit)

    @property
    def headline(self) -> str:
        """The conclusion, for the top of the figure."""
        if all(thread.error_ppm == 0 for thread in self.threads):
            return "Every thread on the list gets its exact ratio."
        if not self.visible:
            return "Every thread is exact, or so near that only the screw's own error counts."
        names = ", ".join(thread.name for thread in self.visible)
        if np.isnan(self.screw_error_ppm):
            return f"Not exact: {names}. How much that weighs is open while the screw's error is unknown."
        return f"The ratio shows beside the screw's own error in: {names}."


@dataclass(frozen=True)
class LeadTrial:
    """A measured travel, and the lead error that it tells."""

    thread: ThreadRatio
    turns: Fraction
    travel_mm: float
    error_ppm: float
    uncertainty_ppm: float


def lead_trial(*, thread: ThreadRatio, turns: Fraction, travel_mm: Fraction, doubt_mm: Fraction) -> LeadTrial:
    """Work out the lead error from a travel over so many turns."""
    wanted = turns * abs(thread.lead_mm)
    if abs(travel_mm - wanted) > LARGEST_SHARE * wanted:
        raise RangeError(
            f"{float(turns):g} turns of {thread.name} should travel {show(wanted, 'mm')}, not "
            f"{show(travel_mm, 'mm')}. Is another thread set, or were the turns miscounted?"
        )
    return LeadTrial(
        thread=thread,
        turns=turns,
        travel_mm=float(travel_mm),
        error_ppm=pitch_error_ppm(travel_mm, wanted),
        uncertainty_ppm=float(1_000_000 * doubt_mm / wanted),
    )


def told(trial: LeadTrial) -> str:
    """Say a trial in one plain line."""
    lead = show(abs(trial.thread.lead_mm), "mm", kind="lead")
    error = value_with_uncertainty(trial.error_ppm, trial.uncertainty_ppm, "ppm")
    return (
        f"{float(trial.turns):g} turns of {trial.thread.name} ({lead}) moved the carriage "
        f"{trial.travel_mm:g} mm: the lead is out by {error}."
    )


def over_length(error_ppm: float) -> str:
    """Write an error of pitch as what it comes to over the length that all pages use."""
    if np.isnan(error_ppm):
        return "not known"
    out_um = abs(lead_error_mm(error_ppm, LENGTH_MM)) * 1000
    if 0 < out_um < SMALLEST_UM:
        return f"under {SMALLEST_UM} µm"
    return f"{out_um:.3g} µm · {out_um / UM_PER_THOU:.2g} thou" if out_um else "nothing"


def measured_over_length(trial: LeadTrial | None) -> str:
    """Write what a trial measured over the same length, with its uncertainty."""
    if trial is None:
        return "not measured yet"
    out, doubt = (1000 * lead_error_mm(ppm, LENGTH_MM) for ppm in (trial.error_ppm, trial.uncertainty_ppm))
    return value_with_uncertainty(out, doubt, "µm")
