"""Page 13, the occasional scratch: which joint is loose, by push and pull and by simple questions."""

from functools import partial
from typing import ClassVar

import pandas as pd

from machinelab.accuracy.indicator import reading_sd_mm
from machinelab.accuracy.suspects import TESTS
from machinelab.errors import MachinelabError
from machinelab.units import Field
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.figures.marks import MarkSuspects
from machinelab.workbook.pages.page import Page, Said, listed
from machinelab.workbook.panels.choice import Choice
from machinelab.workbook.panels.entry import Entry
from machinelab.workbook.panels.live import LivePanel
from machinelab.workbook.panels.typed import Typed
from machinelab.workbook.scratch_results import (
    JOINTS,
    ScratchResult,
    SlopResult,
    joint_slop,
    judge_scratch,
)
from machinelab.workbook.typed_table import OTHER_UNITS, read_columns

ANSWERS = {"not tested": None, "yes": True, "no": False}
PUSHES, DIVISION = "pushes", "slop_division"
DIAL = Field(
    name="One division of the dial indicator",
    kind="length",
    low="0.0005 mm",
    high="0.2 mm",
    example="0.002 mm",
    help="As printed on its face.",
)
NOT_PUSHED = Said("No joint has been pushed yet: see *Measure*.")


class ScratchPage(Page):
    """An occasional scratch on the work of the chosen machine."""

    step: ClassVar[str] = "13"

    def __init__(self, machine, problem=""):
        super().__init__(machine, problem)
        kept = self.readings.of(self.step)
        self.answers = {
            test: Choice(_label(test), ANSWERS, chosen=kept.get(_key(test), ""), help_words=question)
            for test, question in TESTS.items()
        }
        for test, choice in self.answers.items():
            choice.on_change(partial(self._answered, test))
        self.division = Typed(DIAL, kept.get(DIVISION, "0.002 mm"))
        self.division.on_change(self._division_changed)
        self.push_entry = Entry(
            "Force, then each place",
            reader=partial(
                read_columns,
                columns=("force N", *(f"{joint} mm" for joint in JOINTS)),
                example="20 0.002 0.006 0.031 0.034 0.038",
            ),
            describe=lambda rows: f"{len(rows)} forces understood.",
            example="20 0.002 0.006 0.031 0.034 0.038\n40 0.003 0.008 0.034 0.038 0.043",
            help_words=f"Force in N, then the dial's swing in mm from push to pull at {', '.join(JOINTS)}; "
            f"all against the bed. {OTHER_UNITS.format('lbf thou')}",
        )
        self.slop: SlopResult | None = None
        self.push_entry.on_change(self._pushed)
        self.push_entry.box.value = kept.get(PUSHES, "")
        self.push_entry.box.observe(self._keep_pushes, "value")

    @property
    def still_needed(self) -> None:
        """Nothing: the questions are the same on every machine."""
        return None

    def _answered(self, test: str) -> None:
        self.readings.keep(self.step, _key(test), self.answers[test].text)

    def _division_changed(self) -> None:
        self.readings.keep(self.step, DIVISION, self.division.text)
        self._pushed()

    def _keep_pushes(self, change) -> None:
        self.readings.keep(self.step, PUSHES, change["new"].strip())

    def _pushed(self) -> None:
        if self.push_entry.readings is None:
            return
        sd = float(reading_sd_mm(float(self.division.value or 0.01)))
        try:
            self.slop = joint_slop(self.push_entry.readings, reading_sd_mm=sd, lengths=self.lengths)
        except MachinelabError as error:
            self.slop = None
            self.push_entry.understood.value = str(error)

    @property
    def judged(self) -> ScratchResult:
        """The suspects by the answers given so far."""
        return judge_scratch({test: choice.value for test, choice in self.answers.items()})

    @property
    def panel(self) -> LivePanel:
        """The questions, and the suspects that their answers leave."""
        return LivePanel(
            controls=self.answers_by_name,
            compute=lambda **said: judge_scratch({test: said[_key(test)] for test in TESTS}),
            chart=MarkSuspects(),
            sentence=lambda found: found.details,
        )

    @property
    def answers_by_name(self) -> dict[str, Choice]:
        """The questions under names that a calculation can take."""
        return {_key(test): choice for test, choice in self.answers.items()}

    @property
    def picture(self) -> Picture:
        """The suspects by the answers given so far."""
        return MarkSuspects.draw(self.judged)

    @property
    def joints(self) -> pd.DataFrame | Said:
        """Play and stiffness of every joint."""
        return self.slop.table() if self.slop else NOT_PUSHED

    @property
    def decision(self) -> Said:
        """Which joint to look at, and what to ask next."""
        found = self.judged
        lines = [found.headline]
        if not found.ranking.decided and found.next_question:
            lines.append(f"Next test: {found.next_question}")
        if self.slop:
            lines.append(self.slop.headline)
        return listed(lines)


def _key(test: str) -> str:
    return "asked_" + test.replace(" ", "_")


def _label(test: str) -> str:
    return test[0].upper() + test[1:]
