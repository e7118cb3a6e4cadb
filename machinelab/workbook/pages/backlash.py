"""Page 11: how true the leadscrew moves the carriage, what play there is, and what a thread needs of it."""

from functools import partial
from typing import ClassVar

import pandas as pd

from machinelab.errors import MachinelabError
from machinelab.leadscrew.backlash import PeriodicError, take_up_mm
from machinelab.units import Field, show
from machinelab.workbook import axis_advice
from machinelab.workbook.axis_advice import MARGIN_LEADS, USUAL_SPRING_MM
from machinelab.workbook.axis_results import (
    USUAL_BACKLASH_MM,
    AxisLimits,
    AxisResult,
    evaluate_close,
    evaluate_table,
)
from machinelab.workbook.figures.backlash import PositionErrors, TakeUp
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.measured import with_interval
from machinelab.workbook.pages.page import Page, Said, for_post, listed, once_known
from machinelab.workbook.panels.backlash import backlash_panel, view_take_up
from machinelab.workbook.panels.coast_bench import CoastBench
from machinelab.workbook.panels.entry import Entry
from machinelab.workbook.panels.typed import Typed
from machinelab.workbook.share import Notes, Paragraph, Post, Table, calculation
from machinelab.workbook.typed_table import OTHER_UNITS, read_columns
from machinelab.workbook.verdict import Verdict, agrees
from machinelab.worked import Working, worked

USUAL_DIVISION_MM = 0.01
NAMELESS = "any thread of 1 mm lead"
TABLE, CLOSE, DIVISION = "along_the_bed", "within_a_turn", "division"
GUESS = Field(
    name="Backlash of the carriage, by feel",
    kind="length",
    low="0 mm",
    high="5 mm",
    example="0.2 mm",
    help="How far the screw turns, as travel, before the carriage follows.",
)
DIAL = Field(
    name="One division of the dial indicator",
    kind="length",
    low="0.0005 mm",
    high="0.2 mm",
    example="0.01 mm",
    help="As printed on its face.",
)
NOT_MEASURED = Said(
    "Nothing has been measured yet: fill in the table at *Measure*, then run the cells below."
)


class BacklashPage(Page):
    """The carriage of the chosen machine: play, lead, spread, and the take-up of every thread."""

    step: ClassVar[str] = "11"

    def __init__(self, machine, problem=""):
        super().__init__(machine, problem)
        self.guess = self.guess_box(GUESS)
        kept = self.readings.of(self.step)
        self.division = Typed(DIAL, kept.get(DIVISION, f"{USUAL_DIVISION_MM:g} mm"))
        self.table_entry = _entry(
            "Target, rising, falling",
            ("target mm", "reading with rising travel mm", "reading with falling travel mm"),
            "20.4 0.002 -0.118",
            "One run a line, in mm: where the carriage was sent, and measured less wanted, from either side.",
        )
        self.close_entry = _entry(
            "Place and reading",
            ("place mm", "reading mm"),
            "150.4 0.012",
            "In mm, all reached with rising travel; only if an error of every turn is looked for.",
        )
        self.found: AxisResult | None = None
        self.periodic: PeriodicError | None = None
        self._start_with(kept)

    def _start_with(self, kept: dict[str, str]) -> None:
        for entry, name, changed in (
            (self.close_entry, CLOSE, self._close_changed),
            (self.table_entry, TABLE, self._table_changed),
        ):
            entry.on_change(changed)
            entry.box.value = kept.get(name, "")
            entry.box.observe(partial(self._keep, name), "value")
        self.division.on_change(self._division_changed)

    def _keep(self, name: str, change) -> None:
        self.readings.keep(self.step, name, change["new"].strip())

    def _division_changed(self) -> None:
        self.readings.keep(self.step, DIVISION, self.division.text)
        self._table_changed()

    def _table_changed(self) -> None:
        try:
            self.analyse(self.table_entry.readings)
        except MachinelabError:
            # The bench tells what is wrong, beside its box.
            self.found = None

    def _close_changed(self) -> None:
        try:
            self.analyse_close(self.close_entry.readings)
        except MachinelabError:
            self.periodic = None
        self._table_changed()

    @property
    def limits(self) -> AxisLimits:
        """What the owner accepts."""
        target = self.machine.target
        return AxisLimits(target.backlash_mm, target.lead_error_ppm, self.lengths)

    @property
    def leads_mm(self) -> dict[str, float]:
        """The threads of the machine with their leads."""
        known = {one.name or one.designation: one.lead_mm for one in self.machine.threads}
        return {name: float(lead) for name, lead in known.items() if name and lead} or {NAMELESS: 1.0}

    @property
    def play_mm(self) -> float:
        """Backlash as measured, or as the machine file has it, or a usual one."""
        if self.found:
            return self.found.evaluated.reversal_um / 1000
        filed = self.machine.carriage.backlash_mm
        return USUAL_BACKLASH_MM if filed is None else filed

    @once_known
    def working(self) -> Working | Said:
        """Where the first thread may begin, with the numbers in place."""
        lead = next(iter(self.leads_mm.values()))
        return worked(
            take_up_mm,
            backlash_mm=self.filed_play_mm,
            spring_mm=USUAL_SPRING_MM,
            margin_mm=MARGIN_LEADS * lead,
        )

    @property
    def filed_play_mm(self) -> float:
        """Backlash of the machine file, or a usual one."""
        filed = self.machine.carriage.backlash_mm
        return USUAL_BACKLASH_MM if filed is None else filed

    @once_known
    def threads(self) -> pd.DataFrame:
        """Take-up of every thread."""
        rows = []
        for name in self.leads_mm:
            view = self._view(name)
            rows.append(
                (
                    name,
                    f"{view.take_up_turns:.2g}",
                    self.lengths.told(view.begin_mm, 2),
                    f"{view.begin_turns:.2g}",
                )
            )
        columns = ["thread", "carriage follows after, turns", "begin before the thread", "that is, turns"]
        return pd.DataFrame(rows, columns=columns).set_index("thread").rename_axis(None)

    def _view(self, thread: str):
        return view_take_up(
            thread=thread,
            play_mm=self.filed_play_mm,
            spring_mm=USUAL_SPRING_MM,
            leads_mm=self.leads_mm,
            lengths=self.lengths,
        )

    @once_known
    def picture(self) -> Picture:
        """Screw and carriage after a change of direction, for the first thread."""
        return TakeUp.draw(self._view(next(iter(self.leads_mm))))

    @once_known
    def panel(self):
        """The same with thread, play and spring to move."""
        return backlash_panel(
            self.leads_mm,
            thread=next(iter(self.leads_mm)),
            play_mm=self.filed_play_mm,
            spring_mm=USUAL_SPRING_MM,
            lengths=self.lengths,
        )

    @once_known
    def where_to_read(self) -> Said:
        """Places for the two rows of readings on this screw."""
        return Said(axis_advice.where_to_read(float(self.machine.leadscrew.lead_mm), self.lengths))

    def analyse(self, rows) -> AxisResult:
        """Evaluate the table along the bed."""
        if rows is None:
            raise MachinelabError("There are no readings yet.")
        lead = self.machine.leadscrew.lead_mm
        self.found = evaluate_table(
            rows,
            division_mm=float(self.division.value or USUAL_DIVISION_MM),
            limits=self.limits,
            screw_lead_mm=None if lead is None else float(lead),
            periodic=self.periodic,
        )
        return self.found

    def analyse_close(self, rows) -> PeriodicError:
        """Evaluate the readings within a few turns of the screw."""
        lead = self.machine.leadscrew.lead_mm
        self.periodic = evaluate_close(rows, screw_lead_mm=float(lead))
        return self.periodic

    @once_known
    def bench(self) -> CoastBench:
        """Where the readings along the bed come in."""
        return CoastBench(self.table_entry, analyse=self.analyse, tell=_told, chart=PositionErrors)

    @once_known
    def measured_picture(self) -> Picture | Said:
        """The readings along the bed."""
        return PositionErrors.draw(self.found) if self.found else NOT_MEASURED

    @once_known
    def evaluated(self) -> pd.DataFrame | Said:
        """The figures of the evaluation, in micrometres."""
        return self.found.table() if self.found else NOT_MEASURED

    @once_known
    def every_turn(self) -> Said:
        """What the closely spaced readings showed."""
        if self.periodic is None:
            return Said(
                "No readings within a turn of the screw: an error of every turn has not been looked for."
            )
        swing = self.periodic.amplitude_um
        word = "is there" if self.periodic.proven else "is not proven by these readings"
        return Said(f"An error of every turn of the screw {word}: half swing {with_interval(swing)} µm.")

    @once_known
    def compared(self) -> pd.DataFrame:
        """The reader's guess, the machine file and the measurement side by side."""
        filed = self.machine.carriage.backlash_mm
        measured = "not measured yet"
        if self.found:
            doubt = self.found.reversal_uncertainty_um / 1000
            measured = f"{self.found.evaluated.reversal_um / 1000:.3f} mm +/- {doubt:.3f} (k=2)"
        rows = [
            ("your guess", self.guess.shown),
            ("in the machine file", "not there" if filed is None else show(filed, "mm")),
            ("measured", measured),
        ]
        return pd.DataFrame(rows, columns=["", "backlash at the carriage"]).set_index("").rename_axis(None)

    @once_known
    def verdict(self) -> Verdict | Said:
        """Whether the backlash is within what the owner accepts."""
        return self.found.backlash_verdict() if self.found else NOT_MEASURED

    @once_known
    def lead_verdict(self) -> Verdict | Said:
        """Whether the lead error is within what the owner accepts."""
        return self.found.lead_verdict() if self.found else NOT_MEASURED

    @once_known
    def agreement(self) -> Said:
        """Whether the screw is as its maker, or the machine file, says."""
        filed = self.machine.leadscrew.lead_error_ppm
        if self.found is None:
            return NOT_MEASURED
        if filed is None:
            return Said(
                "The machine file does not say how true the screw is, so there is nothing to compare with."
            )
        lead = self.found.evaluated.lead_error_ppm
        found = agrees(
            round(lead.value, 2),
            uncertainty=lead.expanded_uncertainty,
            predicted=0.0,
            predicted_uncertainty=round(filed, 1),
            unit="ppm",
        )
        return Said(str(found))

    @once_known
    def decision(self) -> Said:
        """What the figures mean for this machine, and what to do first."""
        if self.found is None:
            return NOT_MEASURED
        lines = [f"**{one.name}** ({one.size_um:.0f} µm): {one.meaning}" for one in self.found.findings]
        lines = lines or ["Nothing stands out: play, spread and lead are within what you accept."]
        lead, longest = self.machine.leadscrew.lead_mm, max(self.leads_mm.values())
        lines += axis_advice.for_threading(self.found, longest)
        lines += axis_advice.for_the_file(self.found, lead)
        if self.periodic is None:
            lines.append("An error of every turn of the screw has not been looked for: see *Measure*.")
        return listed(lines)

    def record_line(self) -> dict | None:
        """The backlash, with lead and spread as its conditions."""
        if self.found is None:
            return None
        one, limit = self.found.evaluated, self.machine.target.backlash_mm
        why = self.machine.target.why.get("backlash", "no reason given")
        return {
            "step": self.step,
            "quantity": "backlash of the carriage",
            "value": round(one.reversal_um / 1000, 5),
            "uncertainty": self.found.reversal_uncertainty_um / 1000,
            "unit": "mm",
            "lower": None,
            "upper": limit,
            "where_from": f"own choice: {why}" if limit else "",
            "conditions": {
                "lead error": f"{with_interval(one.lead_error_ppm)} ppm",
                "comes back within, both ways": f"{one.repeatability_um:.0f} um",
            },
            "instrument": {"name": "dial indicator and gauge blocks", "U_from": "dial's division and runs"},
        }

    def post(self) -> Post | None:
        """The evaluation with its picture, the findings and the take-up."""
        if self.still_needed or self.found is None:
            return None
        table = self.found.table().reset_index(names="what")
        picture = self.measured_picture()
        findings = tuple(f"{one.name}: {one.meaning}" for one in self.found.findings)
        return Post(
            f"Leadscrew and carriage of {self.machine.name}",
            (
                Paragraph(self.found.headline),
                calculation(
                    self.working(),
                    meaning="Where a pass must begin so that play does no harm.",
                    assumptions=(
                        "the backlash that the machine file has, or a usual one where it has none",
                        f"{USUAL_SPRING_MM:g} mm that screw and bearing give under a light cut (common "
                        "practice, no source)",
                        "one lead of the thread to spare (common practice, no source)",
                    ),
                ),
                Table(tuple(table.columns), tuple(map(tuple, table.to_numpy())), "Evaluation"),
                Paragraph(str(self.found.backlash_verdict())),
                *([Notes(findings, "What to look at, worst first")] if findings else []),
                *for_post(picture),
            ),
        )


def _entry(label: str, columns: tuple[str, ...], example: str, help_words: str) -> Entry:
    return Entry(
        label,
        reader=partial(read_columns, columns=columns, example=example),
        describe=lambda rows: f"{len(rows)} lines understood.",
        example=example,
        accept=".csv,.txt,.tsv",
        help_words=f"{help_words} {OTHER_UNITS.format('in thou')}",
    )


def _told(found: AxisResult) -> list[str]:
    return [found.headline, str(found.backlash_verdict()), *found.evaluated.notes]
