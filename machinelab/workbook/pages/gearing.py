"""Page 07: whether the leadscrew turns exactly enough for every thread of the machine."""

from typing import ClassVar

import numpy as np
import pandas as pd

from machinelab.leadscrew.gearing import nearest_ratio, pitch_error_ppm, steps_per_count
from machinelab.leadscrew.step_pattern import ratio_cautions
from machinelab.units import Field, show
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.figures.gearing import RatioWhatIf, ThreadErrors
from machinelab.workbook.pages.gearing_results import (
    LENGTH_MM,
    LeadTrial,
    ThreadRatio,
    ThreadRatios,
    lead_trial,
    measured_over_length,
    over_length,
    told,
)
from machinelab.workbook.pages.page import Page, Said, for_post, once_known
from machinelab.workbook.panels.choice import Choice
from machinelab.workbook.panels.gearing import (
    Gearing,
    RatioChoice,
    choose_ratio,
    fraction_text,
    gearing_panel,
    ppm_text,
)
from machinelab.workbook.panels.sheet import Sheet
from machinelab.workbook.panels.typed import Typed
from machinelab.workbook.share import Notes, Paragraph, Post, Table, calculation
from machinelab.workbook.verdict import Verdict, agrees, verdict
from machinelab.worked import Working, worked

# A common size of whole number in a small controller, from memory; it only starts the sliders.
USUAL_LARGEST = 65535

GUESS = Field(
    name="Worst thread, error in 100 mm",
    kind="length",
    low="0 mm",
    high="5 mm",
    example="0.02 mm",
    help="How far out do you expect the worst of your threads to be, by the ratio alone?",
)
TURNS = Field(
    name="Turns of the spindle",
    kind="turns",
    low="5 turns",
    high="2000 turns",
    example="100 turns",
    help="Whole turns by hand, from a mark to the same mark; more turns tell more.",
)
TRAVEL = Field(
    name="Travel of the carriage",
    kind="length",
    low="1 mm",
    high="3000 mm",
    example="100.01 mm",
    help="By dial indicator and gauge blocks, all in one direction, so that backlash stays out of it.",
)
DOUBT = Field(
    name="Uncertainty of the travel",
    kind="length",
    above_zero=True,
    high="5 mm",
    example="0.01 mm",
    help="Of the indicator and the blocks together; at least half the last digit.",
)
NOT_TRIED = Said(
    "Nothing has been measured yet. Fill in the sheet at *Measure*, then run the cells below it."
)


class GearingPage(Page):
    """The leadscrew gearing of the chosen machine: every thread's ratio, what if, and the trial."""

    step: ClassVar[str] = "07"

    def __init__(self, machine, problem=""):
        super().__init__(machine, problem)
        self.guess = self.guess_box(GUESS)
        self.sheet = self._new_sheet() if not self.still_needed else None

    @property
    def limits(self) -> tuple[int, int]:
        """The largest numerator and denominator that the controller holds."""
        known = self.machine.controller
        return known.largest_numerator or USUAL_LARGEST, known.largest_denominator or USUAL_LARGEST

    @property
    def screw_error_ppm(self) -> float:
        """The screw's own lead error; NaN when it is not known."""
        known = self.machine.leadscrew.lead_error_ppm
        return float("nan") if known is None else known

    @property
    def gearing(self) -> Gearing:
        """The machine's gearing in plain numbers."""
        machine = self.machine
        return Gearing(
            screw_lead_mm=machine.leadscrew.lead_mm,
            full_steps=machine.stepper.full_steps,
            microsteps=machine.stepper.microsteps,
            motor_turns_per_screw_turn=machine.motor_turns_per_screw_turn,
            counts_per_spindle_turn=machine.counts_per_spindle_turn,
            max_numerator=self.limits[0],
            max_denominator=self.limits[1],
            screw_error_ppm=self.screw_error_ppm,
        )

    @property
    def ratios(self) -> ThreadRatios:
        """Every thread on the machine's list with its ratio."""
        named = enumerate(self.machine.threads, start=1)
        rows = (self._ratio(thread, f"thread {count}") for count, thread in named if thread.pitch_mm)
        return ThreadRatios(tuple(rows), self.screw_error_ppm)

    def _ratio(self, thread, else_called: str) -> ThreadRatio:
        wanted = self.machine.steps_per_count(thread)
        used = nearest_ratio(wanted, *self.limits)
        name = thread.designation or thread.name or else_called
        return ThreadRatio(name, thread.turning_lead_mm, wanted, used, pitch_error_ppm(used, wanted))

    @once_known
    def working(self) -> Working | Said:
        """The ratio of the first thread on the list, with its numbers in place."""
        return worked(
            steps_per_count,
            thread_lead_mm=self.ratios.threads[0].lead_mm,
            screw_lead_mm=self.machine.leadscrew.lead_mm,
            steps_per_screw_turn=self.machine.steps_per_screw_turn,
            counts_per_spindle_turn=self.machine.counts_per_spindle_turn,
        )

    @once_known
    def table(self) -> pd.DataFrame | Said:
        """Every thread with the ratio to set and what it costs."""
        rows = [
            (
                thread.name,
                show(abs(thread.lead_mm), "mm", kind="lead"),
                fraction_text(thread.used),
                "exact" if not thread.error_ppm else ppm_text(thread.error_ppm),
                over_length(thread.error_ppm),
            )
            for thread in self.ratios.threads
        ]
        columns = ["thread", "lead", "steps an edge", "pitch error", f"in {LENGTH_MM} mm"]
        return pd.DataFrame(rows, columns=columns).set_index("thread").rename_axis(None)

    @once_known
    def picture(self) -> Picture | Said:
        """Every thread's error beside the screw's own."""
        return ThreadErrors.draw(self.ratios)

    @property
    def shown_thread(self) -> ThreadRatio:
        """The thread that the panel starts with: the least exact one."""
        return max(self.ratios.threads, key=lambda thread: (abs(thread.error_ppm), thread.used.denominator))

    @once_known
    def choice(self) -> RatioChoice | Said:
        """The panel's starting point."""
        return choose_ratio(
            self.gearing,
            lead_mm=abs(self.shown_thread.lead_mm),
            largest_number=min(self.limits),
            microsteps=self.machine.stepper.microsteps,
        )

    @once_known
    def what_if(self) -> Picture | Said:
        """The panel's picture at its starting point."""
        return RatioWhatIf.draw(self.choice())

    @once_known
    def panel(self):
        """The same with thread, largest number and microsteps to move."""
        return gearing_panel(self.gearing, lead_mm=abs(self.shown_thread.lead_mm))

    @once_known
    def mind(self) -> Said:
        """What to be wary of in the ratios, each concern once."""
        found = {
            caution.concern: (caution.advice, [])
            for thread in self.ratios.threads
            for caution in ratio_cautions(thread.used, self.machine.stepper.microsteps)
        }
        for thread in self.ratios.threads:
            for caution in ratio_cautions(thread.used, self.machine.stepper.microsteps):
                found[caution.concern][1].append(thread.name)
        if not found:
            return Said("Nothing to be wary of: every thread runs with even steps.")
        return Said("\n".join(f"- **{', '.join(names)}**: {advice}" for advice, names in found.values()))

    def _new_sheet(self) -> Sheet:
        kept = self.readings.of(self.step)
        named = {thread.name: thread for thread in self.ratios.threads}
        return Sheet(
            {
                "thread": Choice("Thread that is set", named, chosen=kept.get("thread", "")),
                "turns": Typed(TURNS, kept.get("turns", "")),
                "travel_mm": Typed(TRAVEL, kept.get("travel_mm", "")),
                "doubt_mm": Typed(DOUBT, kept.get("doubt_mm", "")),
            },
            work_out=lead_trial,
            tell=lambda trial: [told(trial), str(self._judged(trial))],
            keep=lambda name, text: self.readings.keep(self.step, name, text),
        )

    @property
    def trial(self) -> LeadTrial | None:
        """What was measured; None while the sheet is not filled in."""
        return self.sheet.result if self.sheet else None

    @once_known
    def measured(self) -> Said:
        """The trial in words."""
        return Said(told(self.trial)) if self.trial else NOT_TRIED

    @once_known
    def verdict(self) -> Verdict | Said:
        """Whether the measured lead keeps the owner's limit."""
        return NOT_TRIED if self.trial is None else self._judged(self.trial)

    @property
    def limit_ppm(self) -> float | None:
        """The lead error that the owner allows; None when no limit is set."""
        limit = self.machine.target.lead_error_ppm
        return None if limit is None else round(limit, 1)

    def _judged(self, trial: LeadTrial) -> Verdict:
        ends = (None, None) if self.limit_ppm is None else (-self.limit_ppm, self.limit_ppm)
        return verdict(trial.error_ppm, trial.uncertainty_ppm, *ends, unit="ppm")

    @once_known
    def agreement(self) -> Said:
        """Whether ratio and screw together foretold what was measured."""
        if self.trial is None:
            return NOT_TRIED
        if np.isnan(self.screw_error_ppm):
            return Said(
                "The screw's own error is not in the machine file, so there is nothing to compare with."
            )
        found = agrees(
            self.trial.error_ppm,
            uncertainty=self.trial.uncertainty_ppm,
            predicted=round(self.trial.thread.error_ppm, 3) + 0.0,
            predicted_uncertainty=self.screw_error_ppm,
            unit="ppm",
        )
        return Said(str(found))

    @once_known
    def compared(self) -> pd.DataFrame:
        """The reader's guess, the calculation and the measurement side by side."""
        worst = max(abs(thread.error_ppm) for thread in self.ratios.threads)
        rows = [
            ("your guess, worst thread", self.guess.shown),
            ("computed, worst thread, ratio alone", over_length(worst)),
            ("computed, the screw's own error", over_length(self.screw_error_ppm)),
            ("measured, ratio and screw together", measured_over_length(self.trial)),
        ]
        return pd.DataFrame(rows, columns=["", f"out over {LENGTH_MM} mm"]).set_index("").rename_axis(None)

    @once_known
    def decision(self) -> Said:
        """What the figures mean for this machine."""
        ratios = self.ratios
        lines = [ratios.headline]
        if ratios.visible and not np.isnan(self.screw_error_ppm):
            larger = self._largest_number_wanted()
            lines.append(
                f"To make the ratio harmless for all of them the controller must hold numbers up to "
                f"{larger}; if it cannot, a gear or pulley of other teeth must take up the difference."
            )
        if self.machine.controller.largest_denominator is None:
            lines.append(
                f"What the controller can hold is not in the machine file; {USUAL_LARGEST} was taken, a "
                "common size. Look it up before you rely on this page."
            )
        lines.append(
            "The ratio tells the pitch only. A lost step or a lost count shifts a whole pass and ruins the "
            "thread: that is for *08 stepper rates and torque* and *04 spindle encoder*."
        )
        return Said("\n".join(f"- {line}" for line in lines))

    def record_line(self) -> dict | None:
        """The trial, as the record takes it."""
        if self.trial is None:
            return None
        limit = self.limit_ppm
        why = self.machine.target.why.get("lead_error", "no reason given")
        return {
            "step": self.step,
            "quantity": f"lead error over {float(self.trial.turns):g} turns of {self.trial.thread.name}",
            "value": self.trial.error_ppm,
            "uncertainty": self.trial.uncertainty_ppm,
            "unit": "ppm",
            "predicted": round(self.trial.thread.error_ppm, 3) + 0.0,
            "predicted_uncertainty": self.machine.leadscrew.lead_error_ppm,
            "formula": "error of the ratio, with the screw's own error as its doubt",
            "lower": None if limit is None else -limit,
            "upper": limit,
            "where_from": "" if limit is None else f"own choice: {why}",
            "instrument": {"name": "dial indicator and gauge blocks, spindle turned by hand"},
        }

    def post(self) -> Post | None:
        """The ratios with their working, the trial and the verdict."""
        if self.still_needed:
            return None
        table = self.table().reset_index(names="thread")
        trial = (Paragraph(f"{told(self.trial)} {self._judged(self.trial)}"),) if self.trial else ()
        choice = self.choice()
        picture = self.what_if()
        return Post(
            f"Leadscrew gearing of {self.machine.name}",
            (
                Paragraph(self.ratios.headline),
                calculation(
                    self.working(),
                    meaning=f"The ratio for {self.ratios.threads[0].name}.",
                    assumptions=(
                        "lead, teeth and lines as the machine file has them",
                        "a screw without any error of its own, and no step lost",
                    ),
                ),
                Table(tuple(table.columns), tuple(map(tuple, table.to_numpy())), "Every thread on the list"),
                *trial,
                Notes((choice.meaning,), f"About {self.shown_thread.name}"),
                *for_post(picture),
            ),
        )

    def _largest_number_wanted(self) -> int:
        return max(
            min(
                (
                    bound
                    for bound in (2**n for n in range(4, 64))
                    if abs(pitch_error_ppm(nearest_ratio(thread.wanted, bound, bound), thread.wanted))
                    <= self.ratios.harmless_ppm
                ),
                default=2**63,
            )
            for thread in self.ratios.visible
        )
