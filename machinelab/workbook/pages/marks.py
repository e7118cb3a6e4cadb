"""Page 13, regular marks: where each part of this machine would print them, and which one did."""

from functools import partial
from typing import ClassVar

import numpy as np
import pandas as pd

from machinelab.accuracy.mark_profile import MarkProfile, profile_spacing
from machinelab.accuracy.mark_ranking import NONE_OF_THESE
from machinelab.accuracy.marks import SPINDLE, DriveElement, seen_along_the_bar_mm, spindle_locked_mm
from machinelab.errors import MachinelabError
from machinelab.units import Field
from machinelab.workbook.drive_elements import drive_elements
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.figures.marks import MarkPlaces, MarkSuspects
from machinelab.workbook.mark_results import RULERS_MM, MarkResult, element_table, percent, read_cuts, weigh
from machinelab.workbook.pages.page import Page, Said, for_post, listed, once_known
from machinelab.workbook.panels.choice import Choice
from machinelab.workbook.panels.coast_bench import CoastBench
from machinelab.workbook.panels.entry import Entry
from machinelab.workbook.panels.marks import mark_panel, view_marks
from machinelab.workbook.share import Calculation, Notes, Paragraph, Post, Table, calculation
from machinelab.workbook.typed_table import OTHER_UNITS, read_columns
from machinelab.worked import Working, worked

# A fine turning feed and a speed that is no round part of the mains; they only start the sliders.
USUAL_FEED_MM, USUAL_SPEED_RPM = 0.1, 310.0
USUAL_SPEEDS_RPM = (60.0, 1400.0)
CUTS, RULER, PROFILE = "cuts", "ruler", "profile"
GUESS = Field(
    name="Distance from mark to mark, by eye",
    kind="length",
    low="0.01 mm",
    high="200 mm",
    example="3 mm",
    help="Along the bar, from one band to the next.",
)
ASSUMED = ("the feed as it was typed", "pulleys and gears as the machine file has them; belts creep a little")
NOT_MEASURED = Said("No marks have been measured yet: see *Measure*.")


class MarksPage(Page):
    """Regular marks on the work of the chosen machine."""

    step: ClassVar[str] = "13"

    def __init__(self, machine, problem=""):
        super().__init__(machine, problem)
        kept = self.readings.of(self.step)
        self.guess = self.guess_box(GUESS)
        self.ruler = Choice("Measured with", RULERS_MM, chosen=kept.get(RULER, ""))
        self.cut_entry = Entry(
            "Feed, rpm, length, spacings",
            reader=partial(
                read_columns,
                columns=("feed mm", "speed rpm", "length mm", "number of spacings"),
                example="0.1 310 30.2 10",
            ),
            describe=lambda rows: f"{len(rows)} cuts understood.",
            example="0.1 310 30.2 10\n0.2 310 30.1 10",
            help_words="One cut a line, in mm; a second cut at another feed tells more than a better rule. "
            + OTHER_UNITS.format("in rpm in"),
        )
        self.profile_entry = Entry(
            "Place and height",
            reader=partial(read_columns, columns=("place mm", "height um"), example="0.25 1.4"),
            describe=lambda rows: f"{len(rows)} readings understood.",
            example="0.00 1.2\n0.25 1.4",
            accept=".csv,.txt,.tsv",
            help_words="Only if you have a dial or a tracer along the bar: mm and µm. "
            + OTHER_UNITS.format("in thou"),
        )
        self.found: MarkResult | None = None
        self.profile: MarkProfile | None = None
        if not self.still_needed:
            self._start_with(kept)

    def _start_with(self, kept: dict[str, str]) -> None:
        self.cut_entry.on_change(self._cuts_changed)
        self.cut_entry.box.value = kept.get(CUTS, "")
        self.cut_entry.box.observe(partial(self._keep, CUTS), "value")
        self.profile_entry.on_change(self._profile_changed)
        self.profile_entry.box.value = kept.get(PROFILE, "")
        self.profile_entry.box.observe(partial(self._keep, PROFILE), "value")
        self.ruler.on_change(self._ruler_changed)

    def _keep(self, name: str, change) -> None:
        self.readings.keep(self.step, name, change["new"].strip())

    def _ruler_changed(self) -> None:
        self.readings.keep(self.step, RULER, self.ruler.text)
        self._cuts_changed()

    def _cuts_changed(self) -> None:
        try:
            self.analyse(self.cut_entry.readings)
        except MachinelabError:
            # The bench tells what is wrong, beside its box.
            self.found = None

    def _profile_changed(self) -> None:
        try:
            self.profile = profile_spacing(*self.profile_entry.readings.T)
        except MachinelabError as error:
            self.profile = None
            self.profile_entry.understood.value = str(error)

    @property
    def elements(self) -> list[DriveElement]:
        """Every part of the machine that could print marks."""
        return drive_elements(self.machine)

    @property
    def screw_lead_mm(self) -> float:
        """Lead of the leadscrew."""
        return float(self.machine.leadscrew.lead_mm)

    @property
    def speeds_rpm(self) -> tuple[float, float]:
        """Slowest and fastest of the spindle."""
        low = self.machine.spindle.lowest_speed_rpm or USUAL_SPEEDS_RPM[0]
        return low, self.machine.highest_spindle_speed_rpm or USUAL_SPEEDS_RPM[1]

    @property
    def cut(self) -> tuple[float, float]:
        """Feed and speed of the last cut, or usual ones."""
        if self.found:
            return self.found.cuts[-1].feed_mm, self.found.cuts[-1].speed_rpm
        return USUAL_FEED_MM, USUAL_SPEED_RPM

    @once_known
    def working(self) -> Working | Said:
        """Marks of the spindle motor, with the numbers in place."""
        ratio = float(self.machine.motor_turns_per_spindle_turn)
        return worked(spindle_locked_mm, feed_mm=USUAL_FEED_MM, orders_per_turn=ratio)

    @once_known
    def folded(self) -> Working | Said:
        """How the same marks are seen along the bar."""
        ratio = float(self.machine.motor_turns_per_spindle_turn)
        true = float(spindle_locked_mm(USUAL_FEED_MM, ratio))
        return worked(seen_along_the_bar_mm, spacing_mm=true, feed_mm=USUAL_FEED_MM)

    @once_known
    def table(self) -> pd.DataFrame:
        """Where the marks of every part would stand."""
        feed, speed = self.cut
        return element_table(
            self.elements,
            feed_mm=feed,
            speed_rpm=speed,
            screw_lead_mm=self.screw_lead_mm,
            lengths=self.lengths,
        )

    @once_known
    def picture(self) -> Picture:
        """The same on one scale, with what was measured."""
        feed, speed = self.cut
        measured = self.found.cuts[-1].spacing_mm if self.found else None
        return MarkPlaces.draw(
            view_marks(
                feed_mm=feed,
                speed_rpm=speed,
                elements=self.elements,
                screw_lead_mm=self.screw_lead_mm,
                measured_mm=measured,
                lengths=self.lengths,
            )
        )

    @once_known
    def panel(self):
        """The same with feed and speed to move."""
        feed, speed = self.cut
        low, high = self.speeds_rpm
        return mark_panel(
            self.elements,
            screw_lead_mm=self.screw_lead_mm,
            feed_mm=feed,
            speed_rpm=speed,
            speeds_rpm=[float(rpm) for rpm in np.linspace(low, high, 60).round()],
            lengths=self.lengths,
        )

    def analyse(self, rows) -> MarkResult:
        """Weigh every part of the machine against the cuts."""
        if rows is None:
            raise MachinelabError("There are no cuts yet.")
        self.found = weigh(
            self.elements,
            read_cuts(rows, ruler_mm=self.ruler.value),
            screw_lead_mm=self.screw_lead_mm,
            speeds_rpm=self.speeds_rpm,
            lengths=self.lengths,
        )
        return self.found

    @once_known
    def bench(self) -> CoastBench:
        """Where the cuts come in."""
        return CoastBench(self.cut_entry, analyse=self.analyse, tell=_told, chart=MarkSuspects)

    @once_known
    def suspects_picture(self) -> Picture | Said:
        """The most probable parts."""
        return MarkSuspects.draw(self.found) if self.found else NOT_MEASURED

    @once_known
    def profile_told(self) -> Said:
        """What a logged profile showed."""
        if self.profile is None:
            return Said("No profile has been logged; counted marks are enough.")
        chance = self.profile.false_alarm
        sure = "no accident" if chance < 0.01 else "perhaps an accident"
        every = self.lengths.estimate(self.profile.spacing_mm, 3)
        swing = self.lengths.small.told(self.profile.amplitude_um / 1000)
        finest = self.lengths.short(self.profile.finest_mm)
        return Said(
            f"The profile swings most every {every}, half swing {swing}; {sure} (noise would show such a "
            f"peak with a chance of {chance:.2g}). Marks closer than {finest} cannot be told from it."
        )

    @once_known
    def compared(self) -> pd.DataFrame:
        """Guess and measurement side by side."""
        measured = "not measured yet"
        if self.found:
            cut = self.found.cuts[-1]
            told, number = self.lengths.told, self.lengths.number
            measured = f"{told(cut.spacing_mm, 3)} +/- {number(2 * cut.sd_mm, 3)} (k=2)"
        rows = [("your guess", self.guess.shown), ("measured on the last cut", measured)]
        if self.profile:
            rows.append(("from the profile", self.lengths.estimate(self.profile.spacing_mm, 3)))
        return pd.DataFrame(rows, columns=["", "distance from mark to mark"]).set_index("").rename_axis(None)

    @once_known
    def decision(self) -> Said:
        """What to look at, and which cut would tell more."""
        if self.found is None:
            return NOT_MEASURED
        lines = [self.found.headline, self.found.details]
        if self.found.next_cut:
            lines.append(self.found.next_cut)
        elif self.found.ranking.decided:
            lines.append("Mend or change that part, cut again with the same feed, and see the marks go.")
        return listed(lines)

    def record_line(self) -> dict | None:
        """The spacing of the marks and what made them."""
        if self.found is None:
            return None
        cut, ranking = self.found.cuts[-1], self.found.ranking
        return {
            "step": self.step,
            "quantity": "distance from mark to mark",
            "value": round(cut.spacing_mm, 4),
            "uncertainty": 2 * cut.sd_mm,
            "unit": "mm",
            **self._foretold(),
            "conditions": {
                "feed": f"{cut.feed_mm:.4g} mm",
                "speed": f"{cut.speed_rpm:.0f} rpm",
                "most probable": f"{ranking.names[0]} ({percent(ranking.probability[0])})",
            },
            "instrument": {"name": self.ruler.text, "U_from": "both ends over the number of spacings"},
        }

    def _foretold(self) -> dict:
        """Where the most probable part would print its marks; nothing when no part fits."""
        name, place = self.found.ranking.names[0], self.found.ranking.spacing_mm[0]
        if name == NONE_OF_THESE:
            return {}
        return {"predicted": round(place, 4), "formula": f"spacing of the marks of: {name}"}

    def post(self) -> Post | None:
        """Suspects with their probabilities and the next cut."""
        if self.still_needed or self.found is None:
            return None
        rows = tuple((name, percent(share)) for name, share in self.found.suspects[:5])
        picture = self.suspects_picture()
        return Post(
            f"Marks in the finish on {self.machine.name}",
            (
                Paragraph(f"{self.found.headline} {self.found.details}"),
                *self._calculated(),
                Table(("part", "probability"), rows, "Suspects"),
                *([Notes((self.found.next_cut,), "Next")] if self.found.next_cut else []),
                *for_post(picture),
            ),
        )

    def _calculated(self) -> tuple[Calculation, ...]:
        """Where the most probable part would print its marks; the spindle motor's where another law holds."""
        name = self.found.ranking.names[0]
        feed = self.found.cuts[-1].feed_mm
        locked = {one.name: one.rate for one in self.elements if one.locked_to == SPINDLE}
        if name not in locked:
            meaning = "Where the spindle motor's marks stand."
            return (calculation(self.working(), meaning=meaning, assumptions=ASSUMED),)
        apart = worked(spindle_locked_mm, feed_mm=feed, orders_per_turn=float(f"{locked[name]:.6g}"))
        meaning = f"How far apart this part prints its marks: {name}."
        printed = calculation(apart, meaning=meaning, assumptions=ASSUMED)
        # A part that comes round in whole turns prints the same line every time: no fold to reckon.
        if locked[name] % 1 == 0:
            return (printed,)
        along = worked(seen_along_the_bar_mm, spacing_mm=float(f"{apart.result:.6g}"), feed_mm=feed)
        return printed, calculation(along, meaning="How far apart the same marks are seen along the bar.")


def _told(found: MarkResult) -> list[str]:
    return [line for line in (found.headline, found.details, found.next_cut) if line]
