"""Page 01: the machine as built, filled in on a form, drawn, tried by hand, and put on record."""

from dataclasses import replace
from fractions import Fraction
from typing import ClassVar

import pandas as pd

from machinelab.leadscrew.screw_drive import position_quantum_mm, steps_per_screw_turn
from machinelab.spindle.encoder import counts_per_spindle_turn
from machinelab.units import Field, show
from machinelab.workbook import machine_tables
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.figures.drive_chain import DriveChainDrawing
from machinelab.workbook.hand_turn import HandTurn, hand_turn
from machinelab.workbook.machine import Machine
from machinelab.workbook.pages.page import Page, Said, for_post
from machinelab.workbook.panels.drive_chain import drive_chain
from machinelab.workbook.panels.machine_form import MachineForm
from machinelab.workbook.panels.sheet import Sheet
from machinelab.workbook.panels.typed import Typed
from machinelab.workbook.share import Calculation, Notes, Paragraph, Post, Table, calculation
from machinelab.workbook.share.markdown import Markdown
from machinelab.workbook.steps import recorded, standings
from machinelab.workbook.verdict import RECORDED
from machinelab.worked import Working, worked

QUANTITY = "machine as built"
FINGERPRINT = "fingerprint"
FINGERPRINT_FIGURES = 16
GUESS_TURNS = 10
ASSUMED = ("lead, teeth and steps as the machine file has them", "a screw without any error of its own")

GUESS = Field(
    name="Travel for ten turns",
    kind="length",
    low="0 mm",
    high="1 m",
    example="12 mm",
    help="How far does the carriage move when the stepper's shaft is turned ten times?",
)
TURNS = Field(
    name="Turns of the stepper's shaft",
    kind="turns",
    low="1 turns",
    high="1000 turns",
    example="10 turns",
    help="Whole turns by hand, from a mark to the same mark, all one way; more turns tell more.",
)
TRAVEL = Field(
    name="Travel of the carriage",
    kind="length",
    above_zero=True,
    high="3 m",
    example="12.7 mm",
    help="By rule, caliper or dial; take the backlash up before the first turn.",
)
DOUBT = Field(
    name="Uncertainty of the travel",
    kind="length",
    above_zero=True,
    high="20 mm",
    example="0.1 mm",
    help="How far off the reading may be, 95 times in 100; at least half the last division.",
)
NOT_TURNED = Said(
    "Nothing has been turned by hand yet. Fill in the sheet at *Measure*, then run the cells below it."
)
NO_FORM = Said(
    "The form opens once the machine file can be read. Choose another machine on the page *00 start here*, "
    "or mend the file: open its `machine.toml` in the list of files at the left, under `machines`, put right "
    "what is named at the top of this page, save it, and run this page again."
)


class MachineAsBuiltPage(Page):
    """The chosen machine: what is known, what follows from it, whether it is so, and what is still wanted."""

    step: ClassVar[str] = "01"

    def __init__(self, machine, problem=""):
        super().__init__(machine, problem)
        self.guess = self.guess_box(GUESS)
        self.sheet = self._new_sheet()

    @property
    def form(self) -> MachineForm | Said:
        """Every line of the machine file as a box; what is saved is known to the cells below at once."""
        if self.machine.folder is None:
            return NO_FORM
        form = MachineForm(self.machine)
        form.on_save(self._saved)
        return form

    def _saved(self, machine: Machine) -> None:
        self.machine = machine
        self.sheet.refresh()

    def known(self) -> Said:
        """The whole machine file in words, part by part."""
        return _shown(machine_tables.known(self.machine))

    def chain(self) -> Picture:
        """The drive of the machine with its ratios, dashed where nothing is known yet."""
        return DriveChainDrawing.draw(drive_chain(self.machine))

    def figures(self) -> Said:
        """What follows from the machine file at once, and from what."""
        return _shown(machine_tables.figures(self.machine))

    def counts(self) -> Working | Said:
        """Counts for one turn of the spindle, with the numbers in place."""
        encoder = self.machine.encoder
        return self._asked_for("counts_per_spindle_turn") or worked(
            counts_per_spindle_turn,
            lines=encoder.lines,
            spindle_teeth=encoder.teeth[0],
            encoder_teeth=encoder.teeth[1],
        )

    def steps(self) -> Working | Said:
        """Steps for one turn of the leadscrew, with the numbers in place."""
        machine = self.machine
        return self._asked_for("steps_per_screw_turn") or worked(
            steps_per_screw_turn,
            full_steps=machine.stepper.full_steps,
            microsteps=machine.stepper.microsteps,
            motor_turns_per_screw_turn=machine.motor_turns_per_screw_turn,
        )

    def travel(self) -> Working | Said:
        """How far one step moves the carriage, with the numbers in place."""
        machine = self.machine
        return self._asked_for("step_mm") or worked(
            position_quantum_mm,
            screw_lead_mm=machine.leadscrew.lead_mm,
            steps_per_screw_turn=machine.steps_per_screw_turn,
        )

    def _asked_for(self, figure: str) -> Said | None:
        missing = machine_tables.labels(self.machine.missing(figure))
        return Said(f"*Not known yet; it wants {missing}.*") if missing else None

    def _new_sheet(self) -> Sheet:
        kept = self.readings.of(self.step)
        rows = {"turns": TURNS, "travel_mm": TRAVEL, "doubt_mm": DOUBT}
        return Sheet(
            {name: Typed(field, kept.get(name, "")) for name, field in rows.items()},
            work_out=self._turned_by_hand,
            tell=lambda turned: [turned.told, turned.meaning],
            keep=lambda name, text: self.readings.keep(self.step, name, text),
        )

    def _turned_by_hand(self, *, turns: Fraction, travel_mm: Fraction, doubt_mm: Fraction) -> HandTurn:
        return hand_turn(
            turns=turns,
            travel_mm=travel_mm,
            doubt_mm=doubt_mm,
            screw_lead_mm=self.machine.leadscrew.lead_mm,
            motor_turns_per_screw_turn=self.machine.motor_turns_per_screw_turn,
        )

    @property
    def turned(self) -> HandTurn | None:
        """What turning by hand has shown; None while the sheet is not filled in."""
        return self.sheet.result

    def measured(self) -> Said:
        """The turns by hand, in words."""
        return Said(self.turned.told) if self.turned else NOT_TURNED

    def compared(self) -> pd.DataFrame:
        """The reader's guess, the machine file and the turns by hand side by side."""
        lead, gearing = self.machine.leadscrew.lead_mm, self.machine.motor_turns_per_screw_turn
        computed = None if None in (lead, gearing) else GUESS_TURNS * lead / gearing
        measured = self.turned and GUESS_TURNS * self.turned.travel_mm / self.turned.turns
        rows = [
            ("your guess", self.guess.shown),
            ("computed from the machine file", show(computed, "mm")),
            ("measured by hand", show(measured, "mm") if measured else "not measured yet"),
        ]
        table = pd.DataFrame(rows, columns=["", f"carriage, for {GUESS_TURNS} turns of the stepper"])
        return table.set_index("").rename_axis(None)

    def agreement(self) -> Said:
        """Whether the machine on the bench is the machine in the file, as far as this trial can tell."""
        return Said(self.turned.meaning) if self.turned else NOT_TURNED

    def ready(self) -> Said:
        """Which steps can be begun with what is filled in, and what the others still want."""
        return _shown(machine_tables.wanted(self.machine))

    def decision(self) -> Said:
        """What to do next with this machine file."""
        waiting = [one for one in standings(self.machine) if one.missing]
        lines = []
        if self.turned and self.turned.agrees is False:
            lines.append(
                "The carriage moves otherwise than the machine file says. Find out why before you go on."
            )
        if waiting:
            step, missing = waiting[0].step, machine_tables.labels(waiting[0].missing)
            lines.append(f"Fill in next, for *{step.number} {step.title}*: {missing}.")
        else:
            lines.append("Every step has what it needs from the machine file.")
        lines.append(
            "Correct the file whenever the machine changes; what was measured before may not hold any more."
        )
        return Said("\n".join(f"- {line}" for line in lines))

    def record_line(self) -> dict | None:
        """The machine as it is now, as the record takes it."""
        if not self.machine.values():
            return None
        conditions = {FINGERPRINT: self.fingerprint, "lines filled in": len(self.machine.values())}
        if self.turned:
            conditions["turned by hand"] = f"{self.turned.told} {self.turned.meaning}"
        return {"step": self.step, "quantity": QUANTITY, "verdict": RECORDED, "conditions": conditions}

    @property
    def fingerprint(self) -> str:
        """A short mark of everything that the machine file says."""
        return self.machine.fingerprint()[:FINGERPRINT_FIGURES]

    def on_record(self) -> Said:
        """Whether the machine stands on record as it is now."""
        lines, trouble = recorded(self.machine)
        found = [line for line in lines if (line.step, line.quantity) == (self.step, QUANTITY)]
        if not found:
            return Said(trouble or "The machine as built is not on record yet.")
        last = found[-1]
        if (last.conditions or {}).get(FINGERPRINT) == self.fingerprint:
            return Said(f"Recorded on {last.time[:10]}, and unchanged since.")
        return Said(
            f"Recorded on {last.time[:10]}, and **changed since**. Record it again; what was measured before "
            "was measured on another machine, as it were."
        )

    def post(self) -> Post | None:
        """The machine in figures, with its drawing."""
        if not self.machine.values():
            return None
        picture = self.chain()
        trial = [self.turned.told, self.turned.meaning] if self.turned else []
        return Post(
            f"Machine as built: {self.machine.name}",
            (
                Paragraph(drive_chain(self.machine).headline),
                replace(machine_tables.figures(self.machine), title="What follows from it"),
                *self._calculated(),
                *([Notes(tuple(trial), "Turned by hand")] if trial else []),
                *for_post(picture),
            ),
        )

    def _calculated(self) -> tuple[Calculation, ...]:
        working = self.travel()
        if isinstance(working, Said):
            return ()
        meaning = "No position of the carriage can be told any finer."
        return (calculation(working, meaning=meaning, assumptions=ASSUMED),)


def _shown(table: Table) -> Said:
    return Said(Markdown().table(table))
