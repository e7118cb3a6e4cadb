"""The readings of page 15: a swept dial, a display, a run-down."""

from functools import partial
from typing import ClassVar

from machinelab.accuracy.indicator import reading_sd_mm
from machinelab.errors import MachinelabError
from machinelab.spindle.coastdown import CoastdownFit, fit
from machinelab.spindle.speed_meter import Meter
from machinelab.units import show
from machinelab.workbook import speed_log
from machinelab.workbook.mill_tests import MeterCheck, StopCheck, TramResult, judge_tram
from machinelab.workbook.pages.mill_fields import (
    DIAL,
    FACE_CUTTER,
    GUESS,
    METER,
    PIVOT,
    RADIUS,
    RUN_DOWN,
    STEP_OVER,
    TIMER,
)
from machinelab.workbook.pages.page import Page
from machinelab.workbook.panels.entry import Entry
from machinelab.workbook.panels.sheet import Sheet
from machinelab.workbook.panels.typed import Typed
from machinelab.workbook.typed_table import OTHER_UNITS, read_columns

# Where the page starts before anything is typed.
USUAL = {
    "radius": "90 mm",
    "division": "0.01 mm",
    "pivot": "250 mm",
    "cutter": "40 mm",
    "step_over": "20 mm",
    "timer": "",
}
BOXES = {
    "radius": RADIUS,
    "division": DIAL,
    "pivot": PIVOT,
    "cutter": FACE_CUTTER,
    "step_over": STEP_OVER,
    "timer": TIMER,
}
SWEEP, RUN_LOG = "sweep", "run_log"
# Half of the last figure that a display shows, where the machine file does not say how fine it is.
USUAL_RESOLUTION_RPM = 1.0


class MillReadings(Page):
    """What was swept, shown and timed on the mill head of the chosen machine."""

    step: ClassVar[str] = "15"

    def __init__(self, machine, problem=""):
        super().__init__(machine, problem)
        kept = self.readings.of(self.step)
        self.guess = self.guess_box(GUESS)
        self.boxes = {name: Typed(field, kept.get(name, USUAL[name])) for name, field in BOXES.items()}
        self.sweep: TramResult | None = None
        self.run: CoastdownFit | None = None
        self.sweep_entry = Entry(
            "Angle and reading",
            reader=partial(read_columns, columns=("angle degrees", "dial mm"), example="90 0.012"),
            describe=lambda rows: f"{len(rows)} readings understood.",
            example="0 0.020\n90 0.012\n180 -0.004\n270 0.003",
            accept=".csv,.txt,.tsv",
            help_words="0 is right, 90 back, 180 left, 270 front; degrees and mm, eight places are best. "
            + OTHER_UNITS.format("deg thou"),
        )
        self.run_entry = Entry(
            "Times and speeds of the head",
            reader=speed_log.read,
            describe=lambda log: " ".join(log.notes),
            example="0.0  2200\n0.5  2010\n1.0  1830",
            accept=".csv,.txt,.tsv,.log,.wav",
            help_words="If there is a log: time in seconds and speed in rpm a line, meter set to the mill.",
        )
        self.meter_sheet = self._sheet("meter", METER, _meter_check(self.resolution_rpm), _meter_told)
        self.run_sheet = self._sheet("run", RUN_DOWN, dict, _run_told)
        self._listen(kept)

    def _sheet(self, name: str, fields: dict, work_out, tell) -> Sheet:
        kept = self.readings.of(self.step)
        return Sheet(
            {key: Typed(field, kept.get(f"{name}_{key}", "")) for key, field in fields.items()},
            work_out=work_out,
            tell=tell,
            keep=lambda key, text: self.readings.keep(self.step, f"{name}_{key}", text),
        )

    def _listen(self, kept: dict[str, str]) -> None:
        for name, box in self.boxes.items():
            box.on_change(partial(self._box_changed, name))
        for entry, name, changed in (
            (self.sweep_entry, SWEEP, self._sweep_changed),
            (self.run_entry, RUN_LOG, self._run_changed),
        ):
            entry.on_change(changed)
            entry.box.value = kept.get(name, "")
            entry.box.observe(partial(self._keep_entry, name), "value")

    def _keep_entry(self, name: str, change) -> None:
        self.readings.keep(self.step, name, change["new"].strip())

    def _box_changed(self, name: str) -> None:
        self.readings.keep(self.step, name, self.boxes[name].text)
        self._sweep_changed()

    def _sweep_changed(self) -> None:
        try:
            self.analyse_sweep(self.sweep_entry.readings)
        except MachinelabError:
            # The bench tells what is wrong, beside its box.
            self.sweep = None

    def _run_changed(self) -> None:
        try:
            self.analyse_run(self.run_entry.readings)
        except MachinelabError:
            self.run = None

    def number(self, name: str) -> float | None:
        """What a box gives, or the usual figure where it is empty; None where there is no usual one."""
        value = self.boxes[name].value
        if value is None and USUAL[name]:
            value = Typed(BOXES[name], USUAL[name]).value
        return None if value is None else float(value)

    @property
    def resolution_rpm(self) -> float:
        """One step of the display."""
        return self.machine.meter.resolution_rpm or USUAL_RESOLUTION_RPM

    def analyse_sweep(self, rows) -> TramResult:
        """Tell how the head leans."""
        if rows is None:
            raise MachinelabError("There are no readings yet.")
        self.sweep = judge_tram(
            rows,
            radius_mm=self.number("radius"),
            reading_sd_mm=float(reading_sd_mm(self.number("division"))),
            limit_ppm=self.machine.target.tram_ppm,
            tap_from_pivot_mm=self.number("pivot"),
            lengths=self.lengths,
        )
        return self.sweep

    def analyse_run(self, log) -> CoastdownFit:
        """Fit a logged run-down of the head."""
        if log is None:
            raise MachinelabError("There is no log yet.")
        self.run = fit(log, meter=Meter(cutoff_rpm=self.machine.meter.cutoff_rpm))
        return self.run

    @property
    def stop(self) -> StopCheck | None:
        """The run-down, from the log where there is one, else from the clock; None before either."""
        timer_s = self.number("timer")
        if self.run is not None:
            fastest = max(self.run.tested_rpm, self.machine.mill_head.highest_speed_rpm or 0)
            found = self.run.stop_time_s(fastest)
            return StopCheck(found.value, found.expanded_uncertainty, fastest, timer_s, how="by the log")
        typed = self.run_sheet.result
        if typed is None:
            return None
        return StopCheck(
            float(typed["stop_s"]),
            float(typed["doubt_s"]),
            float(typed["from_rpm"]),
            timer_s,
            how="by the clock",
        )


def _meter_check(resolution_rpm: float):
    def work_out(*, shown_rpm, turns, time_s, doubt_s) -> MeterCheck:
        counted = 60 * float(turns) / float(time_s)
        return MeterCheck(float(shown_rpm), counted, counted * float(doubt_s) / float(time_s), resolution_rpm)

    return work_out


def _meter_told(check: MeterCheck) -> list[str]:
    return [check.told]


def _run_told(typed: dict) -> list[str]:
    return [f"{show(typed['stop_s'], 's')} from {show(typed['from_rpm'], 'rpm')}."]
