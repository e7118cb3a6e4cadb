"""What page 10 says of each thread besides its speed: depth, cuts, wires, finished thread, and card."""

import math
from dataclasses import replace
from functools import cached_property

import pandas as pd

from machinelab.errors import MachinelabError
from machinelab.leadscrew.gearing import nearest_ratio, pitch_error_ppm
from machinelab.threads.engagement import tap_drill_mm
from machinelab.threads.infeed import thread_depth_mm
from machinelab.threads.wires import over_wires_mm
from machinelab.units import Field
from machinelab.workbook.card import Card
from machinelab.workbook.card.machine_rows import card_of, largest_numbers
from machinelab.workbook.card.sheet import pictures
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.figures.infeed import InfeedCuts
from machinelab.workbook.finished_thread import FinishedThread, PlannedThread, finished_thread
from machinelab.workbook.machine.sections import ThreadToCut
from machinelab.workbook.pages.page import Said, listed, once_known
from machinelab.workbook.pages.threading_design import ThreadingDesignPage
from machinelab.workbook.panels.card_box import CardBox
from machinelab.workbook.panels.choice import Choice
from machinelab.workbook.panels.infeed import infeed_panel, view_infeed
from machinelab.workbook.panels.live import LivePanel
from machinelab.workbook.panels.record_box import RecordBox
from machinelab.workbook.panels.sheet import Sheet
from machinelab.workbook.panels.typed import Typed
from machinelab.workbook.record import Record
from machinelab.workbook.shoulder_sheet import name_of
from machinelab.workbook.thread_plan import LAST_CUT_MM, USUAL_FIRST_CUT_MM, ThreadPlan, thread_plan
from machinelab.worked import Working, worked

OVER_WIRES = Field(
    name="Reading over the wires",
    kind="length",
    low="0.5 mm",
    high="1 m",
    example="10.14 mm",
    help="One wire on one side, two on the other, micrometer square across; take the smallest reading.",
)
READING_DOUBT = Field(
    name="Uncertainty of the reading",
    kind="length",
    above_zero=True,
    high="1 mm",
    example="0.01 mm",
    help="Of the micrometer and of the hand; at least half the last digit.",
)
WIRE = Field(
    name="Diameter of the wires",
    kind="length",
    low="0.05 mm",
    high="30 mm",
    example="0.58 mm",
    help="As measured with the same micrometer, all three alike; a drill's shank is seldom what it says.",
)
WIRE_DOUBT = Field(
    name="Uncertainty of the wires",
    kind="length",
    above_zero=True,
    high="0.5 mm",
    example="0.002 mm",
    help="It counts three times in a thread of 60 degrees, nearly five times in one of 30.",
)
NUT = Field(
    name="Length of its nut",
    kind="length",
    low="0.5 mm",
    high="500 mm",
    example="8 mm",
    help="How much thread is engaged at once: the nut's length, not the screw's.",
)
# Three quarters of the height that inch tables count, nine tenths of ISO's; common practice, no source.
USUAL_NUT_SHARE = 0.9
NOT_KEPT = (
    "This machine's folder is not written to: its card is made among the temporary files. "
    "Take it along by its link."
)
DATED_LATER = "dated when you make it"
NOT_MEASURED = Said("No thread has been measured yet. Fill in the sheet above, then run the cells below it.")


class ThreadCardPage(ThreadingDesignPage):
    """Page 10's threads as they are cut and measured."""

    def __init__(self, machine, problem=""):
        super().__init__(machine, problem)
        self.finished_sheet = None if self.still_needed else self._new_finished_sheet()

    @cached_property
    def planned(self) -> tuple[PlannedThread, ...]:
        """Every thread of the list whose pitch is known, with its plan."""
        known = [one for one in self.machine.threads if one.pitch_mm]
        return tuple(self._planned(one, place) for place, one in enumerate(known, start=1))

    @once_known
    def cutting(self) -> pd.DataFrame | Said:
        """How each thread is cut and measured, and which hole its nut wants."""
        rows = [(one.name, *_cutting_words(one.plan)) for one in self.planned]
        columns = ["thread", "blank", "depth", "cuts", "over wires", "hole in its nut"]
        return pd.DataFrame(rows, columns=columns).set_index("thread").rename_axis(None)

    @once_known
    def cutting_notes(self) -> Said:
        """What is missing or does not fit, thread by thread."""
        lines = [f"**{one.name}**: {note}" for one in self.planned for note in one.plan.notes]
        return listed(lines) if lines else Said("Depth, cuts and wires are known for every thread.")

    @property
    def plan(self) -> ThreadPlan:
        """The plan of the thread that was chosen above."""
        return thread_plan(self.machine, self.thread)

    @once_known
    def depth_working(self) -> Working | Said:
        """The depth of the chosen thread, with the numbers in place."""
        plan = self.plan
        if plan.schedule is None:
            return self._lacking(plan)
        return worked(
            thread_depth_mm,
            blank_mm=plan.blank_mm,
            pitch_diameter_mm=round(plan.target_mm, 4),
            pitch_mm=plan.thread.pitch_mm,
            included_angle_deg=plan.thread.form.included_angle_deg,
            **self._tip(),
        )

    @once_known
    def wires_working(self) -> Working | Said:
        """What the micrometer reads in the middle of the limits, by the textbook rule, numbers in place."""
        plan = self.plan
        if not plan.over_wires_mm:
            return self._lacking(plan)
        return worked(
            over_wires_mm,
            pitch_diameter_mm=round(plan.target_mm, 4),
            wire_mm=round(plan.wire_mm, 4),
            pitch_mm=plan.thread.pitch_mm,
            included_angle_deg=plan.thread.form.included_angle_deg,
        )

    @once_known
    def infeed_picture(self) -> Picture | Said:
        """Every cut of the chosen thread in its groove."""
        plan = self.plan
        if plan.schedule is None:
            return self._lacking(plan)
        return InfeedCuts.draw(view_infeed(plan, self.thread_name, **self._tool()))

    @once_known
    def infeed_panel(self) -> LivePanel | Said:
        """The same with tip, first and finest cut to move."""
        plan = self.plan
        if plan.schedule is None:
            return self._lacking(plan)
        return infeed_panel(plan, self.thread_name, **self._tool())

    @once_known
    def finished_panel(self) -> Sheet | Said:
        """The sheet for a finished thread."""
        return self.finished_sheet

    @property
    def finished(self) -> FinishedThread | None:
        """What was measured; None while the sheet is not filled in."""
        return self.finished_sheet.result if self.finished_sheet else None

    @once_known
    def finished_words(self) -> Said:
        """The finished thread in words, with its verdict."""
        return listed(self.finished.told()) if self.finished else NOT_MEASURED

    def finished_line(self) -> dict | None:
        """The finished thread, as the record takes it."""
        if self.finished is None:
            return None
        measured, (lower, upper) = self.finished.pitch_diameter_mm, self.finished.limits_mm
        return {
            "step": self.step,
            "quantity": f"pitch diameter over wires, {self.finished.planned.name}",
            "value": measured.value,
            "uncertainty": measured.expanded_uncertainty,
            "unit": "mm",
            "lower": lower,
            "upper": upper,
            "where_from": self.finished.where_from,
            "instrument": {"name": "micrometer over three wires"},
        }

    @once_known
    def finished_record_box(self) -> RecordBox | Said:
        """A button that writes the finished thread into the record."""
        record = self._record()
        return (
            record
            if isinstance(record, Said)
            else RecordBox(self.finished_line, add=record.add, note=record.note)
        )

    @once_known
    def card_picture(self) -> Picture | Said:
        """The first sheet of the card, without the day: it is stored with the page."""
        return pictures(replace(self._card(), date=DATED_LATER))[0]

    @once_known
    def card_box(self) -> CardBox | Said:
        """Buttons that write the card."""
        record = self._record()
        if isinstance(record, Said):
            return record
        return CardBox(self._card, folder=record.folder, note=NOT_KEPT if record.note else "")

    @staticmethod
    def _lacking(plan: ThreadPlan) -> Said:
        return listed(plan.notes)

    def _tip(self) -> dict[str, float]:
        thread = self.thread
        return {"tip_flat_mm": thread.tip_flat_mm or 0.0, "tip_radius_mm": thread.tip_radius_mm or 0.0}

    def _tool(self) -> dict[str, float]:
        first = self.machine.threading.first_cut_mm or USUAL_FIRST_CUT_MM
        return {**self._tip(), "first_cut_mm": first, "last_cut_mm": LAST_CUT_MM}

    def _card(self) -> Card:
        return card_of(self.machine, self.numbers)

    def _record(self) -> Record | Said:
        if self.machine.folder is None:
            return Said("Choose a machine on the start page; its record and its card lie in its folder.")
        try:
            return Record(self.machine.folder)
        except MachinelabError as error:
            return Said(str(error))

    def _planned(self, thread: ThreadToCut, place: int) -> PlannedThread:
        return PlannedThread(
            name_of(thread, place), thread_plan(self.machine, thread), self._lead_error_ppm(thread)
        )

    def _lead_error_ppm(self, thread: ThreadToCut) -> float:
        """The screw's own error with the ratio's on top; NaN while the screw's is not known."""
        wanted, own = self.machine.steps_per_count(thread), self.machine.leadscrew.lead_error_ppm
        if own is None or wanted is None:
            return math.nan
        return own + abs(pitch_error_ppm(nearest_ratio(wanted, *largest_numbers(self.machine)), wanted))

    def _new_finished_sheet(self) -> Sheet:
        kept = self.readings.of(self.step)
        named = {one.name: one for one in self.planned}
        boxes = {
            "over_wires_mm": OVER_WIRES,
            "reading_doubt_mm": READING_DOUBT,
            "wire_mm": WIRE,
            "wire_doubt_mm": WIRE_DOUBT,
            "nut_mm": NUT,
        }
        typed = {name: Typed(field, kept.get(f"finished_{name}", "")) for name, field in boxes.items()}
        chosen = Choice("Thread that was cut", named, chosen=kept.get("finished_thread", ""))
        return Sheet(
            {"thread": chosen, **typed},
            work_out=finished_thread,
            tell=FinishedThread.told,
            keep=lambda name, text: self.readings.keep(self.step, f"finished_{name}", text),
        )


def _cutting_words(plan: ThreadPlan) -> tuple[str, ...]:
    """Blank, depth, cuts, wires and hole, each in words."""
    if plan.thread is None or not plan.pitch_diameters_mm:
        return ("not known",) * 5
    length = plan.lengths
    depth, cuts = "tip not known", "tip not known"
    if plan.schedule:
        schedule = plan.schedule
        depth = f"{length.told(schedule.depths_mm[-1], 2)} ({plan.tool})"
        first = length.told(schedule.cuts_mm[0], 2)
        cuts = f"{len(schedule.cuts_mm)} + {schedule.spring_passes}, first {first}"
    over = " to ".join(length.number(reading, 3) for reading in plan.over_wires_mm) or "no wires"
    wires = over
    if plan.over_wires_mm:
        wires = f"{over} {length.unit} on {length.number(plan.wire_mm, 3)} ({plan.measured_against})"
    return length.told(plan.blank_mm, 2), depth, cuts, wires, length.told(_nut_hole_mm(plan), 2)


def _nut_hole_mm(plan: ThreadPlan) -> float:
    """The hole in the nut of a fastening thread as usual; in that of a lead screw all of its height."""
    form, pitch = plan.thread.form, float(plan.thread.pitch_mm)
    basic = float(plan.thread.nominal_diameter_mm or plan.blank_mm)
    return tap_drill_mm(
        basic,
        thread_height_mm=(form.crest_height + form.nut_crest_height) * pitch,
        engagement_share=1.0 if form.play_mm else USUAL_NUT_SHARE,
    )
