"""Page 05: how long and how far the spindle runs on by itself, and what slows it."""

from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from typing import ClassVar

import pandas as pd

from machinelab.spindle.coast_law import coast_stop_time_s
from machinelab.spindle.coastdown import CoastdownFit
from machinelab.units import Field, show
from machinelab.workbook import speed_log
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.figures.coast_shapes import CoastShapes
from machinelab.workbook.figures.coastdown import CoastDown
from machinelab.workbook.figures.run_on import RunOn
from machinelab.workbook.machine_logs import COAST
from machinelab.workbook.machine_runs import first_usable, fit_free_run
from machinelab.workbook.measured import value_with_uncertainty, with_interval
from machinelab.workbook.pages.page import Page, Said, for_post, listed, once_known
from machinelab.workbook.panels.coast_bench import CoastBench
from machinelab.workbook.panels.coastdown import RPM, run_on, run_on_panel, shape_of, shapes_panel
from machinelab.workbook.panels.entry import Entry
from machinelab.workbook.share import Notes, Paragraph, Post, Table, calculation
from machinelab.workbook.verdict import Verdict, verdict
from machinelab.worked import Working, worked

# A loose, oiled spindle with its belt on; common practice, no source. It only starts the sliders.
USUAL_DRY_STOP_S = 40.0
USUAL_VISCOUS_SHARE, USUAL_WINDAGE_SHARE = 30.0, 10.0
USUAL_THREADING_RPM = 100.0
NO_LOG = Said(
    "No log has been read yet. Choose a file or type readings at *Measure*, then run the cells below it."
)
GUESS = Field(
    name="Time to standstill, by feel",
    kind="time",
    low="0.5 s",
    high="2000 s",
    example="30 s",
    help="From the speed at which you log, without brake.",
)
EXAMPLE = "0.0  1198\n0.5  1166\n1.0  1131"


class CoastDownPage(Page):
    """The coast-down of the chosen machine: what to expect, what the log says, what follows."""

    step: ClassVar[str] = "05"

    def __init__(self, machine, problem=""):
        super().__init__(machine, problem)
        self.guess = self.guess_box(GUESS)
        self.entry = Entry(
            "Times and speeds",
            reader=speed_log.read,
            describe=lambda log: " ".join(log.notes),
            example=EXAMPLE,
            accept=".csv,.txt,.tsv,.log,.wav",
            help_words="One reading a line: time in seconds, speed in rpm. No logger? Film the display and a "
            "clock together, and type one line at each change of the display. Or choose the logger's file, "
            "or a WAV recording of one tick a turn.",
        )
        self.found: CoastdownFit | None = None
        self._listeners: list[Callable[[], None]] = []
        self._read_the_machines_log()

    def _read_the_machines_log(self) -> None:
        """Start with the first log in the machine's folder that holds a coast."""
        own = first_usable(COAST, self.machine, self.analyse)
        self.passed_over = own.passed_over
        if own.log:
            self.entry.start_with(own.log)

    @property
    def highest_rpm(self) -> float:
        """The fastest this spindle may turn."""
        return self.machine.highest_spindle_speed_rpm

    @property
    def thread_lead_mm(self) -> Fraction:
        """Lead of the first thread on the machine's list, or one millimetre."""
        leads = [thread.turning_lead_mm for thread in self.machine.threads if thread.turning_lead_mm]
        return abs(leads[0]) if leads else Fraction(1)

    @once_known
    def expected(self) -> Working | Said:
        """The working for a spindle of ordinary drag at this machine's highest speed."""
        start = self.highest_rpm * RPM
        coulomb, dry = start / USUAL_DRY_STOP_S, 100 - USUAL_VISCOUS_SHARE - USUAL_WINDAGE_SHARE
        return worked(
            coast_stop_time_s,
            start_speed_rad_s=start,
            coulomb_rad_s2=coulomb,
            viscous_per_s=USUAL_VISCOUS_SHARE / dry * coulomb / start,
            windage_per_rad=USUAL_WINDAGE_SHARE / dry * coulomb / start**2,
        )

    @once_known
    def shapes(self) -> Picture | Said:
        """What each drag does, from this machine's highest speed."""
        shape = shape_of(
            start_rpm=self.highest_rpm,
            dry_stop_s=USUAL_DRY_STOP_S,
            viscous_share=USUAL_VISCOUS_SHARE,
            windage_share=USUAL_WINDAGE_SHARE,
        )
        return CoastShapes.draw(shape)

    @once_known
    def shapes_panel(self):
        """The same with controls."""
        return shapes_panel(start_rpm=self.highest_rpm, dry_stop_s=USUAL_DRY_STOP_S)

    def analyse(self, log) -> CoastdownFit:
        """Fit a log with what the machine file says of the meter."""
        self.found = fit_free_run(log, self.machine)
        for listener in self._listeners:
            listener()
        return self.found

    def on_change(self, listener: Callable[[], None]) -> None:
        """Call a function whenever another free run has been fitted."""
        self._listeners.append(listener)

    @property
    def bench(self) -> CoastBench:
        """Where readings come in; the picture and the words follow at once."""
        return CoastBench(self.entry, analyse=self.analyse, tell=self.told)

    def told(self, found: CoastdownFit) -> list[str]:
        """What a fit says, line by line: the figures, the verdict, and every doubt."""
        return [
            f"From {found.tested_rpm:.0f} rpm: {with_interval(found.stop_time_s(found.tested_rpm))} s and "
            f"{with_interval(found.turns_to_stop(found.tested_rpm))} turns to standstill.",
            f"From {self.judged_rpm:.0f} rpm, the fastest you allow: {self.verdict()}",
            *found.notes,
            *(f"Mind: {warning}" for warning in found.warnings),
        ]

    @property
    def understood(self) -> Said:
        """What was understood of the log and what was repaired or left out."""
        if self.found is None:
            return listed([NO_LOG.text, *self.passed_over]) if self.passed_over else NO_LOG
        warnings = (f"**Mind:** {warning}" for warning in self.found.warnings)
        return listed([*self.passed_over, *self.entry.readings.notes, *self.found.notes, *warnings])

    @property
    def picture(self) -> Picture | Said:
        """Readings, fit and what is left over."""
        return NO_LOG if self.found is None else CoastDown.draw(self.found)

    @property
    def figures(self) -> pd.DataFrame | Said:
        """The fitted figures as a table."""
        if self.found is None:
            return NO_LOG
        found = self.found
        rows = {
            "dry friction over inertia, rad/s²": found.coulomb_rad_s2,
            "viscous drag over inertia, 1/s": found.viscous_per_s,
            "windage over inertia, 1/rad": found.windage_per_rad,
            "meter's lag, s": found.lag_s,
            "drive let go at, s in the log": found.start_s,
            f"time to standstill from {found.tested_rpm:.0f} rpm, s": found.stop_time_s(found.tested_rpm),
            f"turns to standstill from {found.tested_rpm:.0f} rpm": found.turns_to_stop(found.tested_rpm),
        }
        return pd.DataFrame(
            [
                (name, *map(_four_figures, (one.value, *one.interval)))
                for name, one in rows.items()
                if one is not None
            ],
            columns=["figure", "value", "95 % from", "to"],
        ).set_index("figure")

    def compared(self, guess_s: float | None) -> pd.DataFrame | Said:
        """The reader's guess beside what the log says, at the speed of the run."""
        if self.found is None:
            return NO_LOG
        stop = self.found.stop_time_s(self.found.tested_rpm)
        rows = [("measured", value_with_uncertainty(float(stop.value), stop.expanded_uncertainty, "s"))]
        if guess_s:
            rows.insert(0, ("your guess", f"{guess_s:.3g} s ({100 * (guess_s / stop.value - 1):+.0f} %)"))
        table = pd.DataFrame(rows, columns=["", f"time to standstill from {self.found.tested_rpm:.0f} rpm"])
        return table.set_index("")

    @property
    def judged_rpm(self) -> float:
        """The speed at which the run-down is judged: the highest allowed, as far as the run can tell."""
        return min(self.highest_rpm or self.found.tested_rpm, 1.5 * self.found.tested_rpm)

    def verdict(self) -> Verdict | Said:
        """Whether the spindle stops in the owner's time without a brake."""
        if self.found is None:
            return NO_LOG
        stop = self.found.stop_time_s(self.judged_rpm)
        wanted = self.machine.target.stop_time_s
        return verdict(float(stop.value), stop.expanded_uncertainty, None, wanted, unit="s")

    @property
    def judged(self) -> Said:
        """The verdict, with the speed that it is about."""
        if self.found is None:
            return NO_LOG
        found = self.verdict()
        return Said(f"**{found.word}** from {self.judged_rpm:.0f} rpm, without a brake: {found.sentence}")

    def record_line(self) -> dict | None:
        """Time to standstill from the judged speed, with the log that it rests on."""
        if self.found is None:
            return None
        stop = self.found.stop_time_s(self.judged_rpm)
        log, wanted = self.entry.readings, self.machine.target.stop_time_s
        why = self.machine.target.why.get("stop_time", "no reason given")
        return {
            "step": self.step,
            "quantity": f"time to standstill from {self.judged_rpm:.0f} rpm, without brake",
            "value": float(stop.value),
            "uncertainty": float(stop.expanded_uncertainty),
            "unit": "s",
            "upper": wanted,
            "where_from": f"own choice: {why}" if wanted else "",
            "data": [log],
            "conditions": {"own guess": f"{self.guess.value:g} s"} if self.guess.value else None,
            "instrument": {"name": f"log of {log.kind}", "U_from": "spread of the readings about the fit"},
        }

    def post(self) -> Post | None:
        """The fitted run-down with its working, its figures and its doubts."""
        if self.found is None:
            return None
        figures = self.figures.reset_index()
        working = worked(coast_stop_time_s, start_speed_rad_s=self.judged_rpm * RPM, **self.found.drags)
        return Post(
            f"Coast-down of {self.machine.name}",
            (
                Paragraph(
                    f"Free run-down from {self.found.tested_rpm:.0f} rpm, without brake: how long and how "
                    "far the spindle runs on by itself."
                ),
                calculation(
                    working,
                    verdict=self.verdict(),
                    meaning=f"Time to standstill from {self.judged_rpm:.0f} rpm, with the fitted drags.",
                    assumptions=("The chuck, belt and oil of the run; another chuck changes the figures.",),
                ),
                Table(tuple(figures.columns), tuple(map(tuple, figures.to_numpy())), "Fitted to the log"),
                Notes((*self.found.notes, *self.found.warnings), "What was gathered or left out"),
                *for_post(self.picture),
            ),
        )

    @property
    def run_on_picture(self) -> Picture | Said:
        """Time and turns to standstill from every speed."""
        if self.found is None:
            return NO_LOG
        choice = run_on(
            self.found, self.limits, speed_rpm=USUAL_THREADING_RPM, thread_lead_mm=self.thread_lead_mm
        )
        return RunOn.draw(choice)

    @property
    def run_on_panel(self):
        """The same with a speed and a thread to choose."""
        if self.found is None:
            return NO_LOG
        return run_on_panel(
            self.found,
            limits=self.limits,
            speed_rpm=USUAL_THREADING_RPM,
            thread_lead_mm=self.thread_lead_mm,
            lengths=self.lengths,
        )

    @property
    def limits(self) -> dict[str, float]:
        """What the owner wants, by the plot it belongs to."""
        target = self.machine.target
        wanted = {"seconds": target.stop_time_s, "turns": target.turns_to_stop}
        return {name: limit for name, limit in wanted.items() if limit is not None}

    @property
    def decision(self) -> Said:
        """What the figures mean for this machine, and what to do next."""
        if self.found is None:
            return NO_LOG
        found = self.found
        turns = found.turns_to_stop(USUAL_THREADING_RPM).value
        travel = turns * float(self.thread_lead_mm)
        lines = [
            f"At {USUAL_THREADING_RPM:.0f} rpm the spindle still turns {turns:.1f} times after the drive "
            f"lets go: {self.lengths.told(travel, 1)} of travel in a thread with a lead of "
            f"{show(self.thread_lead_mm, 'mm', kind='lead')}, before your hand's own delay.",
            _what_slows(found),
            "Repeat the run three times and after a month: a figure that has changed tells of bearings, belt "
            "or grease before anything is heard.",
        ]
        if self.machine.target.stop_time_s and self.verdict().word != "MET":
            lines.insert(
                0, "It does not stop in the time you want by itself: go on with *06 resistor brake*."
            )
        return Said("\n".join(f"- {line}" for line in lines))


def _what_slows(found: CoastdownFit) -> str:
    speed = found.tested_rpm * RPM
    shares = {
        "dry friction (bearing preload, belt, brushes)": found.coulomb_rad_s2.value,
        "viscous drag (grease, oil)": found.viscous_per_s.value * speed,
        "moving air (fan, chuck jaws)": found.windage_per_rad.value * speed**2,
    }
    total = sum(shares.values())
    told = ", ".join(f"{name} {max(share, 0) / total:.0%}" for name, share in shares.items())
    return f"What slows it at {found.tested_rpm:.0f} rpm: {told}."


def _four_figures(value: float) -> str:
    """Four figures that count, however small the number, without an exponent."""
    return f"{Decimal(f'{float(value):.4g}'):f}"
