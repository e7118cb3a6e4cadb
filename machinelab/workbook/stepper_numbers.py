"""The machine file's stepper, leadscrew and threads as plain numbers: torque, load, and the highest speed."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType

from machinelab.errors import MachineFileError
from machinelab.leadscrew.screw_friction import FLANK_HALF_ANGLES_DEG, mean_screw_diameter_mm, screw_torque_nm
from machinelab.leadscrew.stepper_load import (
    GRAVITY_M_S2,
    bar_inertia_kg_m2,
    carriage_force_n,
    carriage_inertia_kg_m2,
    inertia_at_motor_kg_m2,
    load_at_motor_nm,
)
from machinelab.leadscrew.stepper_rate import (
    lowest_limit,
    spindle_speed_of_stepper_rpm,
    step_speed_limit_rpm,
    stepper_speed_rpm,
)
from machinelab.leadscrew.stepper_torque import available_torque_nm, pull_out_torque_nm
from machinelab.leadscrew.stepper_winding import peak_of_rms_a, torque_constant_nm_per_a
from machinelab.spindle.encoder import EDGES_PER_LINE
from machinelab.spindle.encoder_limits import channel_speed_limit_rpm
from machinelab.workbook.machine import Machine
from machinelab.workbook.machine.sections import ThreadToCut
from machinelab.workbook.work_asked import thread_force_n

# Common practice, no source, all of them.
USUAL_TORQUE_MARGIN = 2.0
USUAL_DETENT_SHARE = 0.05
USUAL_WAY_FRICTION = 0.15
USUAL_SCREW_DRAG_NM = 0.1
USUAL_DRAG_N = 40.0
USUAL_SCREW_MM = 20.0
USUAL_FRICTION = MappingProxyType({"ball": 0.005})
USUAL_NUT_FRICTION = 0.15
USUAL_BELT_EFFICIENCY = 0.95
# Share of the force along the cut that pushes along the bed, fed in along the flank; 0.3 to 0.5.
AXIAL_SHARE = 0.5
# No stepper turns so fast; it only ends a search.
LARGEST_STEPPER_RPM = 1e5

CONTROLLER, DRIVER = "pulses that the controller makes", "pulses that the driver takes"
CHANNEL, COUNTER = "what the encoder can send", "what the counter can follow"
TORQUE = "torque of the stepper"


@dataclass(frozen=True)
class StepperNumbers:
    """The stepper, its driver and its screw in plain numbers, and each figure that was assumed, in words."""

    full_steps: int
    microsteps: int
    steps_per_screw_turn: Fraction
    motor_turns_per_screw_turn: Fraction
    screw_lead_mm: Fraction
    holding_torque_nm: float
    rated_winding_current_a: float
    phase_current_a: float
    driver_supply_v: float
    inductance_h: float
    winding_resistance_ohm: float
    detent_torque_nm: float
    inertia_kg_m2: float
    mean_screw_mm: float
    screw_friction: float
    flank_angle_deg: float
    idle_torque_nm: float
    belt_efficiency: float
    torque_margin: float
    assumed: tuple[str, ...]

    @property
    def torque_constant_nm_per_a(self) -> float:
        """Torque of one winding for each ampere."""
        return float(
            torque_constant_nm_per_a(
                self.holding_torque_nm, rated_winding_current_a=self.rated_winding_current_a
            )
        )

    @property
    def winding(self) -> dict:
        """What the torque curves need, by name."""
        return {
            "full_steps": self.full_steps,
            "torque_constant_nm_per_a": self.torque_constant_nm_per_a,
            "phase_current_a": self.phase_current_a,
            "driver_supply_v": self.driver_supply_v,
            "inductance_h": self.inductance_h,
            "winding_resistance_ohm": self.winding_resistance_ohm,
        }

    def available_nm(self, stepper_rpm):
        """Torque at the stepper's shaft at a speed, its own detent taken off."""
        return available_torque_nm(
            pull_out_torque_nm(stepper_rpm, **self.winding),
            stepper_speed_rpm=stepper_rpm,
            detent_torque_nm=self.detent_torque_nm,
            iron_drag_nm_s=0.0,
        )

    def load_nm(self, force_n):
        """Torque that a force of the cut along the bed asks of the stepper, what runs idle included."""
        driving_nm = screw_torque_nm(
            force_n,
            screw_travel_mm=float(self.screw_lead_mm),
            mean_diameter_mm=self.mean_screw_mm,
            screw_friction=self.screw_friction,
            flank_angle_deg=self.flank_angle_deg,
        )
        return load_at_motor_nm(
            driving_nm,
            screw_drag_nm=self.idle_torque_nm,
            motor_turns_per_screw_turn=self.motor_turns_per_screw_turn,
            belt_efficiency=self.belt_efficiency,
        )

    def stepper_rpm(self, spindle_rpm, lead_mm: Fraction):
        """Speed of the stepper at a spindle speed in a thread."""
        return stepper_speed_rpm(spindle_rpm, lead_mm, self.screw_lead_mm, self.motor_turns_per_screw_turn)

    def spindle_rpm(self, stepper_rpm, lead_mm: Fraction):
        """Spindle speed at which a thread turns the stepper so fast."""
        return spindle_speed_of_stepper_rpm(
            stepper_rpm, lead_mm, self.screw_lead_mm, self.motor_turns_per_screw_turn
        )

    def fastest_with_nm(self, torque_nm: float) -> float:
        """Speed of the stepper up to which it gives a torque, rpm; zero when it never does."""
        from scipy.optimize import brentq

        if float(self.available_nm(0.0)) < torque_nm:
            return 0.0
        beyond = 100.0
        while float(self.available_nm(beyond)) >= torque_nm and beyond < LARGEST_STEPPER_RPM:
            beyond *= 2
        if float(self.available_nm(beyond)) >= torque_nm:
            return LARGEST_STEPPER_RPM
        return brentq(lambda rpm: float(self.available_nm(rpm)) - torque_nm, 0.0, beyond, xtol=1e-6)


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


def highest_speed(
    machine: Machine, thread: ThreadToCut, *, idle_torque_nm: float | None = None
) -> HighestSpeed:
    """Find the highest spindle speed that pulses, encoder, stepper and spindle allow in a thread.

    Limits of which the machine file says nothing are left out. The torque measured at the screw with the
    carriage running idle takes the place of the reckoned one where it is given.
    """
    limits = {
        **machine.spindle_speed_limits_rpm,
        **_encoder_limits(machine),
        **_pulse_limits(machine, thread),
        **_torque_limit(machine, thread, idle_torque_nm),
    }
    lowest = lowest_limit(limits)
    return HighestSpeed(lowest.speed_rpm, lowest.set_by, MappingProxyType(limits))


def _pulse_limits(machine: Machine, thread: ThreadToCut) -> dict[str, float]:
    needed = (thread.lead_mm, machine.leadscrew.lead_mm, machine.steps_per_screw_turn)
    rates = {
        CONTROLLER: machine.controller.highest_pulse_rate_hz,
        DRIVER: machine.stepper.highest_pulse_rate_hz,
    }
    if None in needed:
        return {}
    return {words: step_speed_limit_rpm(rate, *needed) for words, rate in rates.items() if rate is not None}


def _encoder_limits(machine: Machine) -> dict[str, float]:
    counts, encoder = machine.counts_per_spindle_turn, machine.encoder
    if counts is None:
        return {}
    limits = {}
    if encoder.highest_channel_hz is not None:
        limits[CHANNEL] = channel_speed_limit_rpm(encoder.highest_channel_hz, counts)
    if encoder.highest_edge_hz is not None:
        limits[COUNTER] = channel_speed_limit_rpm(encoder.highest_edge_hz / EDGES_PER_LINE, counts)
    return limits


def _torque_limit(machine: Machine, thread: ThreadToCut, idle_torque_nm) -> dict[str, float]:
    try:
        numbers = stepper_numbers(machine, idle_torque_nm=idle_torque_nm)
    except MachineFileError:
        return {}
    if thread.lead_mm is None:
        return {}
    wanted_nm = numbers.torque_margin * thread_load_nm(numbers, thread)
    return {TORQUE: float(numbers.spindle_rpm(numbers.fastest_with_nm(wanted_nm), thread.lead_mm))}


def thread_load_nm(numbers: StepperNumbers, thread: ThreadToCut) -> float:
    """Torque that the heaviest pass of a thread asks of the stepper, the doubt of the tables on top."""
    cut_n = thread_force_n(thread)
    along_n = carriage_force_n(
        USUAL_WAY_FRICTION, carriage_mass_kg=0.0, press_n=cut_n, gib_n=0.0, axial_n=AXIAL_SHARE * cut_n
    )
    return float(numbers.load_nm(along_n))


def stepper_numbers(machine: Machine, *, idle_torque_nm: float | None = None) -> StepperNumbers:
    """Gather the stepper of a machine that has all that step 08 needs of it.

    Raises
    ------
    MachineFileError
        Naming what the machine file lacks.
    """
    machine.require(
        "leadscrew.lead",
        "steps_per_screw_turn",
        "stepper.holding_torque",
        "stepper.rated_current",
        "stepper.inductance",
        "stepper.resistance",
        "stepper.driver_supply",
    )
    stepper = machine.stepper
    screw = _screw(machine)
    return StepperNumbers(
        full_steps=stepper.full_steps,
        microsteps=stepper.microsteps,
        steps_per_screw_turn=machine.steps_per_screw_turn,
        motor_turns_per_screw_turn=machine.motor_turns_per_screw_turn,
        screw_lead_mm=machine.leadscrew.lead_mm,
        holding_torque_nm=stepper.holding_torque_nm,
        rated_winding_current_a=stepper.rated_current_a,
        phase_current_a=_peak_a(stepper),
        driver_supply_v=stepper.driver_supply_v,
        inductance_h=stepper.inductance_h,
        winding_resistance_ohm=stepper.resistance_ohm,
        detent_torque_nm=USUAL_DETENT_SHARE * stepper.holding_torque_nm,
        inertia_kg_m2=_inertia_kg_m2(machine, screw["mean_diameter_mm"]),
        mean_screw_mm=screw["mean_diameter_mm"],
        screw_friction=screw["screw_friction"],
        flank_angle_deg=screw["flank_angle_deg"],
        idle_torque_nm=_idle_nm(machine, screw) if idle_torque_nm is None else idle_torque_nm,
        belt_efficiency=USUAL_BELT_EFFICIENCY if stepper.motor_teeth else 1.0,
        torque_margin=machine.target.torque_margin or USUAL_TORQUE_MARGIN,
        assumed=tuple(_assumed(machine, idle_torque_nm)),
    )


def _peak_a(stepper) -> float:
    set_to = stepper.driver_current_a or stepper.rated_current_a
    return float(peak_of_rms_a(set_to)) if stepper.driver_current_is == "rms" else set_to


def _screw(machine: Machine) -> dict[str, float]:
    screw = machine.leadscrew
    outside_mm, lead_mm = screw.diameter_mm or USUAL_SCREW_MM, float(screw.lead_mm)
    usual = USUAL_FRICTION.get(screw.kind, USUAL_NUT_FRICTION)
    rolls = screw.kind == "ball"
    return {
        "mean_diameter_mm": outside_mm
        if rolls
        else mean_screw_diameter_mm(outside_mm, thread_depth_mm=lead_mm / 2),
        "screw_friction": usual if screw.friction is None else screw.friction,
        "flank_angle_deg": 0.0 if rolls else FLANK_HALF_ANGLES_DEG.get(screw.kind, 15.0),
    }


def _drag_n(machine: Machine) -> float:
    carriage = machine.carriage
    if carriage.drag_n is not None:
        return carriage.drag_n
    return USUAL_DRAG_N if carriage.mass_kg is None else USUAL_WAY_FRICTION * GRAVITY_M_S2 * carriage.mass_kg


def _idle_nm(machine: Machine, screw: dict[str, float]) -> float:
    lead_mm = float(machine.leadscrew.lead_mm)
    return float(screw_torque_nm(_drag_n(machine), screw_travel_mm=lead_mm, **screw)) + USUAL_SCREW_DRAG_NM


def _inertia_kg_m2(machine: Machine, mean_screw_mm: float) -> float:
    """All that the stepper starts and stops, at its shaft; NaN while rotor or screw are not known."""
    stepper, screw = machine.stepper, machine.leadscrew
    if stepper.rotor_inertia_kg_m2 is None or screw.length_mm is None:
        return math.nan
    turns = machine.motor_turns_per_screw_turn
    return float(
        inertia_at_motor_kg_m2(
            stepper.rotor_inertia_kg_m2,
            screw_inertia_kg_m2=bar_inertia_kg_m2(mean_screw_mm, length_mm=screw.length_mm)
            + (stepper.pulley_inertia_kg_m2 or 0.0),
            carriage_inertia_kg_m2=carriage_inertia_kg_m2(
                machine.carriage.mass_kg or 0.0,
                screw_travel_mm=float(screw.lead_mm),
                motor_turns_per_screw_turn=turns,
            ),
            motor_turns_per_screw_turn=turns,
        )
    )


def _assumed(machine: Machine, idle_torque_nm):
    stepper, screw, carriage = machine.stepper, machine.leadscrew, machine.carriage
    if stepper.driver_current_a is None:
        yield "that the driver is set to the motor's rated current"
    if stepper.driver_current_is not in ("peak", "rms"):
        yield "that the driver's current is a **peak**, the weaker reading: 71 % of what rms would give"
    yield f"{100 * USUAL_DETENT_SHARE:g} % of the holding torque lost to the motor's own detent"
    if screw.diameter_mm is None:
        yield f"a leadscrew of {USUAL_SCREW_MM:g} mm"
    if screw.kind in (None, "not known"):
        yield "a trapezoidal leadscrew"
    if screw.friction is None:
        yield f"a friction of {USUAL_FRICTION.get(screw.kind, USUAL_NUT_FRICTION):g} between nut and screw"
    if idle_torque_nm is None:
        yield f"{USUAL_SCREW_DRAG_NM:g} N m for the screw's bearings and wipers, until it is measured"
        if carriage.drag_n is None:
            yield f"{_drag_n(machine):.0f} N of drag of the carriage"
    yield (
        f"{AXIAL_SHARE:g} of the cutting force pushing along the bed and {USUAL_WAY_FRICTION:g} of it "
        "rubbing on the ways, with the doubt of the tables on top"
    )
    if stepper.motor_teeth:
        yield f"{100 * USUAL_BELT_EFFICIENCY:g} % of the power passed on by the belt"
    if machine.target.torque_margin is None:
        yield f"a torque in hand of {USUAL_TORQUE_MARGIN:g}, since you set no limit"
    if stepper.pulley_inertia_kg_m2 is None:
        yield "no inertia of the pulley on the screw"
