"""The machine file's stepper, driver and leadscrew in plain numbers, and what was taken for granted."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType

from machinelab.leadscrew.screw_friction import (
    FLANK_HALF_ANGLES_DEG,
    holds_itself,
    mean_screw_diameter_mm,
    screw_torque_nm,
)
from machinelab.leadscrew.stepper_load import (
    GRAVITY_M_S2,
    bar_inertia_kg_m2,
    carriage_inertia_kg_m2,
    inertia_at_motor_kg_m2,
    load_at_motor_nm,
)
from machinelab.leadscrew.stepper_rate import spindle_speed_of_stepper_rpm, stepper_speed_rpm
from machinelab.leadscrew.stepper_resonance import rotor_resonance_hz
from machinelab.leadscrew.stepper_torque import available_torque_nm, pull_out_bound_nm, pull_out_torque_nm
from machinelab.leadscrew.stepper_winding import (
    current_limited_torque_nm,
    peak_of_rms_a,
    torque_constant_nm_per_a,
)
from machinelab.workbook.machine import Machine

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

CONTROLLER, DRIVER = "pulses that the controller makes", "pulses that the driver takes"

NEEDED = (
    "leadscrew.lead",
    "steps_per_screw_turn",
    "stepper.holding_torque",
    "stepper.rated_current",
    "stepper.inductance",
    "stepper.resistance",
    "stepper.driver_supply",
)


@dataclass(frozen=True, kw_only=True)
class StepperNumbers:
    """The stepper, its driver and its screw in plain numbers, and each figure that was assumed, in words.

    ``heard_resonance_hz`` is NaN until the resonance was listened for; then it takes the place of the
    reckoned one. ``fell_out_rpm`` is the speed of the stepper at which it lost its step without a cut,
    NaN while it was not seen to. Whatever else is not known is NaN, too.
    """

    full_steps: int
    microsteps: int
    motor_turns_per_screw_turn: Fraction
    screw_lead_mm: Fraction
    holding_torque_nm: float
    rated_winding_current_a: float
    phase_current_a: float
    driver_supply_v: float
    inductance_h: float
    winding_resistance_ohm: float
    detent_torque_nm: float
    rotor_inertia_kg_m2: float
    screw_inertia_kg_m2: float
    carriage_mass_kg: float
    mean_screw_mm: float
    screw_friction: float
    flank_angle_deg: float
    idle_torque_nm: float
    belt_efficiency: float
    torque_margin: float
    pulse_limits_hz: Mapping[str, float]
    heard_resonance_hz: float
    fell_out_rpm: float
    highest_stepper_rpm: float
    assumed: tuple[str, ...]

    @property
    def steps_per_screw_turn(self) -> Fraction:
        """Pulses that turn the leadscrew once."""
        return self.full_steps * self.microsteps * self.motor_turns_per_screw_turn

    @property
    def torque_constant_nm_per_a(self) -> float:
        """Torque of one winding for each ampere."""
        rated_a = self.rated_winding_current_a
        return float(torque_constant_nm_per_a(self.holding_torque_nm, rated_winding_current_a=rated_a))

    @property
    def full_current_a(self) -> float:
        """The peak current at which the stepper gives its whole holding torque."""
        return float(peak_of_rms_a(self.rated_winding_current_a))

    @property
    def standstill_nm(self) -> float:
        """Torque at which the rotor slips at standstill, at the current that is set."""
        constant = self.torque_constant_nm_per_a
        return float(current_limited_torque_nm(constant, phase_current_a=self.phase_current_a))

    @property
    def winding(self) -> dict:
        """What the equations of a winding need, by name."""
        return {
            "full_steps": self.full_steps,
            "torque_constant_nm_per_a": self.torque_constant_nm_per_a,
            "driver_supply_v": self.driver_supply_v,
            "inductance_h": self.inductance_h,
            "winding_resistance_ohm": self.winding_resistance_ohm,
        }

    @property
    def driven(self) -> dict:
        """The same with the current that the driver is set to: what the torque curves need."""
        return self.winding | {"phase_current_a": self.phase_current_a}

    def available_nm(self, stepper_rpm):
        """Torque at the stepper's shaft at a speed, its own detent taken off."""
        return self._less_detent(pull_out_torque_nm(stepper_rpm, **self.driven), stepper_rpm)

    def bound_nm(self, stepper_rpm):
        """The textbook's ceiling for the same, too kind near the corner."""
        return self._less_detent(pull_out_bound_nm(stepper_rpm, **self.driven), stepper_rpm)

    def _less_detent(self, torque_nm, stepper_rpm):
        return available_torque_nm(
            torque_nm,
            stepper_speed_rpm=stepper_rpm,
            detent_torque_nm=self.detent_torque_nm,
            iron_drag_nm_s=0.0,
        )

    @property
    def screw(self) -> dict:
        """What the friction of the screw needs, by name."""
        return {
            "screw_travel_mm": float(self.screw_lead_mm),
            "mean_diameter_mm": self.mean_screw_mm,
            "screw_friction": self.screw_friction,
            "flank_angle_deg": self.flank_angle_deg,
        }

    @property
    def holds_itself(self) -> bool:
        """Whether the carriage stays where it is when the stepper has no current."""
        return holds_itself(**self.screw)

    def load_nm(self, force_n):
        """Torque that a force along the bed asks of the stepper, what it takes to run idle included."""
        return load_at_motor_nm(
            screw_torque_nm(force_n, **self.screw),
            screw_drag_nm=self.idle_torque_nm,
            motor_turns_per_screw_turn=self.motor_turns_per_screw_turn,
            belt_efficiency=self.belt_efficiency,
        )

    @property
    def inertia_kg_m2(self) -> float:
        """All that the stepper starts and stops, at its own shaft; NaN while rotor or screw are not known."""
        carriage = carriage_inertia_kg_m2(
            self.carriage_mass_kg,
            screw_travel_mm=float(self.screw_lead_mm),
            motor_turns_per_screw_turn=self.motor_turns_per_screw_turn,
        )
        return float(
            inertia_at_motor_kg_m2(
                self.rotor_inertia_kg_m2,
                screw_inertia_kg_m2=self.screw_inertia_kg_m2,
                carriage_inertia_kg_m2=carriage,
                motor_turns_per_screw_turn=self.motor_turns_per_screw_turn,
            )
        )

    @property
    def reckoned_resonance_hz(self) -> float:
        """The rotor's own frequency by stiffness and inertia; NaN while the inertia is not known."""
        return float(
            rotor_resonance_hz(
                self.standstill_nm, full_steps=self.full_steps, moved_inertia_kg_m2=self.inertia_kg_m2
            )
        )

    @property
    def resonance_hz(self) -> float:
        """The resonance as it was heard, else as it was reckoned."""
        heard = self.heard_resonance_hz
        return self.reckoned_resonance_hz if math.isnan(heard) else heard

    def stepper_rpm(self, spindle_rpm, lead_mm: Fraction):
        """Speed of the stepper at a spindle speed in a thread."""
        return stepper_speed_rpm(spindle_rpm, lead_mm, self.screw_lead_mm, self.motor_turns_per_screw_turn)

    def spindle_rpm(self, stepper_rpm, lead_mm: Fraction):
        """Spindle speed at which a thread turns the stepper so fast."""
        return spindle_speed_of_stepper_rpm(
            stepper_rpm, lead_mm, self.screw_lead_mm, self.motor_turns_per_screw_turn
        )


def stepper_built(machine: Machine, *, idle_torque_nm: float | None = None) -> StepperNumbers:
    """Gather the stepper of a machine that has all that step 08 needs of it.

    The torque measured at the screw with the carriage running idle takes the place of the reckoned one.

    Raises
    ------
    MachineFileError
        Naming what the machine file lacks.
    """
    machine.require(*NEEDED)
    stepper = machine.stepper
    screw = _screw(machine)
    return StepperNumbers(
        full_steps=stepper.full_steps,
        microsteps=stepper.microsteps,
        motor_turns_per_screw_turn=machine.motor_turns_per_screw_turn,
        screw_lead_mm=machine.leadscrew.lead_mm,
        holding_torque_nm=stepper.holding_torque_nm,
        rated_winding_current_a=stepper.rated_current_a,
        phase_current_a=_peak_a(stepper),
        driver_supply_v=stepper.driver_supply_v,
        inductance_h=stepper.inductance_h,
        winding_resistance_ohm=stepper.resistance_ohm,
        detent_torque_nm=USUAL_DETENT_SHARE * stepper.holding_torque_nm,
        rotor_inertia_kg_m2=_known(stepper.rotor_inertia_kg_m2),
        screw_inertia_kg_m2=_screw_inertia_kg_m2(machine, screw["mean_diameter_mm"]),
        carriage_mass_kg=machine.carriage.mass_kg or 0.0,
        mean_screw_mm=screw["mean_diameter_mm"],
        screw_friction=screw["screw_friction"],
        flank_angle_deg=screw["flank_angle_deg"],
        idle_torque_nm=_idle_nm(machine, screw) if idle_torque_nm is None else idle_torque_nm,
        belt_efficiency=USUAL_BELT_EFFICIENCY if stepper.motor_teeth else 1.0,
        torque_margin=machine.target.torque_margin or USUAL_TORQUE_MARGIN,
        pulse_limits_hz=pulse_limits_hz(machine),
        heard_resonance_hz=math.nan,
        fell_out_rpm=math.nan,
        highest_stepper_rpm=_known(stepper.highest_speed_rpm),
        assumed=tuple(_assumed(machine, idle_torque_nm)),
    )


def pulse_limits_hz(machine: Machine) -> Mapping[str, float]:
    """The limits of the pulse rate that are known, by what sets them."""
    rates = {
        CONTROLLER: machine.controller.highest_pulse_rate_hz,
        DRIVER: machine.stepper.highest_pulse_rate_hz,
    }
    return MappingProxyType({words: rate for words, rate in rates.items() if rate is not None})


def _known(value: float | None) -> float:
    return math.nan if value is None else value


def _peak_a(stepper) -> float:
    set_to = stepper.driver_current_a or stepper.rated_current_a
    return float(peak_of_rms_a(set_to)) if stepper.driver_current_is == "rms" else set_to


def _screw(machine: Machine) -> dict[str, float]:
    screw = machine.leadscrew
    outside_mm, lead_mm = screw.diameter_mm or USUAL_SCREW_MM, float(screw.lead_mm)
    friction = _usual_friction(screw) if screw.friction is None else screw.friction
    if screw.kind == "ball":
        return {"mean_diameter_mm": outside_mm, "screw_friction": friction, "flank_angle_deg": 0.0}
    return {
        "mean_diameter_mm": float(mean_screw_diameter_mm(outside_mm, thread_depth_mm=lead_mm / 2)),
        "screw_friction": friction,
        "flank_angle_deg": FLANK_HALF_ANGLES_DEG.get(screw.kind, FLANK_HALF_ANGLES_DEG["trapezoidal"]),
    }


def _usual_friction(screw) -> float:
    return USUAL_FRICTION.get(screw.kind, USUAL_NUT_FRICTION)


def _drag_n(machine: Machine) -> float:
    carriage = machine.carriage
    if carriage.drag_n is not None:
        return carriage.drag_n
    return USUAL_DRAG_N if carriage.mass_kg is None else USUAL_WAY_FRICTION * GRAVITY_M_S2 * carriage.mass_kg


def _idle_nm(machine: Machine, screw: dict[str, float]) -> float:
    lead_mm = float(machine.leadscrew.lead_mm)
    return float(screw_torque_nm(_drag_n(machine), screw_travel_mm=lead_mm, **screw)) + USUAL_SCREW_DRAG_NM


def _screw_inertia_kg_m2(machine: Machine, mean_screw_mm: float) -> float:
    if machine.leadscrew.length_mm is None:
        return math.nan
    bar = bar_inertia_kg_m2(mean_screw_mm, length_mm=machine.leadscrew.length_mm)
    return float(bar) + (machine.stepper.pulley_inertia_kg_m2 or 0.0)


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
        yield f"a friction of {_usual_friction(screw):g} between nut and screw"
    if idle_torque_nm is None:
        yield f"{USUAL_SCREW_DRAG_NM:g} N m for the screw's bearings and wipers, until it is measured"
    if idle_torque_nm is None and carriage.drag_n is None:
        yield f"{_drag_n(machine):.0f} N of drag of the carriage"
    if stepper.motor_teeth:
        yield f"{100 * USUAL_BELT_EFFICIENCY:g} % of the power passed on by the belt"
    if machine.target.torque_margin is None:
        yield f"a torque in hand of {USUAL_TORQUE_MARGIN:g}, since you set no limit"
    if stepper.pulley_inertia_kg_m2 is None:
        yield "no inertia of the pulley on the screw"
