"""Each thread on the stepper: what it asks, how fast it may be cut and what sets that, where it shakes."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType

import numpy as np

from machinelab.errors import MachineFileError
from machinelab.leadscrew.stepper_load import carriage_force_n
from machinelab.leadscrew.stepper_rate import lowest_limit, step_speed_limit_rpm
from machinelab.leadscrew.stepper_resonance import (
    SpeedBand,
    hunting_bands,
    hunting_growth_per_s,
    low_band,
)
from machinelab.leadscrew.stepper_torque import in_phase_corner_rpm
from machinelab.spindle.encoder import EDGES_PER_LINE
from machinelab.spindle.encoder_limits import channel_speed_limit_rpm
from machinelab.workbook.machine import Machine
from machinelab.workbook.machine.sections import ThreadToCut
from machinelab.workbook.stepper_built import (
    USUAL_WAY_FRICTION,
    StepperNumbers,
    pulse_limits_hz,
    stepper_built,
)
from machinelab.workbook.work_asked import thread_force_n

# Share of the force along the cut that pushes along the bed when the tool is fed in along the flank: 0.3 to
# 0.5, common practice, no source.
AXIAL_SHARE = 0.5
# Damping of rotor and screw in the middle band; a guess that decides where the band ends.
GUESSED_DAMPING_NM_S = 1e-3
# The parts of the resonance that are felt with microsteps.
PARTS = (1, 2)
# Where it fell out of step without a cut it has no torque at all to spare; half of that speed is the rule of
# thumb for a rapid. Common practice, no source.
PRUDENT_SHARE = 0.5
# No stepper turns so fast; it only ends a search.
LARGEST_STEPPER_RPM = 1e5
SCANNED_RPM = np.arange(20.0, 4000.0, 10.0)

CHANNEL, COUNTER = "what the encoder can send", "what the counter can follow"
TORQUE = "torque of the stepper"
FELL_OUT = "half of where it fell out of step"
STEPPER = "the most the stepper may turn"
SHAKES, HUNTS = "shakes", "may hunt"


@dataclass(frozen=True)
class ThreadWork:
    """A thread of the list and what its heaviest pass asks along the bed, the tables' doubt on top."""

    name: str
    lead_mm: Fraction
    along_n: float


@dataclass(frozen=True)
class HighestSpeed:
    """The highest spindle speed at which a thread may be cut, and what sets it.

    ``speed_rpm`` is NaN and ``limit`` empty while no limit is known. ``limits_rpm`` has every limit that is
    known by its words, the one that sets the speed among them.
    """

    speed_rpm: float
    limit: str
    limits_rpm: Mapping[str, float]

    def __str__(self) -> str:
        return f"{self.speed_rpm:.0f} rpm, set by: {self.limit}" if self.limit else "not known"


@dataclass(frozen=True)
class AvoidedBand:
    """Spindle speeds to keep out of in a thread, and why."""

    why: str
    band: SpeedBand

    def __str__(self) -> str:
        return f"{self.band.lowest_rpm:.0f} to {self.band.highest_rpm:.0f} rpm ({self.why})"


def highest_speed(
    machine: Machine, thread: ThreadToCut, *, idle_torque_nm: float | None = None
) -> HighestSpeed:
    """Find the highest spindle speed that pulses, encoder, stepper and spindle allow in a thread.

    Limits of which the machine file says nothing are left out. The torque measured at the screw with the
    carriage running idle takes the place of the reckoned one where it is given.
    """
    limits = {**fixed_limits_rpm(machine), **_pulse_limits(machine, thread)}
    try:
        numbers = stepper_built(machine, idle_torque_nm=idle_torque_nm)
    except MachineFileError:
        return _lowest(limits)
    if thread.lead_mm is None:
        return _lowest(limits)
    return thread_speed(numbers, thread_work(thread), limits)


def thread_speed(
    numbers: StepperNumbers, work: ThreadWork, other_limits_rpm: Mapping[str, float]
) -> HighestSpeed:
    """The same for a stepper in numbers, with the limits that do not hang on it."""
    needed = (work.lead_mm, numbers.screw_lead_mm, numbers.steps_per_screw_turn)
    by_pulses = {
        words: step_speed_limit_rpm(rate, *needed) for words, rate in numbers.pulse_limits_hz.items()
    }
    wanted_nm = numbers.torque_margin * float(numbers.load_nm(work.along_n))
    by_torque = float(numbers.spindle_rpm(fastest_with_nm(numbers, wanted_nm), work.lead_mm))
    turning = {STEPPER: numbers.highest_stepper_rpm, FELL_OUT: PRUDENT_SHARE * numbers.fell_out_rpm}
    by_turning = {
        words: float(numbers.spindle_rpm(rpm, work.lead_mm))
        for words, rpm in turning.items()
        if not math.isnan(rpm)
    }
    return _lowest({**other_limits_rpm, **by_pulses, **by_turning, TORQUE: by_torque})


def fixed_limits_rpm(machine: Machine) -> dict[str, float]:
    """The limits of the spindle speed that no thread and no stepper changes."""
    counts, encoder = machine.counts_per_spindle_turn, machine.encoder
    limits = dict(machine.spindle_speed_limits_rpm)
    if counts is not None and encoder.highest_channel_hz is not None:
        limits[CHANNEL] = channel_speed_limit_rpm(encoder.highest_channel_hz, counts)
    if counts is not None and encoder.highest_edge_hz is not None:
        limits[COUNTER] = channel_speed_limit_rpm(encoder.highest_edge_hz / EDGES_PER_LINE, counts)
    return limits


def thread_works(machine: Machine) -> tuple[ThreadWork, ...]:
    """Every thread on the list whose pitch is known."""
    named = enumerate(machine.threads, start=1)
    return tuple(thread_work(thread, f"thread {count}") for count, thread in named if thread.pitch_mm)


def thread_work(thread: ThreadToCut, else_called: str = "this thread") -> ThreadWork:
    """A thread whose pitch is known, with what its heaviest pass asks along the bed."""
    cut_n = thread_force_n(thread)
    along_n = carriage_force_n(
        USUAL_WAY_FRICTION, carriage_mass_kg=0.0, press_n=cut_n, gib_n=0.0, axial_n=AXIAL_SHARE * cut_n
    )
    return ThreadWork(thread.designation or thread.name or else_called, thread.lead_mm, along_n)


def fastest_with_nm(numbers: StepperNumbers, torque_nm: float) -> float:
    """Speed of the stepper up to which it gives a torque, rpm; zero when it never does."""
    from scipy.optimize import brentq

    def left_nm(rpm: float) -> float:
        return float(numbers.available_nm(rpm)) - torque_nm

    if left_nm(0.0) < 0:
        return 0.0
    beyond = 100.0
    while left_nm(beyond) >= 0:
        beyond *= 2
        if beyond > LARGEST_STEPPER_RPM:
            return LARGEST_STEPPER_RPM
    return brentq(left_nm, 0.0, beyond, xtol=1e-6)


def bands_to_avoid(numbers: StepperNumbers, work: ThreadWork) -> tuple[AvoidedBand, ...]:
    """The spindle speeds at which a thread makes the stepper shake or hunt, slowest first.

    None is claimed while the inertia is unknown and nothing was heard.
    """
    found = [
        (SHAKES, low_band(numbers.resonance_hz, full_steps=numbers.full_steps, part=part))
        for part in PARTS
        if not math.isnan(numbers.resonance_hz)
    ]
    found += [(HUNTS, band) for band in _hunting(numbers, float(numbers.load_nm(work.along_n)))]
    return tuple(
        AvoidedBand(why, SpeedBand(*(float(numbers.spindle_rpm(end, work.lead_mm)) for end in _ends(band))))
        for why, band in sorted(found, key=lambda one: one[1].lowest_rpm)
    )


def _hunting(numbers: StepperNumbers, load_nm: float) -> tuple[SpeedBand, ...]:
    """Speeds of the stepper at which it may hunt: those where the driver no longer holds the current."""
    if math.isnan(numbers.inertia_kg_m2):
        return ()
    corner = float(in_phase_corner_rpm(**numbers.driven))
    speeds = SCANNED_RPM[corner <= SCANNED_RPM]
    growth = hunting_growth_per_s(
        speeds,
        **numbers.winding,
        moved_inertia_kg_m2=numbers.inertia_kg_m2,
        iron_drag_nm_s=GUESSED_DAMPING_NM_S,
        load_at_motor_nm=load_nm,
    )
    return hunting_bands(growth, stepper_speed_rpm=speeds)


def _ends(band: SpeedBand) -> tuple[float, float]:
    return band.lowest_rpm, band.highest_rpm


def _lowest(limits: Mapping[str, float]) -> HighestSpeed:
    lowest = lowest_limit(limits)
    return HighestSpeed(lowest.speed_rpm, lowest.set_by, MappingProxyType(dict(limits)))


def _pulse_limits(machine: Machine, thread: ThreadToCut) -> dict[str, float]:
    needed = (thread.lead_mm, machine.leadscrew.lead_mm, machine.steps_per_screw_turn)
    if None in needed:
        return {}
    rates = pulse_limits_hz(machine)
    return {words: float(step_speed_limit_rpm(rate, *needed)) for words, rate in rates.items()}
