"""Page 09: which speed and which feed suit today's job on this machine."""

from collections.abc import Callable
from functools import partial, wraps
from typing import ClassVar

import pandas as pd

from machinelab.leadscrew.feed import independent_feed_mm_min
from machinelab.units import Field, show
from machinelab.work.cutting_speeds import speed_for_cutting_rpm
from machinelab.work.finish import mean_roughness_um
from machinelab.workbook.carriage_feed import carriage_feed
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.figures.job import JobFeeds, JobSpeeds
from machinelab.workbook.job import TURNED, operations
from machinelab.workbook.job_machine import JobMachine, job_machine
from machinelab.workbook.job_plan import JobPlan
from machinelab.workbook.job_table import by_operation, speeds_table
from machinelab.workbook.job_trial import (
    FOLLOWS,
    OWN_KNOB,
    SURFACE,
    SURFACE_DOUBT,
    TRAVEL,
    TRAVEL_DOUBT,
    TURNS,
    TURNS_DOUBT,
    FeedTrial,
    SurfaceTrial,
    feed_trial,
    surface_trial,
)
from machinelab.workbook.measured import value_with_uncertainty
from machinelab.workbook.pages.page import WAITING, Page, Said, for_post, listed
from machinelab.workbook.panels.choice import Choice
from machinelab.workbook.panels.job import feed_panel, job_sheet, speed_panel
from machinelab.workbook.panels.sheet import Sheet
from machinelab.workbook.panels.typed import Typed
from machinelab.workbook.share import Notes, Paragraph, Post, Table, calculation
from machinelab.workbook.verdict import Verdict, verdict
from machinelab.worked import Working, worked

GUESS = Field(
    name="Spindle speed for today's job",
    kind="speed",
    low="1 rpm",
    high="10000 rpm",
    example="350 rpm",
    help="What would you set without looking anything up?",
)
# A loss of speed that changes the feed enough to be seen; common practice, no source.
SAG_THAT_SHOWS = 0.05
NO_JOB = Said("*Today's job is not complete: fill in the sheet above, then run the cells below it.*")
NO_FEED = Said("No feed has been measured yet. Fill in the sheet at *Measure*, then run the cells below it.")
NO_SURFACE = Said("No surface has been compared yet.")
NO_STEPPER = Said("The machine file does not say enough of the stepper for this (page 08).")


def once_planned(answer: Callable) -> Callable:
    """Answer once the machine file and the sheet of today's job say enough."""

    @wraps(answer)
    def guarded(page: "FeedsAndSpeedsPage"):
        if page.still_needed:
            return WAITING
        return answer(page) if page.plan else NO_JOB

    return guarded


class FeedsAndSpeedsPage(Page):
    """Today's job on the chosen machine: speed, torque, feed, finish, and two trials."""

    step: ClassVar[str] = "09"

    def __init__(self, machine, problem=""):
        super().__init__(machine, problem)
        self.guess = self.guess_box(GUESS)
        known = not self.still_needed
        self.job = job_sheet(self.numbers, self.readings.of(self.step), self._keep) if known else WAITING
        self.feed_sheet = self._new_feed_sheet() if known else WAITING
        self.surface_sheet = self._new_surface_sheet() if known else WAITING

    def _keep(self, name: str, text: str) -> None:
        self.readings.keep(self.step, name, text)

    @property
    def numbers(self) -> JobMachine:
        """What the machine brings to a job."""
        return job_machine(self.machine)

    @property
    def plan(self) -> JobPlan | None:
        """Today's job on this machine; None while the sheet is not complete."""
        return self.job.result if isinstance(self.job, Sheet) else None

    @once_planned
    def speed_working(self) -> Working | Said:
        """The spindle speed for the typical cutting speed, with its numbers in place."""
        return worked(
            speed_for_cutting_rpm,
            cutting_speed_m_min=self.plan.wanted.typical_m_min,
            diameter_mm=float(self.plan.job.diameter_mm),
        )

    @once_planned
    def speeds(self) -> pd.DataFrame | Said:
        """Low, typical and high by the tables, and what the machine makes of them."""
        return speeds_table(self.plan)

    @once_planned
    def sources(self) -> Said:
        """Where the cutting speeds come from, and what was taken where the machine file is silent."""
        lines = [f"Cutting speeds: {self.plan.wanted.source}."]
        return listed([*lines, *(f"Taken: {one}." for one in self.plan.machine.assumed)])

    @once_planned
    def speed_picture(self) -> Picture | Said:
        """Tool, machine and job in one picture."""
        return JobSpeeds.draw(self.plan)

    @once_planned
    def speed_what_if(self):
        """The same with material, work, tool, diameter, depth and feed to move."""
        return speed_panel(self.plan)

    @once_planned
    def other_work(self) -> pd.DataFrame | Said:
        """The same material and diameter for every kind of work."""
        return by_operation(self.plan, operations())

    @once_planned
    def feed_working(self) -> Working | Said:
        """What to set on the knob of an independent feed."""
        return worked(
            independent_feed_mm_min, feed_mm=float(self.plan.job.feed_mm), speed_rpm=self.plan.speed_rpm
        )

    @once_planned
    def finish_working(self) -> Working | Said:
        """The roughness that feed and nose leave at the least."""
        plan = self.plan
        if not plan.nose_shapes_it:
            return Said(plan.finish_told)
        return worked(
            mean_roughness_um,
            feed_mm=float(plan.job.feed_mm),
            nose_radius_mm=float(plan.job.nose_radius_mm),
        )

    @once_planned
    def feed_picture(self) -> Picture | Said:
        """Feed against depth, and what a sag does."""
        return JobFeeds.draw(self.plan)

    @once_planned
    def feed_what_if(self):
        """The same with feed, depth, nose and finish to move."""
        return feed_panel(self.plan)

    @once_planned
    def carriage(self) -> Said:
        """Idle travel and change of direction."""
        found = carriage_feed(self.machine, self.plan.knob_mm_min)
        return listed(found.lines) if found else NO_STEPPER

    def _new_feed_sheet(self) -> Sheet:
        kept = self.readings.of(self.step)
        return Sheet(
            {
                "follows": Choice(
                    "How it feeds", {FOLLOWS: True, OWN_KNOB: False}, chosen=kept.get("follows", "")
                ),
                "turns": Typed(TURNS, kept.get("turns", "")),
                "turns_doubt": Typed(TURNS_DOUBT, kept.get("turns_doubt", "")),
                "travel": Typed(TRAVEL, kept.get("travel", "")),
                "travel_doubt": Typed(TRAVEL_DOUBT, kept.get("travel_doubt", "")),
            },
            work_out=lambda **typed: partial(feed_trial, self._set_mm)(**typed),
            tell=lambda trial: [trial.told, str(self._agreement(trial))],
            keep=self._keep,
        )

    @property
    def _set_mm(self) -> float:
        return float(self.plan.job.feed_mm) if self.plan else float("nan")

    def _new_surface_sheet(self) -> Sheet:
        kept = self.readings.of(self.step)
        return Sheet(
            {
                "surface": Typed(SURFACE, kept.get("surface", "")),
                "surface_doubt": Typed(SURFACE_DOUBT, kept.get("surface_doubt", "")),
            },
            work_out=surface_trial,
            tell=lambda trial: [trial.told, str(self._judged(trial))],
            keep=self._keep,
        )

    @property
    def fed(self) -> FeedTrial | None:
        """The feed as it was measured; None while the sheet is not filled in."""
        return self.feed_sheet.result if isinstance(self.feed_sheet, Sheet) else None

    @property
    def felt(self) -> SurfaceTrial | None:
        """The surface as it was compared."""
        return self.surface_sheet.result if isinstance(self.surface_sheet, Sheet) else None

    @once_planned
    def measured(self) -> Said:
        """Both trials in words."""
        return listed(
            [self.fed.told if self.fed else NO_FEED.text, self.felt.told if self.felt else NO_SURFACE.text]
        )

    @once_planned
    def compared(self) -> pd.DataFrame | Said:
        """Guess, calculation and measurement side by side."""
        plan, fed, felt = self.plan, self.fed, self.felt
        expected = plan.expected if plan.nose_shapes_it else None
        rows = [
            ("spindle speed", self.guess.shown, f"{plan.speed_rpm:.0f} rpm", "set on the machine"),
            (
                "feed for each turn",
                "",
                self.numbers.lengths.short(plan.job.feed_mm, 4),
                value_with_uncertainty(fed.feed_mm, fed.doubt_mm, "mm") if fed else "not measured yet",
            ),
            (
                "mean roughness",
                "",
                f"{float(expected.least_roughness_um):.2g} to {float(expected.most_roughness_um):.2g} µm"
                if expected
                else "not by the nose",
                value_with_uncertainty(felt.roughness_um, felt.doubt_um, "µm")
                if felt
                else "not compared yet",
            ),
        ]
        return pd.DataFrame(rows, columns=["", "your guess", "computed", "measured"]).set_index("")

    @once_planned
    def agreement(self) -> Said:
        """Whether the feed came out as it was set."""
        return Said(str(self._agreement(self.fed))) if self.fed else NO_FEED

    def _agreement(self, trial: FeedTrial):
        return trial.agreement(self.plan.knob_step_share, self.machine.leadscrew.lead_error_ppm)

    @once_planned
    def verdict(self) -> Verdict | Said:
        """Whether the surface is as fine as wanted."""
        return self._judged(self.felt) if self.felt else NO_SURFACE

    def _judged(self, trial: SurfaceTrial) -> Verdict:
        wanted = round(float(self.plan.job.roughness_um), 4) if self.plan else None
        return verdict(trial.roughness_um, trial.doubt_um, None, wanted, unit="µm")

    @once_planned
    def decision(self) -> Said:
        """What to set, and what to change first where it falls short."""
        plan = self.plan
        lines = [plan.speed_told, plan.feed_told, plan.finish_told]
        if plan.torque_known and plan.job.torque_nm > plan.for_hours_nm:
            lines.append(
                "Too little torque for hours: take less depth first, then less feed; a slower belt (page 03) "
                "helps most at large diameters, more speed does not."
            )
        sag_share = plan.reckoned_sag_share
        if plan.job.operation in TURNED and sag_share > SAG_THAT_SHOWS:
            grown = self.numbers.lengths.short(plan.sagged_feed_mm(sag_share))
            lines.append(
                f"If the drive makes up for nothing, this cut costs {100 * sag_share:.0f} % of the speed, "
                f"and a feed with a knob of its own becomes {grown} a turn. "
                "Let the feed follow the spindle for the last cut."
            )
        return listed(lines)

    def record_line(self) -> dict | None:
        """The surface if it was compared, else the measured feed, as the record takes it."""
        if self.plan is None:
            return None
        if self.felt:
            return {
                "step": self.step,
                "quantity": f"mean roughness, {self.plan.job.name}",
                "value": self.felt.roughness_um,
                "uncertainty": self.felt.doubt_um,
                "unit": "um",
                **self._foretold(),
                "upper": float(self.plan.job.roughness_um),
                "where_from": "own choice: the finish wanted for this job",
                "conditions": self._conditions,
                "instrument": {"name": "comparison specimen, by fingernail"},
            }
        if self.fed is None:
            return None
        return {
            "step": self.step,
            "quantity": f"feed for each turn, set {self.fed.set_mm:.4g} mm",
            "value": self.fed.feed_mm,
            "uncertainty": self.fed.doubt_mm,
            "unit": "mm",
            "predicted": self.fed.set_mm,
            "formula": "the feed that was set",
            "conditions": self._conditions,
            "instrument": {"name": "travel over counted turns"},
        }

    def _foretold(self) -> dict:
        """The roughness by feed and nose with its usual spread; nothing where the nose does not shape it."""
        if not self.plan.nose_shapes_it:
            return {}
        least, most = (
            float(self.plan.expected.least_roughness_um),
            float(self.plan.expected.most_roughness_um),
        )
        return {
            "predicted": (least + most) / 2,
            "predicted_uncertainty": (most - least) / 2,
            "formula": "mean roughness by feed and nose, times its usual spread",
        }

    @property
    def _conditions(self) -> dict[str, str]:
        plan = self.plan
        return {
            "speed": f"{plan.speed_rpm:.0f} rpm",
            "feed": show(float(plan.job.feed_mm), "mm", kind="feed"),
            "tool": plan.job.tool,
        }

    def post(self) -> Post | None:
        """Speed and feed with their working, the pictures, and what was measured."""
        if self.still_needed or self.plan is None:
            return None
        speeds = self.speeds().reset_index(names="the tables")
        picture = self.speed_picture()
        trials = [trial.told for trial in (self.fed, self.felt) if trial]
        return Post(
            f"{self.plan.title} on {self.machine.name}",
            (
                Paragraph(self.plan.headline),
                calculation(
                    self.speed_working(),
                    meaning="The speed at the typical cutting speed.",
                    assumptions=(
                        f"the cutting speed: {self.plan.wanted.source}",
                        *self.plan.machine.assumed,
                    ),
                ),
                Table(tuple(speeds.columns), tuple(map(tuple, speeds.to_numpy())), "By the tables"),
                calculation(
                    self.feed_working(),
                    meaning="What a feed with its own knob is set to.",
                    assumptions=("a spindle that keeps its speed in the cut",),
                ),
                Paragraph(f"{self.plan.feed_told} {self.plan.finish_told}"),
                *((Notes(tuple(trials), "Measured"),) if trials else ()),
                *for_post(picture),
            ),
        )
