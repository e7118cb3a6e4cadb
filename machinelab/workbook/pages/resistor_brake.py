"""Page 06: whether the brake stops the spindle in time, and whether everything bears it."""

import pandas as pd

from machinelab.units import Field
from machinelab.workbook import brake_advice, speed_log
from machinelab.workbook.braked_result import BrakedResult
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.figures.braked_run import BrakedRun
from machinelab.workbook.machine_logs import BRAKED
from machinelab.workbook.machine_runs import first_usable, fit_braked_run
from machinelab.workbook.measured import value_with_uncertainty, with_interval
from machinelab.workbook.pages.brake_design import BrakeDesignPage
from machinelab.workbook.pages.coast_down import USUAL_THREADING_RPM
from machinelab.workbook.pages.page import Said, for_post, listed
from machinelab.workbook.panels.coast_bench import CoastBench
from machinelab.workbook.panels.entry import Entry
from machinelab.workbook.share import Notes, Paragraph, Post, Table, calculation
from machinelab.workbook.verdict import Verdict, verdict

NO_RUN = Said(
    "No braked run has been read yet. Choose a file at *Measure*, then run the cells below it. Until then "
    "the figures above are what the machine file promises."
)
NO_BRAKE = Said("There is no brake to measure; the figures above say what one would change.")
GUESS = Field(
    name="Time to standstill, braked, by feel",
    kind="time",
    low="0.05 s",
    high="200 s",
    example="3 s",
    help="From the speed at which you log, from the switch to standstill.",
)
EXAMPLE = "0.00  1196\n0.02  1195\n0.04  1196"


class ResistorBrakePage(BrakeDesignPage):
    """The resistor brake of the chosen machine: the design, the braked run, and what follows."""

    def __init__(self, machine, problem=""):
        super().__init__(machine, problem)
        self.guess = self.guess_box(GUESS)
        self.entry = Entry(
            "Times and speeds",
            reader=speed_log.read,
            describe=lambda log: " ".join(log.notes),
            example=EXAMPLE,
            accept=".csv,.txt,.tsv,.log",
            help_words="One reading a line: time in seconds, speed in rpm, twenty a second or more. Or "
            "choose the controller's file: speeds, encoder counts or pulse stamps.",
        )
        self.found: BrakedResult | None = None
        self.passed_over: tuple[str, ...] = ()
        if not self.still_needed and self.numbers.fitted:
            self._read_the_machines_log()

    def _read_the_machines_log(self) -> None:
        """Start with the log in the machine's folder that is named for a braked run."""
        own = first_usable(BRAKED, self.machine, self.analyse)
        self.passed_over = own.passed_over
        if own.log:
            self.entry.start_with(own.log)

    def analyse(self, log) -> BrakedResult:
        """Fit a log of a braked run with the free spindle's drags."""
        numbers = self.numbers
        self.found = BrakedResult(fit_braked_run(log, self.machine, numbers), numbers)
        return self.found

    @property
    def nothing_measured(self) -> Said | None:
        """Why there is no measured run; None when there is one."""
        if self.found is not None:
            return None
        return NO_BRAKE if self.machine.brake.fitted is False else NO_RUN

    @property
    def bench(self) -> CoastBench | Said:
        """Where the log comes in; the picture and the words follow at once."""
        if self.still_needed or not self.numbers.fitted:
            return self.nothing_measured or NO_RUN
        return CoastBench(self.entry, analyse=self.analyse, tell=self.told, chart=BrakedRun)

    def told(self, found: BrakedResult) -> list[str]:
        """What a run says, line by line."""
        return [
            f"The brake came in {with_interval(found.fit.contact_delay_s)} s after the drive let go.",
            *(f"{what}: {one}" for what, one in self.verdicts().items()),
            *(f"Mind: {warning}" for warning in found.fit.warnings),
        ]

    @property
    def run_picture(self) -> Picture | Said:
        """Readings, fit, design, and what is left over."""
        return self.nothing_measured or BrakedRun.draw(self.found)

    @property
    def understood(self) -> Said:
        """What was understood of the log and what was left out."""
        if self.nothing_measured:
            words = self.nothing_measured
            return listed([words.text, *self.passed_over]) if self.passed_over else words
        fit = self.found.fit
        return listed(
            [
                *self.passed_over,
                *self.entry.readings.notes,
                *fit.notes,
                *(f"**Mind:** {one}" for one in fit.warnings),
            ]
        )

    @property
    def designed_and_measured(self) -> pd.DataFrame | Said:
        """Design and run, figure by figure."""
        return self.nothing_measured or self.found.table()

    @property
    def compared(self) -> pd.DataFrame | Said:
        """The reader's guess, the design and the run."""
        if self.nothing_measured:
            return self.nothing_measured
        fit, designed = self.found.fit, float(self.found.designed.time_s)
        stop = fit.stop_time_s(fit.tested_rpm)
        rows = [
            ("your guess", self.guess.shown),
            ("designed", f"{designed:.2f} s"),
            ("measured", value_with_uncertainty(float(stop.value), stop.expanded_uncertainty, "s")),
        ]
        heading = f"time to standstill from {fit.tested_rpm:.0f} rpm"
        return pd.DataFrame(rows, columns=["", heading]).set_index("")

    @property
    def judged_rpm(self) -> float:
        """The speed at which the stop is judged: the highest allowed, as far as the run can tell."""
        return min(self.numbers.top_rpm, 1.5 * self.found.fit.tested_rpm)

    def verdicts(self) -> dict[str, Verdict]:
        """Time from the top speed, turns at threading speed, and the contact."""
        fit, brake, wanted = self.found.fit, self.machine.brake, self.wanted
        time, turns = fit.stop_time_s(self.judged_rpm), fit.turns_to_stop(USUAL_THREADING_RPM)
        delay = fit.contact_delay_s
        return {
            f"Time to standstill from {self.judged_rpm:.0f} rpm": _judged(time, wanted.stop_time_s, "s"),
            f"Turns to standstill from {USUAL_THREADING_RPM:.0f} rpm": _judged(turns, wanted.turns, "turns"),
            "Delay of the brake contact": _judged(delay, brake.contact_delay_s, "s"),
        }

    @property
    def judged(self) -> Said:
        """The verdicts, each with what it is about."""
        if self.nothing_measured:
            return self.nothing_measured
        return listed([f"{what}: **{one.word}**: {one.sentence}" for what, one in self.verdicts().items()])

    @property
    def decision(self) -> Said:
        """What the figures mean for this machine, and what to change first."""
        if self.nothing_measured:
            return self.nothing_measured
        found, top = self.found, self.judged_rpm
        return listed(
            [
                *brake_advice.contact(found, USUAL_THREADING_RPM, top),
                *brake_advice.circuit_off(found),
                *brake_advice.stop_in_time(found, self.wanted.stop_time_s, top),
                brake_advice.in_a_thread(found, self.machine, USUAL_THREADING_RPM),
                *brake_advice.chuck(self.numbers, self.machine),
            ]
        )

    def record_line(self) -> dict | None:
        """Time to standstill from the judged speed, braked, with the log that it rests on."""
        if self.found is None:
            return None
        fit, wanted = self.found.fit, self.wanted.stop_time_s
        stop = fit.stop_time_s(self.judged_rpm)
        why = self.machine.target.why.get("stop_time", "no reason given")
        return {
            "step": self.step,
            "quantity": f"time to standstill from {self.judged_rpm:.0f} rpm, braked",
            "value": float(stop.value),
            "uncertainty": float(stop.expanded_uncertainty),
            "unit": "s",
            "predicted": float(self.found.designed_from(self.judged_rpm).time_s),
            "formula": "brake as designed, with the contact's delay",
            "upper": wanted,
            "where_from": f"own choice: {why}" if wanted else "",
            "data": [self.entry.readings],
            "conditions": {
                "contact delay": f"{with_interval(fit.contact_delay_s)} s",
                "time constant": f"{with_interval(fit.brake_time_constant_s)} s",
            },
            "instrument": {
                "name": f"log of {self.entry.readings.kind}",
                "U_from": "spread of the readings about the fit",
            },
        }

    def post(self) -> Post | None:
        """The brake with its working, its limits and its run."""
        if self.still_needed:
            return None
        limits = self.limits().reset_index()
        picture = self.picture() if self.found is None else self.run_picture
        measured = () if self.found is None else (_shared(self.found.table(), "Designed and measured"),)
        return Post(
            f"Resistor brake of {self.machine.name}",
            (
                Paragraph(self.view().headline if self.found is None else self.found.headline),
                calculation(
                    self.working(),
                    meaning="How quickly the resistor alone brakes.",
                    assumptions=("no friction at all, which would only help", "a cold motor and resistor"),
                ),
                calculation(
                    self.peak(),
                    meaning="The first moment from the top speed.",
                    assumptions=self.numbers.assumed,
                ),
                Table(
                    tuple(limits.columns), tuple(map(tuple, limits.to_numpy())), "What bears the first moment"
                ),
                *measured,
                Notes(tuple(brake_advice.what_bears_it(self.numbers, self.machine)), "Mind"),
                *for_post(picture),
            ),
        )


def _judged(estimate, upper: float | None, unit: str) -> Verdict:
    return verdict(float(estimate.value), float(estimate.expanded_uncertainty), None, upper, unit=unit)


def _shared(table: pd.DataFrame, title: str) -> Table:
    rows = table.reset_index()
    return Table(tuple(rows.columns), tuple(map(tuple, rows.to_numpy())), title)
