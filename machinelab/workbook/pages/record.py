"""Page 16: what has been proven and what is open, the sheet, and how a quantity has changed over time."""

import re
from collections.abc import Iterable
from dataclasses import replace
from typing import ClassVar

import pandas as pd

from machinelab.accuracy.change import least_provable_change
from machinelab.errors import MachinelabError
from machinelab.units import Field
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.figures.history import QuantityHistory
from machinelab.workbook.pages.page import Page, Said, for_post, listed
from machinelab.workbook.panels.choice import Choice
from machinelab.workbook.panels.correction import CorrectionBox
from machinelab.workbook.panels.history import history_panel
from machinelab.workbook.panels.live import LivePanel
from machinelab.workbook.panels.paper_box import PaperBox
from machinelab.workbook.record import Record
from machinelab.workbook.record.history import HEADINGS, History, histories, set_aside, sheet_rows
from machinelab.workbook.record.line import Line
from machinelab.workbook.record.sample import sample_lines
from machinelab.workbook.record_summary import MONTHS, USUAL_MONTHS, RecordSummary
from machinelab.workbook.report import Report, report_of
from machinelab.workbook.report.files import report_files
from machinelab.workbook.report.sheet import pictures
from machinelab.workbook.share import Calculation, Notes, Paragraph, Post, Table, calculation
from machinelab.workbook.share.markdown import Markdown
from machinelab.workbook.steps import recorded, standings
from machinelab.workbook.verdict import RECORDED, RULE, SOURCE
from machinelab.worked import Working, worked

QUANTITY = "commissioning record looked through"
_DAY, UNBROKEN = re.compile(r"\b\d{4}-\d\d-\d\d\b"), "\N{NON-BREAKING HYPHEN}"
NEXT_CHECK = "next_check"
GUESS = Field(
    name="Steps with nothing open",
    kind="count",
    low="0",
    high="15",
    example="9",
    help="Of the fifteen steps before this one: how many stand in the record with nothing left open?",
)
NO_MEASUREMENT = Said("*The record holds no measured value yet; measure on any page and write it down.*")
SAMPLE = (
    "**INVENTED sample.** This machine's own record is empty, so that an invented year of a village workshop "
    "is shown. It goes away with the first line that you write."
)
NOT_KEPT = (
    "This machine's folder is not written to: its report is made among the temporary files. "
    "Take it along by its link."
)
DATED_LATER = "Dated when you make it"
EMPTY = "The record is empty: every page ends with a button that writes its line."


class RecordPage(Page):
    """The record of the chosen machine, read as a whole."""

    step: ClassVar[str] = "16"

    def __init__(self, machine, problem=""):
        super().__init__(machine, problem)
        self.guess = self.guess_box(GUESS)
        self.next_check = Choice(
            "Check again after",
            MONTHS,
            chosen=self.readings.of(self.step).get(NEXT_CHECK, USUAL_MONTHS),
            help_words="Sooner after any change, a crash or a strange noise. Common practice, no source.",
        )
        self.next_check.on_change(lambda: self.readings.keep(self.step, NEXT_CHECK, self.next_check.text))

    @property
    def lines(self) -> tuple[Line, ...]:
        """The lines of the record; of the sample where the machine has one and no record of its own."""
        own, trouble = recorded(self.machine)
        return own or (() if trouble else self._sample())

    @property
    def is_sample(self) -> bool:
        """Whether what is shown is the invented sample."""
        return bool(self.lines) and not recorded(self.machine)[0]

    def about(self) -> Said:
        """What is shown, and whether the record's chain is whole."""
        own, trouble = recorded(self.machine)
        if self.is_sample:
            return Said(SAMPLE)
        if not own:
            return Said(Markdown().words(trouble) or EMPTY)
        return Said("\n\n".join(filter(None, (Markdown().words(trouble), self._chain()))))

    @property
    def summary(self) -> RecordSummary:
        """What stands, what is open, and when to look again."""
        return RecordSummary(standings(self.machine, self.lines), self.lines, self.next_check.value)

    def standing(self) -> pd.DataFrame:
        """Every step with its word, its lines, and what is open on it."""
        columns = ["step", "stands", "lines that count", "last", "open"]
        return (
            pd.DataFrame(_whole_days(self.summary.step_rows), columns=columns)
            .set_index("step")
            .rename_axis(None)
        )

    def sheet(self) -> pd.DataFrame | Said:
        """The inspection sheet: every line that counts."""
        rows = sheet_rows(self.lines)
        if not rows:
            return Said(EMPTY)
        return pd.DataFrame(_whole_days(rows), columns=HEADINGS).set_index(HEADINGS[0]).rename_axis(None)

    def rule(self) -> Said:
        """How a verdict is found, and where the rule is from."""
        return Said(f"{RULE}\n\n*{SOURCE}*")

    def set_aside(self) -> Said:
        """What was corrected or withdrawn."""
        told = [Markdown().words(one) for one in set_aside(self.lines)]
        return listed(told) if told else Said("No line was corrected or withdrawn.")

    @property
    def correction_box(self) -> CorrectionBox | Said:
        """A small form to correct or to withdraw a line."""
        record = self.record
        return record if isinstance(record, Said) else CorrectionBox(record)

    @property
    def histories(self) -> dict[str, History]:
        """Every measured quantity over time."""
        return histories(self.lines)

    def working(self) -> Working | Said:
        """What a quantity must change by before it is proven, numbers in place."""
        shown = self._first_history()
        if shown is None:
            return NO_MEASUREMENT
        return worked(
            least_provable_change,
            earlier_uncertainty=shown.first.uncertainty,
            later_uncertainty=shown.last.uncertainty,
        )

    def working_of(self) -> Said:
        """Which quantity the working is about."""
        shown = self._first_history()
        if shown is None:
            return NO_MEASUREMENT
        unit = f"in {shown.unit}" if shown.unit else "without a unit"
        return Said(
            f"For **{Markdown().words(shown.quantity)}**, {unit}: its first and its last measurement."
        )

    def picture(self) -> Picture | Said:
        """The quantity that was measured most often, over time."""
        found = next(iter(self.histories.values()), None)
        return QuantityHistory.draw(found) if found else NO_MEASUREMENT

    def panel(self) -> LivePanel | Said:
        """The same with the quantity to choose."""
        found = self.histories
        return history_panel(found) if found else NO_MEASUREMENT

    def changes(self) -> pd.DataFrame | Said:
        """Every quantity that was measured more than once: first, last, and whether it has changed."""
        rows = [one.row for one in self.histories.values() if len(one.measurements) > 1]
        if not rows:
            return Said("No quantity has been measured twice yet, so nothing can be said about a change.")
        columns = ["quantity", "first", "last", "E_n", "changed"]
        return pd.DataFrame(_whole_days(rows), columns=columns).set_index("quantity").rename_axis(None)

    def compared(self) -> pd.DataFrame:
        """The reader's guess beside what stands in the record."""
        found = self.summary
        rows = [
            ("your guess", self.guess.shown),
            ("in the record, with nothing open", str(len(found.settled))),
            ("in the record, with something open", str(len(found.open_steps))),
            ("nothing in the record", str(len(found.untouched))),
        ]
        return pd.DataFrame(rows, columns=["", "steps"]).set_index("").rename_axis(None)

    def decision(self) -> Said:
        """What to do next, and when to look again."""
        return listed(Markdown().words(one) for one in self.summary.told)

    @property
    def record(self) -> Record | Said:
        """The machine's record, or why there is none."""
        if self.machine.folder is None:
            return Said("Choose a machine on the start page; its record lies in its folder.")
        try:
            return Record(self.machine.folder)
        except MachinelabError as error:
            return Said(str(error))

    def report(self) -> Report:
        """The commissioning report as it stands today."""
        return report_of(self.machine, self.summary, is_sample=self.is_sample)

    def report_picture(self) -> Picture:
        """The first sheet of the report, without the day: it is stored with the page."""
        return pictures(replace(self.report(), made=DATED_LATER))[0]

    @property
    def report_box(self) -> PaperBox | Said:
        """Buttons that write the report."""
        record = self.record
        if isinstance(record, Said):
            return record
        note = NOT_KEPT if record.note else ""
        return PaperBox(
            "report", lambda paper: report_files(self.report(), paper), folder=record.folder, note=note
        )

    def record_line(self) -> dict | None:
        """That the record was looked through, with what was found; nothing while it is empty."""
        if self.is_sample or not self.lines:
            return None
        found = self.summary
        conditions = {"steps with nothing open": len(found.settled), "open points": len(found.open_points)}
        conditions["next check"] = found.next_day
        return {"step": self.step, "quantity": QUANTITY, "verdict": RECORDED, "conditions": conditions}

    def post(self) -> Post | None:
        """Sheet, open points and one quantity over time."""
        rows = sheet_rows(self.lines)
        if not rows:
            return None
        # A forum's box has room for few columns; the whole sheet stands in the report.
        few = Table(("check", "measured", "verdict", "date"), tuple((r[1], r[3], r[5], r[6]) for r in rows))
        head = "INVENTED sample, to show what a record looks like. " if self.is_sample else ""
        return Post(
            f"Commissioning record: {self.machine.name}",
            (
                Paragraph(head + self.summary.headline),
                few,
                *self._calculated(),
                Notes(self.summary.told, "Open"),
                *for_post(self.picture()),
            ),
        )

    def _calculated(self) -> tuple[Calculation, ...]:
        shown = self._first_history()
        if shown is None:
            return ()
        done = calculation(
            self.working(),
            meaning=f"By less nobody can say that this has changed: {shown.quantity}"
            + (f", in {shown.unit}." if shown.unit else "."),
            assumptions=("both doubts hold 95 times in 100, and have nothing in common",),
        )
        return (done,)

    def _sample(self) -> tuple[Line, ...]:
        try:
            return sample_lines(self.machine.folder)
        except MachinelabError:
            return ()

    def _chain(self) -> str:
        record = self.record
        if isinstance(record, Said):
            return record.text
        try:
            count = record.check_chain()
        except MachinelabError as error:
            return f"**Please look:** {Markdown().words(str(error))}"
        return f"{count} lines; each carries the fingerprint of the one before, and all of them fit."

    def _first_history(self) -> History | None:
        with_doubt = (one for one in self.histories.values() if one.least_change > 0)
        return next(with_doubt, None)


def _whole_days(rows: Iterable[tuple]) -> list[tuple]:
    """The rows with days that no narrow column breaks in two."""
    return [
        tuple(_DAY.sub(lambda day: day[0].replace("-", UNBROKEN), str(cell)) for cell in row) for row in rows
    ]
