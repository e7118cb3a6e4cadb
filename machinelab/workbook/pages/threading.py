"""Page 10: at which speed a thread can be cut up to a shoulder, on this machine and by this hand."""

import pandas as pd

from machinelab.estimate import Estimate
from machinelab.units import Field
from machinelab.workbook import shoulder_advice
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.figures.own_stops import OwnStopsChart
from machinelab.workbook.own_stops import OwnStops, own_stops
from machinelab.workbook.pages.page import WAITING, Said, for_post, listed, once_known
from machinelab.workbook.pages.threading_card import ThreadCardPage
from machinelab.workbook.panels.own_stops import OwnStopsBench, StopsShown
from machinelab.workbook.share import Notes, Paragraph, Post, Table, calculation
from machinelab.workbook.shoulder_machine import COUNT, ShoulderNumbers
from machinelab.workbook.shoulder_numbers import HighestSpeed, highest_speed
from machinelab.workbook.shoulder_proof import needed_groove
from machinelab.workbook.shoulder_sheet import SheetRow, sheet_rows, sheet_table
from machinelab.workbook.verdict import Verdict, verdict

GUESS = Field(
    name="Highest speed, by feel",
    kind="speed",
    low="5 rpm",
    high="3000 rpm",
    example="120 rpm",
    help="At which you would dare to cut it up to its shoulder, every pass, without looking at any figure.",
)
NO_STOPS = Said(
    "No stops of your own have been typed yet. Make them at *Measure*, then run the cells below it. Until "
    "then a usual hand stands for yours, or the counter's delay from the machine file."
)


class ThreadingPage(ThreadCardPage):
    """The threading pass of the chosen machine: what to expect, your own hand, the sheet of threads."""

    def __init__(self, machine, problem=""):
        super().__init__(machine, problem)
        self.guess = self.guess_box(GUESS)
        self.own_stops = None if self.still_needed else self._new_bench()

    @property
    def stops(self) -> OwnStops | None:
        """The reader's own stops as they stand in the box; None where there are none."""
        shown = self.own_stops.shown if self.own_stops else None
        return shown.stops if shown else None

    @once_known
    def bench(self) -> OwnStopsBench | Said:
        """Where the stops come in; picture and words follow at once."""
        return self.own_stops

    @property
    def numbers(self) -> ShoulderNumbers:
        """The machine with the reader's own hand, where it is known."""
        return self.usual.with_own_stops(self.stops.reactions_s) if self.stops else self.usual

    @property
    def own_picture(self) -> Picture | Said:
        """The reader's stops beside the spread that passes are drawn from."""
        if self.nothing_measured:
            return self.nothing_measured
        return OwnStopsChart.draw(self._shown(self.stops))

    @property
    def nothing_measured(self) -> Said | None:
        """Why there are no own stops; None when there are."""
        if self.still_needed:
            return WAITING
        return NO_STOPS if self.stops is None else None

    @property
    def own_words(self) -> Said:
        """What the stops say."""
        return self.nothing_measured or listed(self.stops.told())

    @once_known
    def compared(self) -> pd.DataFrame | Said:
        """The reader's guess, the machine with a usual hand, and with the reader's own."""
        thread, groove = self.thread, self.highest.groove
        rows = [("your guess", self.guess.shown)]
        hand = "by the count" if self.usual.stopped_by == COUNT else "by a usual hand"
        rows.append((f"computed, {hand}", _limit_words(highest_speed(self.machine, thread, self.usual))))
        if self.stops:
            rows.append(("by your own stops", _limit_words(self.highest)))
        heading = f"{self.thread_name}, groove of {self.numbers.lengths.short(groove.width_mm)}"
        return pd.DataFrame(rows, columns=["", heading]).set_index("")

    @property
    def needed(self) -> Estimate:
        """Groove for 99 passes in 100 at the speed of the tables."""
        return needed_groove(self.numbers, lead_mm=self.lead_mm, speed_rpm=self.shown_rpm)

    def verdict(self) -> Verdict:
        """The groove for 99 passes in 100, in doubt as far as the stops leave it, against the one drawn."""
        needed = self.needed
        return verdict(
            needed.value, needed.expanded_uncertainty, None, self.highest.groove.width_mm, unit="mm"
        )

    @once_known
    def judged(self) -> Said:
        """The verdict in words."""
        one = self.verdict()
        return Said(
            f"Groove that 99 passes in 100 need at {self.shown_rpm:.0f} rpm: **{one.word}**: {one.sentence}"
        )

    @property
    def rows(self) -> tuple[SheetRow, ...]:
        """Every thread on the list with its speed."""
        return sheet_rows(self.machine, self.numbers)

    @once_known
    def sheet(self) -> pd.DataFrame | Said:
        """The sheet of every thread."""
        return sheet_table(self.rows)

    @once_known
    def decision(self) -> Said:
        """What the figures mean for this machine, the most pressing first."""
        return listed(shoulder_advice.told(self.machine, self.numbers, self.rows))

    def record_line(self) -> dict | None:
        """The groove that 99 passes in 100 need, by the reader's own stops or by the count."""
        if self.stops is None:
            return None
        needed, groove = self.needed, self.highest.groove
        usual = needed_groove(self.usual, lead_mm=self.lead_mm, speed_rpm=self.shown_rpm)
        return {
            "step": self.step,
            "quantity": f"groove for 99 passes in 100, {self.thread_name}",
            "value": needed.value,
            "uncertainty": needed.expanded_uncertainty,
            "unit": "mm",
            "predicted": usual.value,
            "predicted_uncertainty": usual.expanded_uncertainty,
            "formula": "the same passes with a usual hand",
            "upper": groove.width_mm,
            "where_from": groove.where_from,
            "conditions": {
                "speed": f"{self.shown_rpm:.0f} rpm",
                "ended by": self.usual.stopped_by,
                "reaction": f"{self.stops.median_s:.3f} s",
                "its spread": f"{self.stops.sd_s:.3f} s",
            },
            "instrument": {
                "name": f"{len(self.stops.reactions_s)} stops on scrap",
                "U_from": "what so few stops leave open",
            },
        }

    def post(self) -> Post | None:
        """The thread with its working, the headline table, the sheet and what to change."""
        if self.still_needed:
            return None
        picture = self.picture()
        return Post(
            f"Threading to a shoulder on {self.machine.name}",
            (
                Paragraph(self.view().headline),
                calculation(
                    self.working(),
                    meaning="Turns past the end of the thread in an ordinary pass.",
                    assumptions=self.numbers.where_from,
                ),
                calculation(
                    self.groove_working(),
                    meaning="The groove that such a pass takes.",
                    assumptions=(
                        "an ordinary pass: half of all passes run on further",
                        "half the tool's width and the air at the wall as they stand in the formula",
                    ),
                ),
                _shared(self.sheet(), "Every thread on the list, 99 passes in 100 clear of the shoulder"),
                _shared(self.standard(), "Highest speed in standard grooves (DIN 76-1, from memory), rpm"),
                Notes(tuple(shoulder_advice.told(self.machine, self.numbers, self.rows)), "What to do"),
                *for_post(picture),
            ),
        )

    def _new_bench(self) -> OwnStopsBench:
        return OwnStopsBench(
            self.readings.of(self.step),
            work_out=self._stops_of,
            keep=lambda name, text: self.readings.keep(self.step, name, text),
        )

    def _stops_of(self, rows, *, speed_rpm: float, unit: str, lead_mm: float) -> StopsShown:
        found = own_stops(
            rows,
            speed_rpm=speed_rpm,
            unit=unit,
            lead_mm=lead_mm,
            counts_per_turn=self.machine.counts_per_spindle_turn,
            stopping=self.usual.stopping,
        )
        return self._shown(found)

    def _shown(self, stops: OwnStops) -> StopsShown:
        drawn = self.usual.with_own_stops(stops.reactions_s).reactions_s
        return StopsShown(stops, drawn, self.usual.reaction_s)


def _limit_words(found: HighestSpeed) -> str:
    return f"{found.speed_rpm:.0f} rpm" if found.feasible else "no feasible speed"


def _shared(table: pd.DataFrame, title: str) -> Table:
    rows = table.reset_index(names=table.index.name or "thread")
    return Table(tuple(map(str, rows.columns)), tuple(tuple(map(str, row)) for row in rows.to_numpy()), title)
