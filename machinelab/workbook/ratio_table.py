"""The choice of the belt ratio as a table: what each gives, what it costs, and which work it carries."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import pandas as pd

from machinelab.spindle.drive_train import DriveTrain
from machinelab.spindle.ratio_choice import RatioGives, reflected_inertia_kg_m2, what_ratio_gives
from machinelab.units import show
from machinelab.workbook.machine import Machine
from machinelab.workbook.shop_lengths import ShopLengths, shop_lengths
from machinelab.workbook.torque_words import torque_words
from machinelab.workbook.work_asked import (
    BAR_FEED_MM,
    BAR_MM,
    DRILL_FEED_MM,
    USUAL_MATERIAL,
    Asked,
    cut_carried_mm,
    drill_carried_mm,
)

SPEEDS_RPM = (60.0, 100.0, 300.0)
THREADING, DRILLING = 1, 2
_MANY = 401
TIMES_AS_BUILT = (Fraction(2, 3), Fraction(1), Fraction(3, 2), Fraction(2))


@dataclass(frozen=True)
class RatioColumn:
    """One ratio with all that the table says of it; ``over_all`` holds many speeds up to the top one."""

    gives: RatioGives
    over_all: RatioGives
    as_built: bool
    inertia_kg_m2: float | None
    threads: tuple[Asked, ...]
    lengths: ShopLengths

    @property
    def heading(self) -> str:
        """The ratio in words."""
        turns = f"{float(self.gives.motor_turns_per_spindle_turn):.3g} to 1"
        return f"{turns}, as built" if self.as_built else turns

    @property
    def not_carried(self) -> tuple[str, ...]:
        """Threads whose heaviest pass asks more than there is for a short time."""
        most = float(self.gives.short_torque_nm[THREADING])
        return tuple(thread.words for thread in self.threads if thread.torque_nm > most)

    @property
    def most_power(self) -> tuple[float, float]:
        """The most power in work without end [W], and the speed [rpm] at which there is so much."""
        best = int(np.argmax(self.over_all.power_w))
        return float(self.over_all.power_w[best]), float(self.over_all.speed_rpm[best])

    def cells(self) -> dict[str, str]:
        """The column, by the rows' headings."""
        gives, short = self.gives, self.lengths.short
        at_speeds = {f"{rpm:.0f} rpm, for hours": self._at(place) for place, rpm in enumerate(SPEEDS_RPM)}
        threading, drilling = SPEEDS_RPM[THREADING], SPEEDS_RPM[DRILLING]
        return {
            "top speed": f"{gives.top_speed_rpm:.0f} rpm",
            **at_speeds,
            f"{threading:.0f} rpm, for hours, is set by": str(gives.binding[THREADING]),
            f"{threading:.0f} rpm, for a short time": torque_words(gives.short_torque_nm[THREADING]),
            "most power, for hours": f"{self.most_power[0]:.0f} W",
            "which comes at": f"{self.most_power[1]:.0f} rpm",
            "inertia at the spindle": self._inertia(),
            **{
                f"carries {thread.words}, {threading:.0f} rpm": self._carries(thread)
                for thread in self.threads
            },
            (
                f"turning {short(BAR_MM)} {USUAL_MATERIAL}, {short(BAR_FEED_MM)} a turn, {threading:.0f} rpm"
            ): f"{short(cut_carried_mm(float(gives.torque_nm[THREADING])), 2)} deep",
            (
                f"drilling {USUAL_MATERIAL}, {short(DRILL_FEED_MM)} a turn, {drilling:.0f} rpm"
            ): f"up to {short(drill_carried_mm(float(gives.torque_nm[DRILLING])), 2)}",
        }

    def _at(self, place: int) -> str:
        if self.gives.speed_rpm[place] > self.gives.top_speed_rpm:
            return "beyond its top speed"
        return f"{torque_words(self.gives.torque_nm[place])}, {float(self.gives.power_w[place]):.0f} W"

    def _inertia(self) -> str:
        return (
            "not known" if self.inertia_kg_m2 is None else show(float(f"{self.inertia_kg_m2:.3g}"), "kg m^2")
        )

    def _carries(self, thread: Asked) -> str:
        times = float(self.gives.short_torque_nm[THREADING]) / thread.torque_nm
        return f"{'yes' if times >= 1 else 'NO'}, {_times(times)} times"


def _times(times: float) -> str:
    return f"{times:.0f}" if times >= 10 else f"{times:.2g}"


def ratio_columns(machine: Machine, train: DriveTrain, threads: Sequence[Asked]) -> tuple[RatioColumn, ...]:
    """Work out the ratio as built and some around it."""
    as_built = machine.motor_turns_per_spindle_turn
    return tuple(_column(machine, train, threads, times * as_built, times == 1) for times in TIMES_AS_BUILT)


def _column(machine: Machine, train: DriveTrain, threads: Sequence[Asked], ratio, as_built: bool):
    gives = what_ratio_gives(train, motor_turns_per_spindle_turn=ratio, speed_rpm=SPEEDS_RPM)
    speeds_rpm = np.linspace(0.0, gives.top_speed_rpm, _MANY)
    return RatioColumn(
        gives=gives,
        over_all=what_ratio_gives(train, motor_turns_per_spindle_turn=ratio, speed_rpm=speeds_rpm),
        as_built=as_built,
        inertia_kg_m2=_inertia_kg_m2(machine, ratio),
        threads=tuple(threads),
        lengths=shop_lengths(machine),
    )


def ratio_table(columns: Sequence[RatioColumn]) -> pd.DataFrame:
    """The columns side by side."""
    return pd.DataFrame({column.heading: column.cells() for column in columns})


def _inertia_kg_m2(machine: Machine, ratio: Fraction) -> float | None:
    """Inertia at the spindle with another ratio; None while motor or spindle is not known."""
    whole, motor = machine.spindle.inertia_kg_m2, machine.motor.inertia_kg_m2
    if whole is None or motor is None:
        return None
    without_motor = max(whole - motor * float(machine.motor_turns_per_spindle_turn) ** 2, 0.0)
    return reflected_inertia_kg_m2(
        motor, motor_turns_per_spindle_turn=ratio, spindle_inertia_kg_m2=without_motor
    )
