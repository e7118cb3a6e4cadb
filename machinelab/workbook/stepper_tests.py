"""What was measured at the stepper: the torque that runs the carriage idle, and what was heard and seen."""

import math
from dataclasses import dataclass
from fractions import Fraction

from machinelab.errors import RangeError
from machinelab.leadscrew.stepper_resonance import USUAL_BAND_SHARE
from machinelab.workbook.measured import value_with_uncertainty
from machinelab.workbook.stepper_built import StepperNumbers
from machinelab.workbook.stepper_numbers import fastest_with_nm
from machinelab.workbook.verdict import Agreement, agrees

# A stall that comes at less than this share of the reckoned speed is more than the doubt of a curve.
TOO_EARLY_SHARE = 0.6


@dataclass(frozen=True)
class IdleTorque:
    """Torque at the screw that moves the carriage without a cut."""

    torque_nm: float
    uncertainty_nm: float

    def __str__(self) -> str:
        shown = value_with_uncertainty(self.torque_nm, self.uncertainty_nm, "N m")
        return f"The screw takes {shown} to move the carriage without a cut."


@dataclass(frozen=True)
class Listened:
    """Speeds of the stepper: where it sounded roughest, and the fastest it was driven."""

    rough_rpm: float
    rough_doubt_rpm: float
    fastest_rpm: float
    fell_out: bool
    resonance_hz: float


def idle_by_string(*, pull_n: Fraction, across_mm: Fraction, doubt_n: Fraction) -> IdleTorque:
    """Torque from the pull of a string that unwinds from a pulley."""
    arm_m = float(across_mm) / 2000
    return IdleTorque(float(pull_n) * arm_m, float(doubt_n) * arm_m)


def idle_by_screwdriver(*, torque_nm: Fraction, doubt_nm: Fraction) -> IdleTorque:
    """Torque read off a torque screwdriver at the end of the screw."""
    return IdleTorque(float(torque_nm), float(doubt_nm))


def listened(
    numbers: StepperNumbers,
    *,
    rough_mm_min: Fraction,
    doubt_mm_min: Fraction,
    fastest_mm_min: Fraction,
    fell_out: bool,
) -> Listened:
    """Turn travels of the carriage into speeds of the stepper."""
    if fastest_mm_min < rough_mm_min:
        raise RangeError(
            f"The fastest travel, {float(fastest_mm_min):g} mm/min, is below the one that sounded rough, "
            f"{float(rough_mm_min):g} mm/min. Were the two boxes mixed up?"
        )
    turns_per_mm = numbers.motor_turns_per_screw_turn / numbers.screw_lead_mm
    rough, doubt, fastest = (
        float(one * turns_per_mm) for one in (rough_mm_min, doubt_mm_min, fastest_mm_min)
    )
    return Listened(rough, doubt, fastest, fell_out, rough * numbers.full_steps / 60)


def told_of_listening(numbers: StepperNumbers, heard: Listened) -> list[str]:
    """Say what the listening found, beside what was reckoned."""
    rough = value_with_uncertainty(heard.rough_rpm, heard.rough_doubt_rpm, "rpm")
    stall_rpm = fastest_with_nm(numbers, float(numbers.load_nm(0.0)))
    lines = [
        f"Roughest with the stepper at {rough}: it swings about {heard.resonance_hz:.0f} times a second."
    ]
    if not heard.fell_out:
        lines.append(
            f"It held its step up to {heard.fastest_rpm:.0f} rpm of its own without a cut; reckoned, it "
            f"would lose it at {stall_rpm:.0f} rpm."
        )
        return lines
    lines.append(
        f"It fell out of step at {heard.fastest_rpm:.0f} rpm of its own without a cut; reckoned, it would at "
        f"{stall_rpm:.0f} rpm. Half of that speed is a limit for every thread from now on."
    )
    if heard.fastest_rpm < TOO_EARLY_SHARE * stall_rpm:
        lines.append(
            "That is much too early, so the curve is not to be trusted before the reason is found: it hunts "
            "in its middle band, the supply sags, the current is a peak that was read as rms, or the screw "
            "binds somewhere along the bed."
        )
    return lines


def resonance_agreement(numbers: StepperNumbers, heard: Listened) -> Agreement | None:
    """Whether it is roughest where it was reckoned to be; None while the inertia is not known."""
    reckoned_rpm = 60 * numbers.reckoned_resonance_hz / numbers.full_steps
    if math.isnan(reckoned_rpm):
        return None
    return agrees(
        round(heard.rough_rpm, 3),
        uncertainty=heard.rough_doubt_rpm,
        predicted=round(reckoned_rpm, 3),
        predicted_uncertainty=round(USUAL_BAND_SHARE * reckoned_rpm, 1),
        unit="rpm",
    )
