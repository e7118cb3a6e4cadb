"""The computed half of page 10: what a pass up to a shoulder takes on this machine."""

from functools import cached_property
from typing import ClassVar

import pandas as pd

from machinelab.threads.shoulder_groove import needed_groove_mm
from machinelab.threads.shoulder_stop import overtravel_turns, run_on
from machinelab.workbook import shoulder_advice
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.figures.shoulder import ShoulderStop
from machinelab.workbook.machine.sections import ThreadToCut
from machinelab.workbook.pages.page import Page, Said, once_known
from machinelab.workbook.panels.choice import Choice
from machinelab.workbook.panels.shoulder import ShoulderView, as_set, shoulder_panel, view_shoulder
from machinelab.workbook.shoulder_machine import ShoulderNumbers, numbers_with_a_usual_hand
from machinelab.workbook.shoulder_numbers import HighestSpeed, highest_speed
from machinelab.workbook.shoulder_pass import (
    emergency_table,
    heat_table,
    one_thread,
    pass_table,
    ways_table,
)
from machinelab.workbook.shoulder_sheet import name_of, passes_of
from machinelab.workbook.shoulder_tables import gains_table, slopes_table, standard_table
from machinelab.worked import Working, worked


class ThreadingDesignPage(Page):
    """The threading pass of the chosen machine as file and logs have it."""

    step: ClassVar[str] = "10"

    def __init__(self, machine, problem=""):
        super().__init__(machine, problem)
        self.thread_choice = None if self.still_needed else self._new_choice()

    @cached_property
    def usual(self) -> ShoulderNumbers:
        """The machine as its file and its logs have it, own stops left out."""
        return numbers_with_a_usual_hand(self.machine)

    @property
    def numbers(self) -> ShoulderNumbers:
        """The machine and the hand that the figures stand for."""
        return self.usual

    @property
    def thread(self) -> ThreadToCut:
        """The thread that was chosen; the first on the list to begin with."""
        return self.thread_choice.value

    @property
    def thread_name(self) -> str:
        """What it is called."""
        return self.thread_choice.text

    @property
    def highest(self) -> HighestSpeed:
        """The highest speed for the chosen thread, and what sets it."""
        return highest_speed(self.machine, self.thread, self.numbers)

    @property
    def shown_rpm(self) -> float:
        """The speed at which the tables stand: the highest feasible, else the lowest that is steady."""
        highest = self.highest
        return highest.speed_rpm if highest.feasible else highest.lowest_rpm

    @property
    def lead_mm(self) -> float:
        """Lead of the chosen thread, its hand left out."""
        return abs(float(self.thread.lead_mm))

    @once_known
    def choice(self) -> Choice | Said:
        """Which thread of the machine's list the page shows."""
        return self.thread_choice.widget

    @once_known
    def about(self) -> Said:
        """What the figures rest on."""
        return Said(
            f"{shoulder_advice.begun(self.machine, self.numbers)}\n\nTaken:\n\n"
            + "\n".join(f"- {one}" for one in self.numbers.where_from)
        )

    @once_known
    def working(self) -> Working | Said:
        """Turns past the thread in an ordinary pass, with the numbers in place."""
        return worked(overtravel_turns, **self._ordinary())

    @once_known
    def groove_working(self) -> Working | Said:
        """The groove that an ordinary pass would take, with the numbers in place."""
        return worked(
            needed_groove_mm,
            overtravel_turns=float(overtravel_turns(**self._ordinary())),
            thread_lead_mm=self.thread.lead_mm,
            tool_half_width_mm=self.numbers.tool_half_width_mm,
            wall_clearance_mm=self.numbers.wall_clearance_mm,
        )

    def view(self) -> ShoulderView:
        """The panel's starting point: the machine as built, at the speed of the tables."""
        settings = as_set(self.numbers, speed_rpm=self.shown_rpm, groove_mm=self.highest.groove.width_mm)
        return view_shoulder(self.numbers, self.thread_name, self.lead_mm, **settings)

    @once_known
    def picture(self) -> Picture | Said:
        """The tool's way to the shoulder, where passes come to rest, the groove at every speed."""
        return ShoulderStop.draw(self.view())

    @once_known
    def panel(self):
        """The same with speed, reaction, brake and groove to move."""
        return shoulder_panel(
            self.numbers,
            self.thread_name,
            self.lead_mm,
            speed_rpm=self.shown_rpm,
            groove_mm=self.highest.groove.width_mm,
        )

    @once_known
    def standard(self) -> pd.DataFrame | Said:
        """The highest speed in the standard's grooves: nearly one number for the machine."""
        return standard_table(self.numbers)

    @once_known
    def standard_words(self) -> Said:
        """That number, in words."""
        return Said(shoulder_advice.one_number(self.numbers))

    @once_known
    def events(self) -> pd.DataFrame | Said:
        """An ordinary pass, event by event."""
        return pass_table(self.machine, self.numbers, self.thread, self.shown_rpm)

    @once_known
    def heat(self) -> pd.DataFrame | Said:
        """Time and heat of the whole thread."""
        count = passes_of(self.machine, self.thread)
        found = one_thread(
            self.machine,
            self.numbers,
            self.thread,
            speed_rpm=self.shown_rpm,
            groove_mm=self.highest.groove.width_mm,
            thread_passes=count,
        )
        return heat_table(self.machine, found, count)

    @once_known
    def emergency(self) -> pd.DataFrame | Said:
        """What an emergency stop does in the middle of a pass."""
        return emergency_table()

    @once_known
    def gains(self) -> pd.DataFrame | Said:
        """What would gain most, one change at a time."""
        return gains_table(self.machine, self.numbers, self.thread, self.highest.groove.width_mm)

    @once_known
    def slopes(self) -> pd.DataFrame | Said:
        """How much wider the groove must be for a little more of each cause."""
        return slopes_table(self.numbers, self.thread, self.shown_rpm)

    @once_known
    def ways(self) -> pd.DataFrame | Said:
        """Into a groove, pulled out, or away from the shoulder."""
        return ways_table(self.machine, self.numbers, self.thread, self.shown_rpm)

    def _ordinary(self) -> dict[str, float]:
        numbers, speed = self.numbers, self.shown_rpm
        ran_on = run_on(speed, stopping=numbers.stopping).run_on_turns
        return {
            "speed_rpm": speed,
            "reaction_s": round(numbers.reaction_s, 4),
            "run_on_turns": round(float(ran_on), 4),
        }

    def _new_choice(self) -> Choice:
        known = [one for one in self.machine.threads if one.pitch_mm]
        named = {name_of(one, place): one for place, one in enumerate(known, start=1)}
        choice = Choice(
            "Thread",
            named,
            chosen=self.readings.of(self.step).get("thread", ""),
            help_words="From the list on page 01; after another choice run the cells below again.",
        )
        choice.on_change(lambda: self.readings.keep(self.step, "thread", choice.text))
        return choice
