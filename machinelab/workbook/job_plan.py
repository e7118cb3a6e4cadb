"""A job on a machine: which speed to set and what sets it, whether the drive carries it, how to feed it."""

import math
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

import numpy as np

from machinelab.leadscrew.feed import independent_feed_mm_min, sagged_feed_mm
from machinelab.leadscrew.feed_knob import even_knob_step_share
from machinelab.work.cutting_speeds import CuttingSpeed, cutting_speed_m_min, speed_for_cutting_rpm
from machinelab.work.finish import (
    ExpectedRoughness,
    expected_roughness,
    feed_for_finish_mm,
    largest_finish_feed_mm,
    mean_roughness_um,
)
from machinelab.workbook.job import DRILLING, FACING, PARTING, THREADING, Job
from machinelab.workbook.job_machine import USUAL_KNOB_BITS, JobMachine

TOOL, SLOWEST = "the tool", "the slowest steady speed"
# A knob whose count is more than this of the feed shows in the finish; common practice, no source.
COARSE_KNOB_SHARE = 0.02


@dataclass(frozen=True)
class JobPlan:
    """What a job comes to on a machine."""

    job: Job
    machine: JobMachine

    @cached_property
    def wanted(self) -> CuttingSpeed:
        """Cutting speeds by the tables."""
        return self.job.speed_wanted

    def wanted_rpm(self, diameter_mm):
        """Spindle speeds by the tables at a diameter: low, typical, high."""
        speeds = (self.wanted.low_m_min, self.wanted.typical_m_min, self.wanted.high_m_min)
        return tuple(speed_for_cutting_rpm(speed, diameter_mm=diameter_mm) for speed in speeds)

    @cached_property
    def band_rpm(self) -> tuple[float, float, float]:
        """The same at the job's own diameter."""
        low, typical, high = self.wanted_rpm(float(self.job.diameter_mm))
        return float(low), float(typical), float(high)

    @property
    def speed_rpm(self) -> float:
        """The speed to set: the typical one, within what the machine can do."""
        return max(min(self.band_rpm[1], self.machine.top_rpm), self.machine.lowest_rpm)

    @property
    def set_by(self) -> str:
        """What sets that speed."""
        typical = self.band_rpm[1]
        if typical > self.machine.top_rpm:
            return self.machine.top_why
        return SLOWEST if typical < self.machine.lowest_rpm else TOOL

    @property
    def too_fast_for_the_tool(self) -> bool:
        """Whether even the slowest steady speed is above what the tool bears."""
        return self.machine.lowest_rpm > self.band_rpm[2]

    @property
    def cutting_speed_m_min(self) -> float:
        """Cutting speed at the speed to set."""
        return float(cutting_speed_m_min(self.speed_rpm, diameter_mm=float(self.job.diameter_mm)))

    @cached_property
    def for_hours_nm(self) -> float:
        """Torque for hours at that speed; NaN while the drive is not known."""
        return float(self.machine.for_hours_nm(self.speed_rpm))

    @cached_property
    def for_a_short_time_nm(self) -> float:
        """Torque for a short time at that speed."""
        return float(self.machine.for_a_short_time_nm(self.speed_rpm))

    @property
    def torque_known(self) -> bool:
        """Whether both what is asked and what is there can be told."""
        return not (math.isnan(self.job.torque_nm) or math.isnan(self.for_hours_nm))

    @property
    def most_deep(self) -> float:
        """The deepest cut, or largest drill, that the drive carries for hours."""
        return float(self.job.most_deep(self.for_hours_nm, float(self.job.feed_mm)))

    @property
    def torque_told(self) -> str:
        """Whether the drive carries the cut, in words."""
        if not self.torque_known:
            return "Whether the drive carries it cannot be told: " + (
                "there is no figure for this work or material."
                if math.isnan(self.job.torque_nm)
                else "the machine file lacks what page 03 needs."
            )
        asks = f"It asks {self.job.torque_nm:.2g} N m, the tables' doubt on top"
        hours = f"{self.for_hours_nm:.2g} N m for hours"
        if self.job.torque_nm <= self.for_hours_nm:
            return f"{asks}; the drive gives {hours}."
        most = self._most_words
        if self.job.torque_nm <= self.for_a_short_time_nm:
            return f"{asks}: for minutes only, since the drive gives {hours}.{most}"
        return f"{asks}: too much. The drive gives {self.for_a_short_time_nm:.2g} N m at the most.{most}"

    @property
    def _most_words(self) -> str:
        what = {DRILLING: "the largest drill", PARTING: "the widest blade"}.get(
            self.job.operation, "the deepest cut"
        )
        return (
            ""
            if math.isnan(self.most_deep)
            else f" For hours {what} is {self.machine.lengths.short(self.most_deep, 2)}."
        )

    @property
    def carries(self) -> str:
        """The same in two or three words, for a headline."""
        if not self.torque_known:
            return "torque not known"
        if self.job.torque_nm <= self.for_hours_nm:
            return "the drive carries it for hours"
        short = self.job.torque_nm <= self.for_a_short_time_nm
        return "the drive carries it for minutes only" if short else "too heavy for the drive"

    @property
    def knob_mm_min(self) -> float:
        """What to set on the knob of an independent feed."""
        return float(independent_feed_mm_min(float(self.job.feed_mm), speed_rpm=self.speed_rpm))

    @property
    def knob_in_reach(self) -> bool | None:
        """Whether the knob reaches it; None while its range is not known."""
        low, high = self.machine.slowest_mm_min, self.machine.fastest_mm_min
        if math.isnan(low) or math.isnan(high):
            return None
        return low <= self.knob_mm_min <= high

    @property
    def knob_step_share(self) -> float:
        """One count of an even knob over the feed; NaN while its range is not known."""
        if math.isnan(self.machine.fastest_mm_min):
            return math.nan
        return float(
            even_knob_step_share(
                self.knob_mm_min, fastest_mm_min=self.machine.fastest_mm_min, knob_bits=USUAL_KNOB_BITS
            )
        )

    @property
    def ratio(self) -> tuple[Fraction, float] | None:
        """Ratio and error of a feed that follows the spindle; None while the gearing is not known."""
        gearing = self.machine.gearing
        return None if gearing is None else gearing.ratio(Fraction(self.job.feed_mm))

    @property
    def reckoned_sag_share(self) -> float:
        """Part of its speed that the spindle loses if the drive makes up for nothing, at most 0.9."""
        if not self.torque_known:
            return math.nan
        return min(self.machine.sag_rpm(self.job.torque_nm) / self.speed_rpm, 0.9)

    def sagged_feed_mm(self, sag_share):
        """Feed of a carriage with its own knob while the spindle sags."""
        return sagged_feed_mm(float(self.job.feed_mm), sag_share=sag_share)

    @property
    def least_roughness_um(self) -> float:
        """Mean roughness by feed and nose alone; NaN where they do not shape the surface."""
        if not self.nose_shapes_it:
            return math.nan
        return float(
            mean_roughness_um(float(self.job.feed_mm), nose_radius_mm=float(self.job.nose_radius_mm))
        )

    @property
    def expected(self) -> ExpectedRoughness:
        """Between which figures the real roughness is likely to lie."""
        return expected_roughness(self.least_roughness_um, cutting_speed_m_min=self.cutting_speed_m_min)

    @property
    def nose_shapes_it(self) -> bool:
        """Whether the nose alone shapes the surface at this feed."""
        return self.job.leaves_a_finish and float(self.job.feed_mm) <= self.coarsest_mm

    @property
    def coarsest_mm(self) -> float:
        """Feed beyond which the tool's straight edges cut too."""
        return float(largest_finish_feed_mm(float(self.job.nose_radius_mm)))

    @property
    def finish_feed_mm(self) -> float:
        """The coarsest feed that leaves the wanted finish even with a built-up edge."""
        worst = float(expected_roughness(1.0, cutting_speed_m_min=self.cutting_speed_m_min).most_roughness_um)
        feed = feed_for_finish_mm(
            float(self.job.roughness_um) / worst, nose_radius_mm=float(self.job.nose_radius_mm)
        )
        return float(min(feed, self.coarsest_mm))

    @property
    def finish_told(self) -> str:
        """What the feed does to the surface, in words."""
        feed, rubs, length = float(self.job.feed_mm), self.job.rubs_below_mm, self.machine.lengths
        if not self.job.leaves_a_finish:
            return f"In {self.job.operation} the feed does not shape the surface as a nose does."
        if not self.nose_shapes_it:
            return (
                f"The feed is above {length.short(self.coarsest_mm, 2)}, 0.8 of the nose: ridges and a torn "
                "surface. Feed finer or take a larger nose."
            )
        found = self.expected
        told = (
            f"Ra {length.fine(self.least_roughness_um)} {length.fine_unit} by feed and nose, likely "
            f"{length.fine(found.least_roughness_um)} to {length.fine(found.most_roughness_um)}"
        )
        if feed < rubs:
            return f"{told}, and worse: below a feed of {length.short(rubs)} it rubs rather than cuts."
        if float(found.most_roughness_um) <= float(self.job.roughness_um):
            return f"{told}: as fine as wanted."
        if self.finish_feed_mm < rubs:
            return (
                f"{told}; the wanted {length.fine(self.job.roughness_um)} would take a feed at which the "
                "tool rubs. Take a larger nose, or finish it otherwise."
            )
        finer = length.short(self.finish_feed_mm, 2)
        return f"{told}; for {length.fine(self.job.roughness_um)} feed {finer} a turn."

    @property
    def title(self) -> str:
        """The job in a few words, as the shop writes lengths."""
        name = self.job.named(self.machine.lengths.short(self.job.diameter_mm))
        return name[0].upper() + name[1:]

    @property
    def headline(self) -> str:
        """The conclusion, for the top of the figure."""
        name, rim = self.title, self.machine.lengths.rim.told(self.cutting_speed_m_min)
        if self.too_fast_for_the_tool:
            return (
                f"{name}: no steady speed is slow enough for the tool; at {self.speed_rpm:.0f} rpm it "
                f"runs at {rim}."
            )
        why = "" if self.set_by == TOOL else f", set by {self.set_by}"
        return f"{name}: {self.speed_rpm:.0f} rpm ({rim}{why}); {self.carries}."

    @property
    def details(self) -> str:
        """What else the speed figure shows, for those who cannot see it."""
        low, typical, high = self.band_rpm
        return (
            f"The tables give {low:.0f} to {high:.0f} rpm, typically {typical:.0f}. The machine turns from "
            f"{self.machine.lowest_rpm:.0f} to {self.machine.top_rpm:.0f} rpm ({self.machine.top_why}). "
            f"{self.torque_told}"
        )

    @property
    def speed_told(self) -> str:
        """The speed to set and what to mind, in plain words."""
        told = [f"Set {self.speed_rpm:.0f} rpm; it is set by {self.set_by}.", self.torque_told]
        if self.job.operation == FACING:
            told.append("Facing: the torque and the cutting speed fall to nothing at the middle.")
        if self.job.operation == THREADING:
            told.append("Up to a shoulder the hand is slower than the tool: page 10 gives that speed.")
        if self.too_fast_for_the_tool:
            told.append("The tool will not last: a carbide tool, or a slower belt (page 03).")
        return " ".join(told)

    @property
    def feed_told(self) -> str:
        """How to set the feed, in plain words."""
        if self.job.operation == THREADING:
            return "In threading the feed is the pitch, and only the spindle may drive it (page 07)."
        length = self.machine.lengths
        told = [
            f"With a knob of its own {length.short(self.job.feed_mm)} a turn is "
            f"{length.travel(self.knob_mm_min)}, at this speed only."
        ]
        if self.knob_in_reach is False:
            told.append("The knob does not reach that.")
        elif self.knob_step_share > COARSE_KNOB_SHARE:
            told.append(f"One count of its scale is {100 * self.knob_step_share:.1f} % of it: it will jump.")
        if self.ratio is not None:
            used, error = self.ratio
            off = "exactly" if not error else f"within {abs(error):.2g} ppm"
            told.append(
                f"Following the spindle it is {used.numerator}/{used.denominator} steps an edge, {off}, "
                "whatever the speed."
            )
        return " ".join(told)

    @property
    def feed_headline(self) -> str:
        """The conclusion on feed and finish."""
        length = self.machine.lengths
        feed = f"{length.short(self.job.feed_mm)} a turn"
        if not self.job.leaves_a_finish:
            return f"{feed}: {self.carries}; a feed that follows the spindle does not sag."
        if not self.nose_shapes_it:
            return f"{feed} is too coarse for a nose of {length.short(self.job.nose_radius_mm)}."
        most = float(self.expected.most_roughness_um)
        kept = "keeps" if most <= float(self.job.roughness_um) else "may miss"
        return (
            f"{feed} {kept} the wanted Ra {length.fine(self.job.roughness_um)} {length.fine_unit} (likely up "
            f"to {length.fine(most)}); {self.carries}."
        )


def feeds_shown(job: Job) -> np.ndarray:
    """The feeds over which a figure is drawn, wide enough for the job."""
    return np.geomspace(0.01, max(1.0, 2 * float(job.feed_mm)), 120)
