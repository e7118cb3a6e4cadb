"""Page 04, the RPM meter: how late and how true its readings are, and when one may be written down."""

from functools import partial
from typing import ClassVar

import pandas as pd

from machinelab.errors import MachinelabError
from machinelab.spindle.encoder import counting_resolution_rpm
from machinelab.spindle.meter_pickup import hum_reading_rpm, pulse_interval_s
from machinelab.spindle.meter_step import fit_step
from machinelab.spindle.meter_trust import watching_time_s
from machinelab.spindle.speed_meter import reading_age_s, settling_time_s
from machinelab.spindle.stroboscope import strobe_speed_rpm, strobe_speeds_rpm
from machinelab.units import Field
from machinelab.workbook import speed_log
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.figures.speed_meter import MeterDelay, MeterScaleChart, MeterStepChart
from machinelab.workbook.machine_logs import METER_STEP, logs_for
from machinelab.workbook.measured import with_interval
from machinelab.workbook.meter_results import ScaleResult, StepResult, scale_result
from machinelab.workbook.pages.page import Page, Said, for_post, listed
from machinelab.workbook.panels.coast_bench import CoastBench
from machinelab.workbook.panels.entry import Entry
from machinelab.workbook.panels.speed_meter import meter_panel, view_meter
from machinelab.workbook.share import Notes, Paragraph, Post, Table, calculation
from machinelab.workbook.share.markdown import Markdown
from machinelab.workbook.typed_table import read_columns
from machinelab.worked import Working, worked

# A plain display, where the machine file is silent; common practice, no source.
USUAL_LAG_S, USUAL_HOLD_S, USUAL_RESOLUTION_RPM = 0.8, 0.25, 1.0
# A spindle of ordinary friction in step 05; it only starts the slider.
USUAL_SLOWING_RPM_S = 67.0
READ_AT_RPM = (60.0, 200.0, 600.0, 1200.0)
LEFT_SHARE = 0.01
UNKNOWN_TOP_RPM = 2000.0
DISCS = (5, 6, 10, 12, 20, 60)
TABLE = "meter_scale"
GUESS = Field(
    name="Time to wait after a change, by feel",
    kind="time",
    low="0.05 s",
    high="60 s",
    example="1 s",
    help="Until what the display shows may be written down.",
)
NO_METER = Said("This machine has no RPM meter; the encoder tells its speed.")
NO_STEP = Said("No sudden change has been logged yet: see *Measure*.")
NO_SCALE = Said("No speeds have been compared yet: see *Measure*.")


class SpeedMeterPage(Page):
    """The RPM meter of the chosen machine: how it reads, its lag, its scale, and a disc to check it with."""

    step: ClassVar[str] = "04"

    def __init__(self, machine, problem=""):
        super().__init__(machine, problem)
        self.guess = self.guess_box(GUESS, "meter_guess")
        self.step_entry = Entry(
            "Times and readings",
            reader=speed_log.read,
            describe=lambda log: " ".join(log.notes),
            example="4.9  1000\n5.0  1000\n5.3  690",
            accept=".csv,.txt,.tsv,.log",
            help_words="One reading a line, time in seconds and what the display showed, ten a second.",
        )
        self.scale_entry = Entry(
            "True speed and reading",
            reader=partial(read_columns, columns=("true rpm", "shown rpm"), example="600 602"),
            describe=lambda rows: f"{len(rows)} pairs understood.",
            example="100 101\n300 301\n600 602",
            help_words="True speed by strobe disc, encoder or borrowed tachometer, then the reading, in rpm.",
        )
        self.step_found: StepResult | None = None
        self.scale_found: ScaleResult | None = None
        self._start_with_what_is_there()

    def _start_with_what_is_there(self) -> None:
        for file in logs_for(METER_STEP, self.machine):
            try:
                log = speed_log.read(file)
                self.analyse_step(log)
            except MachinelabError:
                continue
            self.step_entry.start_with(log)
            break
        self.scale_entry.on_change(self._scale_changed)
        self.scale_entry.box.value = self.readings.of(self.step).get(TABLE, "")
        self.scale_entry.box.observe(self._keep_scale, "value")

    def _scale_changed(self) -> None:
        try:
            self.analyse_scale(self.scale_entry.readings)
        except MachinelabError:
            # The bench tells what is wrong, beside its box.
            self.scale_found = None

    def _keep_scale(self, change) -> None:
        self.readings.keep(self.step, TABLE, change["new"].strip())

    @property
    def still_needed(self) -> None:
        """The meter needs nothing from the machine file that cannot be taken for granted."""
        return None

    @property
    def fitted(self) -> bool:
        """Whether there is a meter to speak of."""
        return self.machine.meter.fitted is not False

    @property
    def meter(self) -> dict[str, float]:
        """Lag and hold of the meter, usual ones where the machine file is silent."""
        known = self.machine.meter
        return {
            "lag_s": USUAL_LAG_S if known.lag_s is None else known.lag_s,
            "hold_s": known.update_period_s or USUAL_HOLD_S,
        }

    @property
    def resolution_rpm(self) -> float:
        """The step of the display."""
        return self.machine.meter.resolution_rpm or USUAL_RESOLUTION_RPM

    def _repr_markdown_(self) -> str:
        if self.problem or not self.fitted:
            return super()._repr_markdown_() if self.problem else NO_METER.text
        lines = [f"**RPM meter of** {Markdown().words(self.machine.name)}"]
        for attribute, words in (("lag_s", "lag"), ("update_period_s", "time between new figures")):
            if getattr(self.machine.meter, attribute) is None:
                lines.append(f"The machine file does not say its {words}; a usual one is taken (no source).")
        return "\n\n".join(lines)

    @property
    def settling(self) -> Working | Said:
        """How long to wait after a change, with the numbers in place."""
        if not self.fitted:
            return NO_METER
        return worked(settling_time_s, lag_s=self.meter["lag_s"], share_left=LEFT_SHARE)

    @property
    def ages(self) -> pd.DataFrame | Said:
        """How coarse and how old a reading is at some speeds."""
        if not self.fitted:
            return NO_METER
        marks = self.machine.meter.marks_per_turn or 1
        rows = [self._age_row(rpm, marks) for rpm in READ_AT_RPM if rpm < self._top_rpm]
        columns = ["at", "a pulse every", "age of a reading", "step if pulses were counted between figures"]
        return pd.DataFrame(rows, columns=columns).set_index("at")

    def _age_row(self, rpm: float, marks: int):
        interval = float(pulse_interval_s(rpm, marks_per_turn=marks))
        age = float(reading_age_s(gate_s=interval, **self.meter))
        counted = counting_resolution_rpm(marks, self.meter["hold_s"])
        return f"{rpm:.0f} rpm", f"{interval:.3g} s", f"{age:.2f} s", f"{counted:.3g} rpm"

    @property
    def picture(self) -> Picture | Said:
        """What the display shows while the speed changes."""
        if not self.fitted:
            return NO_METER
        return MeterDelay.draw(view_meter(slowing_rpm_s=USUAL_SLOWING_RPM_S, **self.meter))

    @property
    def panel(self):
        """The same with lag, hold and slowing to move."""
        return meter_panel(slowing_rpm_s=USUAL_SLOWING_RPM_S, **self.meter) if self.fitted else NO_METER

    @property
    def strobe(self) -> pd.DataFrame:
        """Discs for a lamp on this mains, and every speed at which each stands still."""
        mains = self._mains_hz
        top = self._top_rpm
        rows = [
            _disc_row(marks, mains, top)
            for marks in DISCS
            if strobe_speed_rpm(marks, mains_frequency_hz=mains) <= top
        ]
        columns = ["marks", f"stands still, {mains} Hz lamp", "and just as well at, rpm"]
        return pd.DataFrame(rows, columns=columns).set_index("marks")

    @property
    def _top_rpm(self) -> float:
        return self.machine.highest_spindle_speed_rpm or UNKNOWN_TOP_RPM

    @property
    def _mains_hz(self) -> int:
        return round(self.machine.mains.frequency_hz or 50)

    def analyse_step(self, log) -> StepResult:
        """Fit a log of a sudden change."""
        self.step_found = StepResult(fit_step(log), self.machine.meter.lag_s)
        return self.step_found

    def analyse_scale(self, table) -> ScaleResult:
        """Work out a table of true and shown speeds."""
        self.scale_found = scale_result(
            table,
            resolution_rpm=self.resolution_rpm,
            allowed_percent=self.machine.target.speed_error_percent,
        )
        return self.scale_found

    @property
    def step_bench(self) -> CoastBench | Said:
        """Where the log of a sudden change comes in."""
        if not self.fitted:
            return NO_METER
        return CoastBench(
            self.step_entry, analyse=self.analyse_step, tell=_told_of_step, chart=MeterStepChart
        )

    @property
    def scale_bench(self) -> CoastBench | Said:
        """Where pairs of true speed and reading come in."""
        if not self.fitted:
            return NO_METER
        return CoastBench(
            self.scale_entry, analyse=self.analyse_scale, tell=_told_of_scale, chart=MeterScaleChart
        )

    @property
    def step_picture(self) -> Picture | Said:
        """The readings of the sudden change and the fitted lag."""
        if not self.fitted:
            return NO_METER
        return MeterStepChart.draw(self.step_found) if self.step_found else NO_STEP

    @property
    def scale_picture(self) -> Picture | Said:
        """Reading less true speed, the line through it, and what is allowed."""
        if not self.fitted:
            return NO_METER
        return MeterScaleChart.draw(self.scale_found) if self.scale_found else NO_SCALE

    @property
    def compared(self) -> pd.DataFrame | Said:
        """The reader's guess, and the wait by the lag of the machine file and by the one that was logged."""
        if not self.fitted:
            return NO_METER
        rows = [("your guess", self.guess.shown), ("computed", self._wait(self.meter["lag_s"]))]
        if self.step_found:
            rows.append(("with the lag that was logged", self._wait(self.step_found.fit.lag_s.value)))
        heading = f"wait after a change, until {LEFT_SHARE:.0%} of it is left"
        return pd.DataFrame(rows, columns=["", heading]).set_index("")

    def _wait(self, lag_s: float) -> str:
        return f"{float(settling_time_s(lag_s, share_left=LEFT_SHARE)) + self.meter['hold_s']:.2f} s"

    @property
    def judged(self) -> Said:
        """Whether the meter is as true as the owner wants, and what the tests found."""
        if not self.fitted:
            return NO_METER
        if self.scale_found is None:
            return NO_SCALE
        speed, _ = self.scale_found.worst
        found = self.scale_found.verdict()
        return listed(
            [f"Error at {speed:.0f} rpm: **{found.word}**: {found.sentence}", *self.scale_found.found.notes]
        )

    @property
    def decision(self) -> Said:
        """When a reading may be written down, and what to write into the machine file."""
        if not self.fitted:
            return NO_METER
        lag = self.step_found.fit.lag_s.value if self.step_found else self.meter["lag_s"]
        age = float(reading_age_s(lag_s=lag, gate_s=0.0, hold_s=self.meter["hold_s"]))
        watch = watching_time_s(
            reading_age_s=age, tolerance_rpm=2 * self.resolution_rpm, resolution_rpm=self.resolution_rpm
        )
        marks = self.machine.meter.marks_per_turn or 1
        hum = float(hum_reading_rpm(self._mains_hz, marks_per_turn=marks))
        lines = [
            f"Write a reading down when it has stood still for {float(watch):.1f} s, and stands still for as "
            "long again. A display of zero is no standstill: look at the chuck.",
            f"A reading near {hum:.0f} or {2 * hum:.0f} rpm with the spindle at rest is the mains: the input "
            "is loose.",
        ]
        if self.step_found:
            lines.append(
                f"For the page *01 machine as built*: under `[meter]`, `lag = "
                f'"{self.step_found.fit.lag_s.value:.2g} s"`.'
            )
        return listed(lines)

    def record_line(self) -> dict | None:
        """The error of the meter where it is furthest off."""
        if self.scale_found is None or not self.fitted:
            return None
        speed, error = self.scale_found.worst
        limit = self.machine.target.speed_error_percent
        why = self.machine.target.why.get("speed_error", "no reason given")
        lag = f"{with_interval(self.step_found.fit.lag_s)} s" if self.step_found else "not tested"
        return {
            "step": self.step,
            "quantity": f"error of the RPM meter at {speed:.0f} rpm",
            "value": round(error.value, 4),
            "uncertainty": error.expanded_uncertainty,
            "unit": "%",
            "lower": None if limit is None else -limit,
            "upper": limit,
            "where_from": f"own choice: {why}" if limit else "",
            "data": [self.step_entry.readings] if self.step_found else [],
            "conditions": {"lag": lag},
            "instrument": {"name": "speeds told in a second way", "U_from": "scatter about the line"},
        }

    def post(self) -> Post | None:
        """Lag and scale of the meter with the rule for reading it."""
        if not self.fitted or (self.step_found is None and self.scale_found is None):
            return None
        found = [one.headline for one in (self.step_found, self.scale_found) if one]
        strobe = self.strobe.reset_index()
        return Post(
            f"RPM meter of {self.machine.name}",
            (
                Paragraph(" ".join(found)),
                calculation(
                    self.settling,
                    meaning="How long to wait after a change of speed.",
                    assumptions=(
                        "a display that nears the true speed ever more slowly, by the same share each moment",
                        f"{100 * LEFT_SHARE:.0f} % of the change still missing counts as settled",
                        "the lag as it stands in the formula, and the same up as down",
                    ),
                ),
                Notes(tuple(one.details for one in (self.step_found, self.scale_found) if one), "Found"),
                Table(
                    tuple(strobe.columns),
                    tuple(tuple(map(str, row)) for row in strobe.to_numpy()),
                    "Strobe discs",
                ),
                *for_post(self.step_picture, self.scale_picture),
            ),
        )


def _disc_row(marks: int, mains: int, top_rpm: float):
    lowest = strobe_speed_rpm(marks, mains_frequency_hz=mains)
    others = strobe_speeds_rpm(marks, mains_frequency_hz=mains, highest_speed_rpm=top_rpm)[1:4]
    again = ", ".join(f"{float(rpm):g}" for rpm in others) or "nowhere below the top speed"
    return marks, f"{float(lowest):g} rpm", again


def _told_of_step(found: StepResult) -> list[str]:
    return [found.headline, *found.fit.notes]


def _told_of_scale(found: ScaleResult) -> list[str]:
    return [found.details, str(found.verdict())]
