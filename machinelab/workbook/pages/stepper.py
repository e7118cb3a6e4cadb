"""Page 08: whether the stepper follows at threading speed, and what each thread may be cut at."""

import math
from dataclasses import replace
from functools import cached_property, partial
from typing import ClassVar

import pandas as pd

from machinelab.leadscrew.screw_friction import screw_torque_nm
from machinelab.leadscrew.stepper_rate import step_rate_hz
from machinelab.leadscrew.stepper_torque import pull_out_torque_nm
from machinelab.units import Field
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.figures.stepper import StepperBands, StepperTorque
from machinelab.workbook.measured import value_with_uncertainty
from machinelab.workbook.pages.page import Page, Said, for_post, listed, once_known
from machinelab.workbook.pages.stepper_sheets import (
    StepperResults,
    driver_sheet,
    listening_sheet,
    string_sheet,
)
from machinelab.workbook.panels.stepper import SPEED, StepperView, stepper_panel, view_as_built
from machinelab.workbook.share import Notes, Paragraph, Post, Table, calculation
from machinelab.workbook.stepper_advice import (
    both_readings,
    changes,
    what_to_be_wary_of,
    what_to_change,
)
from machinelab.workbook.stepper_built import StepperNumbers, stepper_built
from machinelab.workbook.stepper_numbers import (
    AXIAL_SHARE,
    GUESSED_DAMPING_NM_S,
    USUAL_WAY_FRICTION,
    fixed_limits_rpm,
    thread_works,
)
from machinelab.workbook.stepper_tables import speed_table, torque_table, worst_of
from machinelab.workbook.stepper_tests import (
    IdleTorque,
    Listened,
    resonance_agreement,
    told_of_listening,
)
from machinelab.workbook.torque_words import torque_words
from machinelab.workbook.verdict import Verdict, verdict
from machinelab.worked import Working, worked

# A common speed for threading on a small lathe; common practice, no source.
USUAL_THREADING_RPM = 100.0
GUESS = Field(
    name="Times the torque that is asked",
    kind="ratio",
    low="0.01",
    high="1000",
    example="3",
    help="Torque that the stepper has, over what the heaviest pass of your worst thread asks.",
)
NOT_MEASURED = Said(
    "Nothing has been measured at the stepper yet. Fill in a sheet at *Measure*, then run the cells below it."
)


class StepperPage(Page):
    """The stepper of the chosen machine in each of its threads: torque, limits, bands, and what to change."""

    step: ClassVar[str] = "08"

    def __init__(self, machine, problem=""):
        super().__init__(machine, problem)
        self.guess = self.guess_box(GUESS)
        self.threading_speed = self.guess_box(SPEED, "threading_speed")
        kept, keep = self.readings.of(self.step), partial(self.readings.keep, self.step)
        waits = self.still_needed is not None
        self.string = None if waits else string_sheet(kept, keep)
        self.screwdriver = None if waits else driver_sheet(kept, keep)
        self.listening = None if waits else listening_sheet(kept, keep, self.as_filed, self._told)

    @cached_property
    def as_filed(self) -> StepperNumbers:
        """The stepper as the machine file has it."""
        return stepper_built(self.machine)

    @property
    def results(self) -> StepperResults:
        """What has been measured so far."""
        return StepperResults(self._idle(), self.listening.result if self.listening else None)

    def _idle(self) -> IdleTorque | None:
        sheets = filter(None, (self.string, self.screwdriver))
        return next((sheet.result for sheet in sheets if sheet.result), None)

    @property
    def numbers(self) -> StepperNumbers:
        """The stepper with everything that was measured in its place."""
        heard = self.results.heard
        return replace(
            self._loaded(),
            heard_resonance_hz=heard.resonance_hz if heard else math.nan,
            fell_out_rpm=heard.fastest_rpm if heard and heard.fell_out else math.nan,
        )

    def _loaded(self) -> StepperNumbers:
        """The stepper with the idle torque that was measured, if it was."""
        idle = self._idle()
        return stepper_built(self.machine, idle_torque_nm=idle.torque_nm if idle else None)

    def _told(self, heard: Listened) -> list[str]:
        return told_of_listening(self._loaded(), heard)

    @property
    def speed_rpm(self) -> float:
        """The spindle speed for threading that the reader typed, else a usual one."""
        return self.threading_speed.value or USUAL_THREADING_RPM

    @property
    def views(self) -> tuple[StepperView, ...]:
        """Every thread on the list at that speed."""
        return self._views(self.numbers)

    def _views(self, numbers: StepperNumbers) -> tuple[StepperView, ...]:
        fixed = fixed_limits_rpm(self.machine)
        return tuple(
            view_as_built(numbers, fixed, work, self.speed_rpm) for work in thread_works(self.machine)
        )

    def _as_reckoned(self, view: StepperView) -> StepperView:
        """The same thread by the machine file alone."""
        return next(one for one in self._views(self.as_filed) if one.work.name == view.work.name)

    @property
    def worst(self) -> StepperView:
        """The thread that is worst off: too fast, short of torque, shaken, or with the least in hand."""
        return worst_of(self.views)

    @once_known
    def current(self) -> pd.DataFrame | Said:
        """What the driver's figure gives as a peak and as rms; settled before anything else."""
        rows = both_readings(self.machine, self.worst)
        columns = [
            "if the driver's figure is",
            "torque at low speed",
            f"torque in hand, {self.worst.work.name}",
            "",
        ]
        return pd.DataFrame(rows, columns=columns).set_index(columns[0]).rename_axis(None)

    @once_known
    def pulses(self) -> Working | Said:
        """How many pulses the worst thread asks, with the numbers in place."""
        numbers = self.numbers
        return worked(
            step_rate_hz,
            speed_rpm=self.speed_rpm,
            thread_lead_mm=self.worst.work.lead_mm,
            screw_lead_mm=numbers.screw_lead_mm,
            steps_per_screw_turn=numbers.steps_per_screw_turn,
        )

    @once_known
    def load(self) -> Working | Said:
        """What torque the heaviest pass of the worst thread asks at the screw."""
        return worked(screw_torque_nm, axial_force_n=float(self.worst.work.along_n), **self.numbers.screw)

    @once_known
    def torque(self) -> Working | Said:
        """What torque the stepper makes at that speed."""
        return worked(
            pull_out_torque_nm, stepper_speed_rpm=float(self.worst.stepper_rpm), **self.numbers.driven
        )

    @once_known
    def assumed(self) -> Said:
        """What was taken where the machine file is silent."""
        return Said("Taken for granted:\n\n" + "\n".join(f"- {one}" for one in self._assumed()))

    def _assumed(self):
        yield from self.numbers.assumed
        yield (
            f"{AXIAL_SHARE:g} of the cutting force pushing along the bed, as when the tool is fed in along "
            f"the flank, and {USUAL_WAY_FRICTION:g} of it rubbing on the ways; the doubt of the tables is on "
            "top"
        )
        yield f"a damping of {GUESSED_DAMPING_NM_S:g} N m s, a guess that decides where the hunting ends"

    @once_known
    def table(self) -> pd.DataFrame | Said:
        """Every thread at the threading speed: speed of the stepper, torque, and the verdict."""
        views = self.views
        return torque_table(views, [self._judged(one, one.numbers.torque_margin).word for one in views])

    @once_known
    def speeds(self) -> pd.DataFrame | Said:
        """Every thread: the highest speed, what sets it, and where to keep out."""
        return speed_table(self.views)

    @once_known
    def picture(self) -> Picture | Said:
        """Torque over spindle speed in the worst thread."""
        return StepperTorque.draw(self.worst)

    @once_known
    def bands_picture(self) -> Picture | Said:
        """The speeds that are open to each thread, and those to keep out of."""
        return StepperBands.draw(self)

    @property
    def headline(self) -> str:
        """The conclusion over all threads."""
        views = self.views
        shaken = [view.work.name for view in views if view.in_band]
        slow = [view.work.name for view in views if view.too_fast]
        if slow:
            return f"At {self.speed_rpm:.0f} rpm too fast for: {', '.join(slow)}."
        if shaken:
            return f"At {self.speed_rpm:.0f} rpm the stepper shakes or may hunt in: {', '.join(shaken)}."
        return (
            f"At {self.speed_rpm:.0f} rpm every thread on the list is below its limit and clear of its bands."
        )

    @once_known
    def panel(self):
        """The same with thread, speed, volts, current, microsteps and gearing to move."""
        worst = self.worst
        return stepper_panel(
            self.numbers,
            fixed_limits_rpm(self.machine),
            [view.work for view in self.views],
            shown=worst.work,
            speed_rpm=worst.speed_rpm,
        )

    @once_known
    def mind(self) -> Said:
        """What to be wary of with this drive."""
        return listed(what_to_be_wary_of(self.machine, self.views))

    def _findings(self) -> list[str]:
        found = self.results
        lines = [str(found.idle)] if found.idle else []
        return lines + (self._told(found.heard) if found.heard else [])

    @once_known
    def measured(self) -> Said:
        """What the sheets have come to."""
        return listed(self._findings()) if self.results else NOT_MEASURED

    def _judged(self, view: StepperView, least: float | None) -> Verdict:
        doubt = self.results.margin_doubt(view)
        return verdict(round(view.margin, 3), round(doubt, 3), least, None, unit="times")

    @once_known
    def verdict(self) -> Verdict | Said:
        """Whether the worst thread has the torque in hand that the owner wants, by the measured load."""
        if self.results.idle is None:
            return NOT_MEASURED
        return self._judged(self.worst, self.machine.target.torque_margin)

    @once_known
    def agreement(self) -> Said:
        """Whether the stepper is roughest where it was reckoned to be."""
        heard = self.results.heard
        if heard is None:
            return NOT_MEASURED
        found = resonance_agreement(self.as_filed, heard)
        return Said(str(found) if found else "Without the inertias in the machine file nothing was reckoned.")

    @once_known
    def compared(self) -> pd.DataFrame:
        """The reader's guess, the calculation by the machine file and by what was measured."""
        found, filed = self.results, self._views(self.as_filed)
        least = min(filed, key=lambda view: view.margin)
        least_now = min(self.views, key=lambda view: view.margin)
        by_file, by_sheet = torque_words(self.as_filed.idle_torque_nm), "not measured yet"
        heard = self.as_filed.reckoned_resonance_hz * 60 / self.as_filed.full_steps
        rows = [
            ("your guess", self.guess.shown, "", ""),
            (
                "by the machine file",
                f"{least.margin:.2g} ({least.work.name})",
                by_file,
                "not known" if math.isnan(heard) else f"{heard:.0f} rpm",
            ),
            (
                "by what was measured",
                f"{least_now.margin:.2g} ({least_now.work.name})" if found else by_sheet,
                value_with_uncertainty(found.idle.torque_nm, found.idle.uncertainty_nm, "N m")
                if found.idle
                else by_sheet,
                f"{found.heard.rough_rpm:.0f} rpm" if found.heard else by_sheet,
            ),
        ]
        columns = ["", "torque in hand, worst thread", "idle torque at the screw", "stepper roughest at"]
        return pd.DataFrame(rows, columns=columns).set_index("").rename_axis(None)

    def _changes(self):
        return changes(self.worst, fixed_limits_rpm(self.machine))

    @once_known
    def options(self) -> pd.DataFrame:
        """What each change to the drive would buy the thread that is worst off."""
        columns = [
            f"{self.worst.work.name} with",
            f"in hand at {self.speed_rpm:.0f} rpm",
            "spindle up to",
            "set by",
        ]
        rows = [change.row for change in self._changes()]
        return pd.DataFrame(rows, columns=columns).set_index(columns[0])

    @once_known
    def decision(self) -> Said:
        """What the figures mean for this machine."""
        return listed(what_to_change(self.worst, self._changes()))

    def record_line(self) -> dict | None:
        """The torque in hand of the worst thread by the measured load."""
        idle = self.results.idle
        if self.still_needed or idle is None:
            return None
        view, limit = self.worst, self.machine.target.torque_margin
        why = self.machine.target.why.get("torque_margin", "no reason given")
        heard = self.results.heard
        return {
            "step": self.step,
            "quantity": f"torque in hand in {view.work.name} at {view.speed_rpm:.0f} rpm",
            "value": round(view.margin, 3),
            "uncertainty": round(self.results.margin_doubt(view), 3),
            "unit": "times",
            "predicted": round(self._as_reckoned(view).margin, 3),
            "formula": "pull-out torque over load, friction as reckoned",
            "lower": limit,
            "upper": None,
            "where_from": "" if limit is None else f"own choice: {why}",
            "conditions": {
                "idle torque at the screw": value_with_uncertainty(
                    idle.torque_nm, idle.uncertainty_nm, "N m"
                ),
                "stepper roughest at": f"{heard.rough_rpm:.0f} rpm" if heard else "not listened for",
                "highest spindle speed": str(view.highest),
            },
            "instrument": {
                "name": "string or torque screwdriver at the screw",
                "U_from": "reading, and curve",
            },
        }

    def post(self) -> Post | None:
        """Speeds and torque of every thread with the working, and what was measured."""
        if self.still_needed:
            return None
        speeds, table = self.speeds().reset_index(names="thread"), self.table().reset_index(names="thread")
        measured = (Notes(tuple(self._findings()), "Measured"),) if self.results else ()
        picture = self.picture()
        return Post(
            f"Stepper rates and torque of {self.machine.name}",
            (
                Paragraph(self.worst.headline),
                calculation(
                    self.load(),
                    meaning=f"What the heaviest pass of {self.worst.work.name} asks of the screw.",
                    assumptions=tuple(self._assumed()),
                ),
                Table(tuple(table.columns), tuple(map(tuple, table.to_numpy())), "Torque in hand"),
                Table(tuple(speeds.columns), tuple(map(tuple, speeds.to_numpy())), "Spindle speeds"),
                *measured,
                *for_post(picture),
            ),
        )
