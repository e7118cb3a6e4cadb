"""The stepper in a thread: change volts, current, microsteps or gearing; see torque, limits and bands."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import partial

import numpy as np

from machinelab.leadscrew.stepper_rate import step_rate_hz
from machinelab.leadscrew.stepper_stiffness import lag_travel_um, rotor_lag_deg
from machinelab.units import Field
from machinelab.workbook.figures.motor import rounded_up
from machinelab.workbook.figures.stepper import StepperTorque
from machinelab.workbook.panels.choice import Choice
from machinelab.workbook.panels.live import LivePanel
from machinelab.workbook.panels.quantity import ExactQuantity, Quantity
from machinelab.workbook.stepper_built import StepperNumbers
from machinelab.workbook.stepper_numbers import (
    AvoidedBand,
    HighestSpeed,
    ThreadWork,
    bands_to_avoid,
    thread_speed,
)
from machinelab.workbook.torque_words import torque_words

SPEED_POINTS = 300
ROOM_BEYOND = 1.25

VOLTAGE = Field(
    name="Supply of the driver",
    kind="voltage",
    low="5 V",
    high="400 V",
    example="48 V",
    help="More volts move the corner to higher speeds; never above what the driver bears, less a tenth.",
)
CURRENT = Field(
    name="Peak current of a winding",
    kind="current",
    low="0.05 A",
    high="80 A",
    example="4.2 A",
    help="The top of the sine; an rms figure times 1.41. More makes the motor hot.",
)
MICROSTEPS = Field(
    name="Microsteps in a full step",
    kind="count",
    low="1",
    high="1024",
    example="8",
    help="Fewer need fewer pulses; below 8 the steps shake the rotor.",
)
GEARING = Field(
    name="Stepper turns for one of the screw",
    kind="ratio",
    low="0.1",
    high="20",
    example="60:24",
    help="Teeth on the screw over teeth on the stepper.",
)
SPEED = Field(
    name="Spindle speed for threading",
    kind="speed",
    low="1 rpm",
    high="10000 rpm",
    example="100 rpm",
    help="Where the curve is read off.",
)
MICROSTEP_SETTINGS = (1, 2, 4, 8, 16, 32, 64, 128, 256)
GEARINGS = tuple(Fraction(n, 4) for n in (2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 14, 16, 18, 20, 24))


@dataclass(frozen=True)
class StepperView:
    """A thread at a spindle speed on a stepper, with the curves that show it."""

    numbers: StepperNumbers
    work: ThreadWork
    speed_rpm: float
    highest: HighestSpeed
    bands: tuple[AvoidedBand, ...]
    speeds_rpm: np.ndarray
    available_nm: np.ndarray
    bound_nm: np.ndarray

    @property
    def load_nm(self) -> float:
        """Torque that the heaviest pass asks."""
        return float(self.numbers.load_nm(self.work.along_n))

    @property
    def wanted_nm(self) -> float:
        """The same with the torque that is to be in hand."""
        return self.numbers.torque_margin * self.load_nm

    @property
    def stepper_rpm(self) -> float:
        """Speed of the stepper."""
        return float(self.numbers.stepper_rpm(self.speed_rpm, self.work.lead_mm))

    @property
    def here_nm(self) -> float:
        """Torque that there is."""
        return float(self.numbers.available_nm(self.stepper_rpm))

    @property
    def margin(self) -> float:
        """Torque that there is over torque asked."""
        return self.here_nm / self.load_nm

    @property
    def pulses_hz(self) -> float:
        """Pulses each second."""
        numbers = self.numbers
        return float(
            step_rate_hz(
                self.speed_rpm, self.work.lead_mm, numbers.screw_lead_mm, numbers.steps_per_screw_turn
            )
        )

    @property
    def lag_um(self) -> float:
        """How far the carriage stands behind by the rotor's lag; NaN where the stepper would stall."""
        numbers = self.numbers
        if not self.here_nm:
            return float("nan")
        lag = rotor_lag_deg(self.load_nm, peak_torque_nm=self.here_nm, full_steps=numbers.full_steps)
        return float(
            lag_travel_um(
                lag,
                screw_travel_mm=float(numbers.screw_lead_mm),
                motor_turns_per_screw_turn=numbers.motor_turns_per_screw_turn,
            )
        )

    @property
    def in_band(self) -> AvoidedBand | None:
        """The band in which the speed lies; None when it is clear of all."""
        return next((one for one in self.bands if one.band.holds(self.speed_rpm)), None)

    @property
    def too_fast(self) -> tuple[str, ...]:
        """The limits that the speed passes."""
        return tuple(words for words, rpm in self.highest.limits_rpm.items() if rpm < self.speed_rpm)

    @property
    def headline(self) -> str:
        """The conclusion, for the top of the figure."""
        at = f"{self.work.name} at {self.speed_rpm:.0f} rpm"
        if self.margin < 1:
            return f"{at}: the stepper stalls. It has {self.margin:.2g} of the torque that the cut asks."
        if self.too_fast:
            return f"{at} is too fast: {self.highest.limit} ends at {self.highest.speed_rpm:.0f} rpm."
        told = f"{at}: {self.margin:.2g} times the torque asked; up to {self.highest}."
        return f"{told} But here it {self.in_band.why}." if self.in_band else told

    @property
    def details(self) -> str:
        """What else the figure shows, for those who cannot see it."""
        numbers = self.numbers
        bands = "; ".join(map(str, self.bands)) or "none known"
        return (
            f"Driver {numbers.driver_supply_v:.0f} V, {numbers.phase_current_a:.2g} A peak, "
            f"{numbers.microsteps} microsteps, {float(numbers.motor_turns_per_screw_turn):.3g} turns for one "
            f"of the screw. Torque {torque_words(self.here_nm)}, asked {torque_words(self.load_nm)}. "
            f"Speeds to keep out of: {bands}."
        )

    @property
    def meaning(self) -> str:
        """What it means for the machine, in plain words."""
        bands = ", ".join(map(str, self.bands)) or "not known without the rotor's inertia"
        told = [
            f"The stepper turns at {self.stepper_rpm:.0f} rpm and takes {self.pulses_hz:.0f} pulses each "
            f"second. Keep out of: {bands}.",
        ]
        if not np.isnan(self.lag_um):
            told.append(f"Under the heaviest pass the carriage stands {self.lag_um:.2g} µm behind.")
        return " ".join(told)


def view_stepper(
    as_built: StepperNumbers,
    other_limits_rpm: Mapping[str, float],
    *,
    work: ThreadWork,
    speed_rpm: float,
    supply_v: float,
    current_a: float,
    microsteps: int,
    motor_turns: Fraction,
) -> StepperView:
    """Work out a thread on the stepper with other volts, current, microsteps or gearing."""
    numbers = replace(
        as_built,
        driver_supply_v=supply_v,
        phase_current_a=current_a,
        microsteps=microsteps,
        motor_turns_per_screw_turn=motor_turns,
        # A resonance that was heard belongs to the machine as built.
        heard_resonance_hz=as_built.heard_resonance_hz
        if (current_a, motor_turns) == (as_built.phase_current_a, as_built.motor_turns_per_screw_turn)
        else float("nan"),
    )
    highest = thread_speed(numbers, work, other_limits_rpm)
    speeds = np.linspace(0, rounded_up(ROOM_BEYOND * max(highest.speed_rpm, speed_rpm, 1.0)), SPEED_POINTS)
    turning = numbers.stepper_rpm(speeds, work.lead_mm)
    return StepperView(
        numbers=numbers,
        work=work,
        speed_rpm=speed_rpm,
        highest=highest,
        bands=bands_to_avoid(numbers, work),
        speeds_rpm=speeds,
        available_nm=numbers.available_nm(turning),
        bound_nm=numbers.bound_nm(turning),
    )


def view_as_built(
    numbers: StepperNumbers, other_limits_rpm: Mapping[str, float], work: ThreadWork, speed_rpm: float
) -> StepperView:
    """A thread on the stepper as it is."""
    return view_stepper(
        numbers,
        other_limits_rpm,
        work=work,
        speed_rpm=speed_rpm,
        supply_v=numbers.driver_supply_v,
        current_a=numbers.phase_current_a,
        microsteps=numbers.microsteps,
        motor_turns=numbers.motor_turns_per_screw_turn,
    )


def stepper_panel(
    as_built: StepperNumbers,
    other_limits_rpm: Mapping[str, float],
    works: Sequence[ThreadWork],
    *,
    shown: ThreadWork,
    speed_rpm: float,
) -> LivePanel:
    """Build the panel, starting at the machine as built."""
    own_v, own_a = as_built.driver_supply_v, as_built.phase_current_a
    volts = sorted({float(round(share * own_v)) for share in np.linspace(0.4, 2.0, 33)})
    amperes = [float(round(share * as_built.full_current_a, 2)) for share in np.linspace(0.2, 1.0, 33)]
    speeds = [float(rpm) for rpm in (20, 30, 40, *range(50, 2025, 25))]
    return LivePanel(
        controls={
            "work": Choice("Thread to cut", {work.name: work for work in works}, chosen=shown.name),
            "speed_rpm": Quantity(SPEED, sweep=speeds, start=speed_rpm),
            "supply_v": Quantity(VOLTAGE, sweep=volts, own=own_v),
            "current_a": Quantity(CURRENT, sweep=amperes, own=own_a),
            "microsteps": ExactQuantity(MICROSTEPS, sweep=MICROSTEP_SETTINGS, own=as_built.microsteps),
            "motor_turns": ExactQuantity(GEARING, sweep=GEARINGS, own=as_built.motor_turns_per_screw_turn),
        },
        compute=partial(view_stepper, as_built, other_limits_rpm),
        chart=StepperTorque(),
        sentence=lambda view: view.meaning,
    )
