"""The designed half of page 06: what the brake promises, and what has to bear it."""

from typing import ClassVar

import pandas as pd

from machinelab.spindle.brake_circuit import brake_time_constant_s, peak_brake_current_a
from machinelab.workbook import brake_advice
from machinelab.workbook.brake_choice import resistors_table
from machinelab.workbook.brake_contacts import contacts_table, overlap_words, waits_table
from machinelab.workbook.brake_numbers import NEEDED, BrakeNumbers, brake_numbers
from machinelab.workbook.brake_tables import heat_table, limits_table, nearest, stages_table
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.figures.brake import BrakeStop
from machinelab.workbook.machine import asked_for
from machinelab.workbook.pages.coast_down import USUAL_THREADING_RPM, CoastDownPage
from machinelab.workbook.pages.page import Page, Said, listed, once_known
from machinelab.workbook.panels.brake import BrakeView, Wanted, brake_panel, view_brake
from machinelab.worked import Working, worked


class BrakeDesignPage(Page):
    """The resistor brake of the chosen machine as its file has it; without one, as it could be."""

    step: ClassVar[str] = "06"

    def __init__(self, machine, problem=""):
        super().__init__(machine, problem)
        self.free_run = CoastDownPage(machine).found

    @property
    def still_needed(self) -> Said | None:
        """What the machine file lacks; without a brake there is no resistor, but a motor there is."""
        asked = super().still_needed
        lacking = self.machine.missing(*NEEDED)
        if asked or not lacking:
            return asked
        return Said(asked_for(lacking) + "\n\nAdd it on the page *01 machine as built*.")

    @property
    def numbers(self) -> BrakeNumbers:
        """The brake in plain numbers."""
        return brake_numbers(self.machine, self.free_run)

    @property
    def wanted(self) -> Wanted:
        """What the owner wants."""
        target = self.machine.target
        return Wanted(target.stop_time_s, target.turns_to_stop)

    @once_known
    def about(self) -> Said:
        """Whether there is a brake, and what was taken for granted."""
        numbers = self.numbers
        told = "Taken for granted:\n\n" + "\n".join(f"- {one}" for one in numbers.assumed)
        if numbers.fitted:
            return Said(told)
        change = brake_advice.what_a_brake_would_change(numbers, self.view().free_s)
        return Said(f"**{change}**\n\n{told}")

    @once_known
    def working(self) -> Working | Said:
        """How quickly the resistor alone brakes, with the numbers in place."""
        circuit = {name: value for name, value in self.numbers.circuit.items() if name != "brush_drop_v"}
        return worked(brake_time_constant_s, **circuit)

    @once_known
    def peak(self) -> Working | Said:
        """The current at the first moment from the top speed, with the numbers in place."""
        circuit = {name: value for name, value in self.numbers.circuit.items() if name != "inertia_kg_m2"}
        return worked(peak_brake_current_a, start_speed_rpm=self.numbers.top_rpm, **circuit)

    def view(self) -> BrakeView:
        """The panel's starting point: the machine as built, from its top speed."""
        numbers = self.numbers
        return view_brake(
            numbers,
            self.wanted,
            resistor_ohm=numbers.resistor_ohm,
            speed_rpm=numbers.top_rpm,
            inertia_kg_m2=numbers.inertia_kg_m2,
        )

    @once_known
    def picture(self) -> Picture | Said:
        """Speed against time and turns against speed, with and without brake."""
        return BrakeStop.draw(self.view())

    @once_known
    def panel(self):
        """The same with resistor, speed and inertia to move."""
        return brake_panel(self.numbers, self.wanted, speed_rpm=self.numbers.top_rpm)

    @once_known
    def resistors(self) -> pd.DataFrame:
        """Which resistor the turns that are wanted ask for, from several speeds."""
        return resistors_table(self.numbers, self.wanted.turns)

    @once_known
    def limits(self) -> pd.DataFrame:
        """The first moment against everything that must bear it."""
        return limits_table(self.numbers)

    @once_known
    def binding(self) -> Said:
        """Which limit comes first, and what chuck, belt and capacitors say."""
        limit = nearest(self.numbers)
        first = (
            f"The nearest limit: {limit.concern}, {limit.limit_a:.3g} A."
            if limit
            else "No limit of the current is known yet: find the motor's plate and the contact's data sheet."
        )
        return listed([first, *brake_advice.what_bears_it(self.numbers, self.machine)])

    @once_known
    def heat(self) -> pd.DataFrame:
        """Where the energy of a stop goes, and what a morning makes of it, fast and while threading."""
        return heat_table(self.numbers, USUAL_THREADING_RPM)

    @once_known
    def contacts(self) -> pd.DataFrame:
        """Up to which speed common relays may open the brake current."""
        return contacts_table(self.numbers)

    @once_known
    def waits(self) -> pd.DataFrame:
        """How long the brake must wait for the drive, and the turns made meanwhile."""
        return waits_table(self.numbers, USUAL_THREADING_RPM)

    @once_known
    def overlap(self) -> Said:
        """What a brake does that comes in too early, and a drive that comes back too early."""
        return Said(overlap_words(self.numbers, self.machine))

    @once_known
    def stages(self) -> pd.DataFrame:
        """One resistor against two in turn."""
        return stages_table(self.numbers)
