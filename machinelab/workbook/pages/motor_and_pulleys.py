"""Page 03: what torque the motor leaves at the chuck, what limits it, and which belt ratio suits the work."""

from typing import ClassVar

import pandas as pd

from machinelab.spindle.drive_train import DriveTrain
from machinelab.spindle.motor import torque_nm
from machinelab.spindle.motor_heat import USUAL_FORM_FACTORS, continuous_current_a
from machinelab.spindle.motor_limits import continuous_envelope, short_time_envelope
from machinelab.units import Field, show
from machinelab.workbook.belt_check import belt_table
from machinelab.workbook.drive_numbers import DriveNumbers, drive_numbers
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.figures.motor import DriveEnvelope
from machinelab.workbook.figures.motor_bench import MotorBenchChart
from machinelab.workbook.measured import value_with_uncertainty
from machinelab.workbook.motor_advice import holding_speed, hot, overload, what_to_change, what_to_write
from machinelab.workbook.motor_tests import MotorTests, motor_tests
from machinelab.workbook.pages.page import Page, Said, for_post, once_known
from machinelab.workbook.panels.motor import DriveView, Pulleys, drive_panel, view_drive
from machinelab.workbook.panels.motor_bench import MotorBench
from machinelab.workbook.ratio_table import ratio_columns, ratio_table
from machinelab.workbook.share import Notes, Paragraph, Post, Table, calculation
from machinelab.workbook.torque_words import torque_words
from machinelab.workbook.verdict import Verdict, verdict
from machinelab.workbook.work_asked import Asked, threads_asked, usual_cuts
from machinelab.worked import Working, worked

# A common speed for threading on a small lathe; common practice, no source.
READ_OFF_RPM = 100.0
# Two ways to the back EMF must agree so well; common practice, no source.
AGREEING_PERCENT = 3.0
GUESS = Field(
    name=f"Torque at the chuck at {READ_OFF_RPM:.0f} rpm",
    kind="torque",
    low="0.01 N m",
    high="500 N m",
    example="5 N m",
    help="For hours on end. Think of a weight on a bar of known length, or of a torque wrench.",
)
NOT_MEASURED = Said(
    "Nothing has been measured at the motor yet. Type readings into the boxes at *Measure*, then run the "
    "cells below them."
)
NO_PULLEYS = Said("This drive has no belt over plain pulleys, so there is no wrap to check.")
ONE_WAY_ONLY = Said(
    "The back EMF is known by one way only. Make both tests, turned by a drill and running light: each finds "
    "the slips of the other."
)


class MotorAndPulleysPage(Page):
    """The spindle drive of the chosen machine: envelope, bench tests, and the choice of the ratio."""

    step: ClassVar[str] = "03"

    def __init__(self, machine, problem=""):
        super().__init__(machine, problem)
        self.guess = self.guess_box(GUESS)
        self.bench = MotorBench(
            self.readings.of(self.step),
            work_out=self._tests,
            keep=lambda name, text: self.readings.keep(self.step, name, text),
        )

    def _tests(self, tables) -> MotorTests:
        return motor_tests(tables, None if self.still_needed else self.numbers.train)

    @property
    def found(self) -> MotorTests:
        """What the bench tests have come to so far."""
        return self.bench.found

    @property
    def numbers(self) -> DriveNumbers:
        """The drive as the machine file has it."""
        return drive_numbers(self.machine)

    @property
    def train(self) -> DriveTrain:
        """The drive with every constant that was measured in its place."""
        return self.found.applied_to(self.numbers.train)

    @property
    def pulleys(self) -> Pulleys:
        """The two wheels as built; one to one where the motor sits on the spindle."""
        drive = self.machine.spindle_drive
        if drive.motor_teeth:
            return Pulleys(drive.motor_teeth, drive.spindle_teeth, toothed=True)
        if drive.motor_pulley_mm:
            return Pulleys(drive.motor_pulley_mm, drive.spindle_pulley_mm, toothed=False)
        return Pulleys(100, 100, toothed=False)

    @property
    def allowed_rpm(self) -> float:
        """The fastest that chuck and owner allow; without end when neither is known."""
        return self.machine.highest_spindle_speed_rpm or float("inf")

    @property
    def asked(self) -> tuple[Asked, ...]:
        """The thread that asks most, and a turning cut to compare with."""
        threads = threads_asked(self.machine)
        heaviest = (max(threads, key=lambda one: one.torque_nm),) if threads else ()
        return (*heaviest, usual_cuts(self.lengths)[0])

    @once_known
    def heat(self) -> Working | Said:
        """How much current the motor carries for hours at the speed that is read off."""
        train = self.numbers.train
        return worked(
            continuous_current_a,
            motor_speed_rpm=float(train.motor_speed_rpm(READ_OFF_RPM)),
            rated_current_a=train.rated_current_a,
            rated_motor_speed_rpm=train.rated_motor_speed_rpm,
            standstill_share=train.standstill_share,
            form_factor=train.form_factor,
            rated_form_factor=USUAL_FORM_FACTORS["smoothed"],
        )

    @once_known
    def working(self) -> Working | Said:
        """What torque that current leaves at the chuck."""
        train = self.numbers.train
        return worked(
            torque_nm,
            speed_rpm=READ_OFF_RPM,
            motor_turns_per_spindle_turn=train.motor_turns_per_spindle_turn,
            supply_v=train.supply_v,
            brush_drop_v=train.brush_drop_v,
            back_emf_v_s_per_rad=train.back_emf_v_s_per_rad,
            armature_resistance_ohm=train.armature_resistance_ohm,
            current_limit_a=float(self.heat().result),
            no_load_torque_nm=train.no_load_torque_nm,
            belt_efficiency=train.belt_efficiency,
            spindle_drag_nm=train.spindle_drag_nm,
        )

    @once_known
    def assumed(self) -> Said:
        """What was taken where the machine file is silent."""
        return Said("Taken for granted:\n\n" + "\n".join(f"- {one}" for one in self.numbers.assumed))

    def view(self) -> DriveView:
        """The panel's starting point: the machine as built."""
        return view_drive(
            self.numbers.train,
            self.asked,
            self.allowed_rpm,
            motor_pulley=self.pulleys.motor,
            spindle_pulley=self.pulleys.spindle,
            supply_v=self.numbers.train.supply_v,
            speed_rpm=READ_OFF_RPM,
        )

    @once_known
    def picture(self) -> Picture | Said:
        """Torque and power over all speeds, with the limits named."""
        return DriveEnvelope.draw(self.view())

    @once_known
    def panel(self):
        """The same with pulleys, supply and speed to move."""
        return drive_panel(
            self.numbers.train,
            self.pulleys,
            self.asked,
            allowed_rpm=self.allowed_rpm,
            speed_rpm=READ_OFF_RPM,
        )

    @once_known
    def belt(self) -> pd.DataFrame | Said:
        """Wrap, speed, smallest pulley and distance of the belt as built."""
        found = belt_table(self.machine)
        return NO_PULLEYS if found is None else found

    @once_known
    def knob(self) -> Said:
        """How far the speed sags under load, and how finely it can be set."""
        return _listed(holding_speed(self.train, self.allowed_rpm))

    @property
    def tested(self) -> Said:
        """What the bench tests say, line by line."""
        told = self.found.told()
        return _listed(told) if told else NOT_MEASURED

    @property
    def bench_picture(self) -> Picture | Said:
        """The readings and the lines through them."""
        return MotorBenchChart.draw(self.found) if self.found.tables else NOT_MEASURED

    @once_known
    def constants(self) -> pd.DataFrame:
        """The constants of the machine file beside the measured ones."""
        motor, found = self.machine.motor, self.found
        rows = (
            ("armature resistance", motor.armature_resistance_ohm, found.resistance, "ohm"),
            ("back EMF", motor.back_emf_v_s_per_rad, found.back_emf, "V s/rad"),
            ("brush drop", motor.brush_drop_v, found.brush_drop, "V"),
        )
        table = [
            (name, show(filed, unit), _measured(estimate, unit), _off(filed, estimate))
            for name, filed, estimate, unit in rows
        ]
        return pd.DataFrame(table, columns=["", "machine file", "measured", "difference"]).set_index("")

    @once_known
    def compared(self) -> pd.DataFrame:
        """The reader's guess, the torque by the machine file and by what was measured."""
        by_file = continuous_envelope(READ_OFF_RPM, self.numbers.train)
        by_bench = continuous_envelope(READ_OFF_RPM, self.train)
        short = short_time_envelope(READ_OFF_RPM, self.train)
        measured = self.found.back_emf or self.found.resistance
        rows = [
            ("your guess, for hours", self.guess.shown, ""),
            ("by the machine file, for hours", torque_words(by_file.torque_nm), str(by_file.binding)),
            (
                "by the measured constants, for hours",
                torque_words(by_bench.torque_nm) if measured else "not measured yet",
                str(by_bench.binding) if measured else "",
            ),
            ("for a short time", torque_words(short.torque_nm), str(short.binding)),
        ]
        heading = f"torque at the chuck at {READ_OFF_RPM:.0f} rpm"
        return pd.DataFrame(rows, columns=["", heading, "set by"]).set_index("")

    def verdict(self) -> Verdict | Said:
        """Whether the two ways to the back EMF agree as well as they must."""
        difference = self.found.difference_percent
        if difference is None:
            return ONE_WAY_ONLY if self.found.back_emf else NOT_MEASURED
        return verdict(
            round(difference.value, 3),
            difference.expanded_uncertainty,
            -AGREEING_PERCENT,
            AGREEING_PERCENT,
            unit="%",
        )

    @once_known
    def ratios(self) -> pd.DataFrame:
        """The ratio as built and some around it: what each buys and costs."""
        return ratio_table(self._columns())

    def _columns(self):
        return ratio_columns(self.machine, self.train, threads_asked(self.machine))

    @once_known
    def decision(self) -> Said:
        """What the figures mean for this machine."""
        return _listed(what_to_change(self._columns(), self.train, self.allowed_rpm))

    @once_known
    def mind(self) -> Said:
        """How long overload lasts, what heat changes, and what endangers the magnets."""
        return _listed([*overload(self.train, READ_OFF_RPM), *hot(self.train)])

    @property
    def to_write(self) -> Said:
        """The lines of the machine file that the measurement would change."""
        lines = what_to_write(self.found)
        if not lines:
            return NOT_MEASURED
        written = "\n".join(lines)
        return Said(f"For the page *01 machine as built*, as measured:\n\n```toml\n[motor]\n{written}\n```")

    def record_line(self) -> dict | None:
        """The difference of the two ways to the back EMF, with what it rests on."""
        difference = self.found.difference_percent
        if difference is None:
            return None
        return {
            "step": self.step,
            "quantity": "back EMF turned by a drill against running light, difference",
            "value": round(difference.value, 3),
            "uncertainty": difference.expanded_uncertainty,
            "unit": "%",
            "lower": -AGREEING_PERCENT,
            "upper": AGREEING_PERCENT,
            "where_from": "common practice, no source: more tells of brushes, magnets or a meter",
            "conditions": {
                "back EMF": _measured(self.found.back_emf, "V s/rad"),
                "armature resistance": _measured(self.found.resistance, "ohm"),
                "brush drop": _measured(self.found.brush_drop, "V"),
            },
            "instrument": {"name": "volt and ammeter, rpm meter", "U_from": "spread of the readings"},
        }

    def post(self) -> Post | None:
        """The torque with its working, the bench tests, and the choice of the ratio."""
        if self.still_needed:
            return None
        table = self.ratios().reset_index(names="at the spindle")
        told = self.found.told()
        picture = self.picture()
        return Post(
            f"Motor and pulleys of {self.machine.name}",
            (
                Paragraph(self.view().headline),
                calculation(
                    self.working(),
                    meaning=f"What is left for the cut at {READ_OFF_RPM:.0f} rpm, for hours.",
                    assumptions=self.numbers.assumed,
                ),
                Table(tuple(table.columns), tuple(map(tuple, table.to_numpy())), "The choice of the ratio"),
                *((Notes(tuple(told), "Measured at the motor"),) if told else ()),
                *for_post(picture),
            ),
        )


def _listed(lines) -> Said:
    return Said("\n".join(f"- {line}" for line in lines))


def _measured(estimate, unit: str) -> str:
    if estimate is None:
        return "not measured yet"
    return value_with_uncertainty(estimate.value, estimate.expanded_uncertainty, unit)


def _off(filed: float | None, estimate) -> str:
    if filed is None or estimate is None:
        return ""
    return f"{100 * (estimate.value / filed - 1):+.1f} %" if filed else ""
