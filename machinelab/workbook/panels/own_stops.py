"""Calibrate yourself: twenty stops on scrap go in, your own reaction and its spread come out."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from ipywidgets import HTML

from machinelab.errors import MachinelabError
from machinelab.workbook.figures.own_stops import OwnStopsChart
from machinelab.workbook.own_stops import BOX, EXAMPLE, LEAD, SPEED, UNITS, OwnStops
from machinelab.workbook.panels.choice import Choice
from machinelab.workbook.panels.entry import Entry
from machinelab.workbook.panels.frame import Framed, no_picture, place_for
from machinelab.workbook.panels.look import notice, words
from machinelab.workbook.panels.typed import Typed
from machinelab.workbook.typed_table import read_columns


@dataclass(frozen=True)
class StopsShown:
    """Own stops beside the spread that passes are drawn from, and beside the machine file."""

    stops: OwnStops
    drawn_s: np.ndarray
    file_s: float

    @property
    def headline(self) -> str:
        """The conclusion, for the top of the figure."""
        late = float(np.quantile(self.drawn_s, 0.99))
        return (
            f"Your stops: {self.stops.median_s:.2f} s in the middle, {late:.2f} s in one pass of a hundred; "
            f"the machine file says {self.file_s:.2f} s."
        )

    @property
    def details(self) -> str:
        """What else the figure shows, for those who cannot see it."""
        return (
            f"{len(self.stops.reactions_s)} stops at {self.stops.speed_rpm:.0f} rpm, standard deviation "
            f"{self.stops.sd_s:.2f} s, from {min(self.stops.reactions_s):.2f} to "
            f"{max(self.stops.reactions_s):.2f} s."
        )


class OwnStopsBench(Framed):
    """Boxes for the stops; what they come to is shown at once and kept word for word.

    Parameters
    ----------
    texts : mapping of str to str
        What was typed last time, by the name of the box.
    work_out : callable
        Rows, speed, unit and lead in, `StopsShown` out; raises `MachinelabError` in words.
    keep : callable
        Is given the name of a box and its text whenever it changes.
    """

    def __init__(self, texts: Mapping[str, str], *, work_out: Callable, keep: Callable[[str, str], None]):
        self.work_out = work_out
        self.keep = keep
        self.shown: StopsShown | None = None
        self.speed = Typed(SPEED, texts.get("stops_speed", ""))
        self.unit = Choice(
            "What you read", {unit: unit for unit in UNITS}, chosen=texts.get("stops_unit", "")
        )
        self.lead = Typed(LEAD, texts.get("stops_lead", ""))
        self.entry = Entry(
            "Past the mark",
            reader=lambda content, name: read_columns(content, ("past the mark",), EXAMPLE, name=name),
            describe=lambda rows: f"{len(rows)} stops understood.",
            example=EXAMPLE,
            help_words="One stop a line, in the order in which you made them; before the mark with a minus.",
        )
        self.chart = OwnStopsChart()
        self.picture = place_for(self.chart)
        self.told = HTML()
        self.notice = HTML(notice(""))
        boxes = [row.widget for row in (self.speed, self.unit, self.lead, self.entry)]
        self.frame(*boxes, self.notice, self.picture, self.told)
        self.entry.box.value = texts.get(BOX, "")
        self._listen()
        self.refresh()

    def refresh(self) -> None:
        """Work out what the stops come to and show it; what cannot be used is answered in words."""
        self.shown, problem = None, ""
        if self.entry.readings is not None and self.speed.value is not None:
            try:
                self.shown = self.work_out(
                    self.entry.readings,
                    speed_rpm=float(self.speed.value),
                    unit=self.unit.value,
                    lead_mm=float(self.lead.value or 1),
                )
            except MachinelabError as error:
                problem = str(error)
        self.notice.value = notice(problem)
        if self.shown is None:
            self.picture.value = no_picture(self.chart)
            self.told.value = words("Speed and stops are wanted.", "help")
            return
        self.chart.update(self.shown)
        self.picture.value = self.chart.live_html()
        self.told.value = "".join(words(line, "sentence") for line in self.shown.stops.told())

    def type_in(self, text: str) -> None:
        """Put stops into the box, as a person does."""
        self.entry.box.value = text

    def _listen(self) -> None:
        rows = {"stops_speed": self.speed, "stops_unit": self.unit, "stops_lead": self.lead}
        for name, row in rows.items():
            row.on_change(lambda name=name, row=row: self._changed(name, row.text))
        self.entry.box.observe(self._box_changed, "value")
        self.entry.on_change(self.refresh)

    def _changed(self, name: str, text: str) -> None:
        self.keep(name, text)
        self.refresh()

    def _box_changed(self, change) -> None:
        text = change["new"].strip()
        if not text:
            self.entry.readings = None
        self._changed(BOX, text)
