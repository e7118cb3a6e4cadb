"""How the stepper feeds an idle carriage: its fastest travel, and what a change of direction costs."""

import math
from dataclasses import dataclass

from machinelab.leadscrew.feed import DirectionChange, direction_change, rapid_feed_mm_min
from machinelab.workbook.machine import Machine, needs
from machinelab.workbook.stepper_built import StepperNumbers, stepper_built
from machinelab.workbook.stepper_numbers import fastest_with_nm

STEPPER_STEP = "08"
# Time that most drivers want their direction to stand before a pulse; data sheets, from memory.
USUAL_SET_UP_S = 5e-6
# Swings of the rotor that are waited for; common practice, no source: 2 to 3.
USUAL_RING_PERIODS = 3.0
# Of the torque that is left; common practice, no source.
USED_SHARE = 0.5
SECONDS = 60.0


@dataclass(frozen=True)
class CarriageFeed:
    """The idle carriage on its stepper; NaN stands for what the machine file does not let one tell.

    Parameters
    ----------
    rapid_mm_min : float [mm/min]
        Fastest travel worth using.
    rapid_why : str
        What sets it.
    feed_mm_min : float [mm/min]
        Feed of the job.
    turned : DirectionChange or None
        What it costs to turn round at that feed.
    """

    rapid_mm_min: float
    rapid_why: str
    feed_mm_min: float
    turned: DirectionChange | None

    @property
    def lines(self) -> tuple[str, ...]:
        """All of it in plain words."""
        rapid = f"Idle travel up to {self.rapid_mm_min:.0f} mm/min, by a ramp: {self.rapid_why}."
        if self.turned is None:
            return (
                rapid,
                "What a change of direction costs cannot be told without the rotor's inertia and the "
                "screw's length (page 01).",
            )
        turned = self.turned
        return (
            rapid,
            f"At {self.feed_mm_min:.0f} mm/min a change of direction overruns "
            f"{1000 * float(turned.overrun_mm):.2g} µm, stands {1000 * float(turned.standing_s):.0f} ms and "
            f"takes {1000 * float(turned.reversal_s):.0f} ms in all, backlash included. Draw the tool back "
            "before it: while it stands it rubs a ring.",
            "Without a ramp only below half the feed at which the stepper starts at once (common practice, "
            "no source); page 08 tells how to find that.",
        )


def carriage_feed(machine: Machine, feed_mm_min: float) -> CarriageFeed | None:
    """Work out the idle carriage at a feed; None while the machine file lacks what page 08 needs."""
    if needs(STEPPER_STEP, machine):
        return None
    numbers = stepper_built(machine)
    rapid_mm_min, why = _rapid(numbers, machine)
    return CarriageFeed(rapid_mm_min, why, feed_mm_min, _turned(numbers, machine, feed_mm_min))


def _rapid(numbers: StepperNumbers, machine: Machine) -> tuple[float, str]:
    ends_rpm = fastest_with_nm(numbers, float(numbers.load_nm(0.0)))
    by_torque = rapid_feed_mm_min(ends_rpm, numbers.screw_lead_mm, numbers.motor_turns_per_screw_turn)
    step_mm = float(numbers.screw_lead_mm / numbers.steps_per_screw_turn)
    limits = {"half of where the stepper's torque is used up by friction": by_torque}
    limits |= {why: SECONDS * rate * step_mm for why, rate in numbers.pulse_limits_hz.items()}
    if machine.feed.fastest_mm_min:
        limits["the knob goes no further"] = float(machine.feed.fastest_mm_min)
    why = min(limits, key=limits.get)
    return float(limits[why]), why


def _turned(numbers: StepperNumbers, machine: Machine, feed_mm_min: float) -> DirectionChange | None:
    if math.isnan(numbers.inertia_kg_m2):
        return None
    travel_mm = float(numbers.screw_lead_mm / numbers.motor_turns_per_screw_turn)
    stepper_rpm = feed_mm_min / travel_mm
    left_nm = float(numbers.available_nm(stepper_rpm)) - float(numbers.load_nm(0.0))
    if left_nm <= 0:
        return None
    gain_rad_s2 = USED_SHARE * left_nm / numbers.inertia_kg_m2
    return direction_change(
        feed_mm_min / SECONDS,
        slowing_mm_s2=gain_rad_s2 / (2 * math.pi) * travel_mm,
        set_up_s=USUAL_SET_UP_S,
        resonance_hz=numbers.resonance_hz,
        ring_periods=USUAL_RING_PERIODS,
        backlash_mm=float(machine.carriage.backlash_mm or 0.0),
    )
