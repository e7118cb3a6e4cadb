"""What a machine brings to a job: its speeds, the torque that its drive leaves, and how it feeds."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType

import numpy as np

from machinelab.leadscrew.gearing import nearest_ratio, pitch_error_ppm, steps_per_count
from machinelab.spindle.drive_train import DriveTrain
from machinelab.spindle.motor_limits import continuous_envelope, short_time_envelope
from machinelab.spindle.motor_regulation import droop_rpm
from machinelab.workbook.drive_numbers import drive_numbers
from machinelab.workbook.machine import Machine, needs
from machinelab.workbook.shop_lengths import MILLIMETRES, ShopLengths, shop_lengths

# Below it a permanent-magnet motor stalls and cogs; common practice, no source: 40 to 60 rpm.
USUAL_LOWEST_RPM = 60.0
USUAL_SWING_MM = 300.0
# A common size of whole number in a small controller; from memory.
USUAL_LARGEST = 65535
# Bits of the converter that reads a knob, in most small controllers; from memory.
USUAL_KNOB_BITS = 10
DRIVE_STEP, GEARING_STEP = "03", "07"


@dataclass(frozen=True)
class ScrewGearing:
    """How the leadscrew follows the spindle, in exact numbers."""

    screw_lead_mm: Fraction
    steps_per_screw_turn: Fraction
    counts_per_spindle_turn: Fraction
    largest: tuple[int, int]

    def ratio(self, feed_mm: Fraction) -> tuple[Fraction, float]:
        """The ratio to set for a feed that follows the spindle, and its error in ppm."""
        wanted = steps_per_count(
            feed_mm, self.screw_lead_mm, self.steps_per_screw_turn, self.counts_per_spindle_turn
        )
        used = nearest_ratio(wanted, *self.largest)
        return used, pitch_error_ppm(used, wanted)


@dataclass(frozen=True)
class JobMachine:
    """A machine in plain numbers for a job; NaN or None stands for what is not known.

    Parameters
    ----------
    limits_rpm : mapping of str to float [rpm]
        What sets an upper end to the spindle speed, by its words.
    lowest_rpm : float [rpm]
        The slowest steady speed.
    swing_mm : float [mm]
        Largest diameter over the bed.
    train : DriveTrain or None
        The spindle's drive.
    slowest_mm_min, fastest_mm_min : float [mm/min]
        Range of the feed knob.
    gearing : ScrewGearing or None
        How the screw follows the spindle.
    assumed : tuple of str
        What was taken where the machine file is silent.
    lengths : ShopLengths
        How the shop writes lengths.
    """

    limits_rpm: Mapping[str, float]
    lowest_rpm: float
    swing_mm: float
    train: DriveTrain | None
    slowest_mm_min: float
    fastest_mm_min: float
    gearing: ScrewGearing | None
    assumed: tuple[str, ...]
    lengths: ShopLengths = MILLIMETRES

    @property
    def top_rpm(self) -> float:
        """The highest speed that nothing forbids."""
        return min(self.limits_rpm.values())

    @property
    def top_why(self) -> str:
        """What sets it."""
        return min(self.limits_rpm, key=self.limits_rpm.get)

    def for_hours_nm(self, speed_rpm):
        """Torque at the spindle that the motor bears for hours."""
        if self.train is None:
            return np.full(np.shape(speed_rpm), math.nan)
        return continuous_envelope(speed_rpm, self.train).torque_nm

    def for_a_short_time_nm(self, speed_rpm):
        """Torque at the spindle for a short time."""
        if self.train is None:
            return np.full(np.shape(speed_rpm), math.nan)
        return short_time_envelope(speed_rpm, self.train).torque_nm

    def sag_rpm(self, torque_nm: float) -> float:
        """How much speed a torque costs when the drive makes up for nothing; NaN without a known drive."""
        train = self.train
        if train is None:
            return math.nan
        gearing = float(train.motor_turns_per_spindle_turn)
        rise_a = torque_nm / (gearing * train.belt_efficiency * train.back_emf_v_s_per_rad)
        at_motor = droop_rpm(
            rise_a,
            armature_resistance_ohm=train.armature_resistance_ohm,
            compensation_ohm=0.0,
            back_emf_v_s_per_rad=train.back_emf_v_s_per_rad,
        )
        return float(at_motor) / gearing


def job_machine(machine: Machine) -> JobMachine:
    """Gather what a machine that has all that step 09 needs brings to a job."""
    drive = None if needs(DRIVE_STEP, machine) else drive_numbers(machine)
    feed = machine.feed
    return JobMachine(
        limits_rpm=MappingProxyType(machine.spindle_speed_limits_rpm),
        lowest_rpm=machine.spindle.lowest_speed_rpm or USUAL_LOWEST_RPM,
        swing_mm=float(machine.lathe.swing_mm or USUAL_SWING_MM),
        train=drive.train if drive else None,
        slowest_mm_min=float(feed.slowest_mm_min or math.nan),
        fastest_mm_min=float(feed.fastest_mm_min or math.nan),
        gearing=_gearing(machine),
        assumed=(*_assumed(machine), *(drive.assumed if drive else ())),
        lengths=shop_lengths(machine),
    )


def _gearing(machine: Machine) -> ScrewGearing | None:
    parts = (machine.leadscrew.lead_mm, machine.steps_per_screw_turn, machine.counts_per_spindle_turn)
    if None in parts:
        return None
    known = machine.controller
    return ScrewGearing(
        *parts, (known.largest_numerator or USUAL_LARGEST, known.largest_denominator or USUAL_LARGEST)
    )


def _assumed(machine: Machine):
    if machine.spindle.lowest_speed_rpm is None:
        yield f"{USUAL_LOWEST_RPM:g} rpm as the slowest steady speed (common practice, no source: 40 to 60)"
    if machine.lathe.swing_mm is None:
        yield f"a swing of {USUAL_SWING_MM:g} mm, only for the width of the picture"
    if needs(DRIVE_STEP, machine):
        yield "nothing about the torque of the drive: the machine file lacks what page 03 needs"
