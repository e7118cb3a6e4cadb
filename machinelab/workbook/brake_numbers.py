"""The machine's brake as plain numbers, and what was taken where machine file and logs are silent."""

import math
from dataclasses import dataclass, replace

import numpy as np

from machinelab.spindle.brake_circuit import RPM, spindle_emf_v_s_per_rad
from machinelab.spindle.brake_design import resistor_for_current_ohm
from machinelab.spindle.brake_limits import commutation_current_a, demagnetising_current_a
from machinelab.spindle.coast_law import coast_deceleration_rad_s2
from machinelab.spindle.coastdown import CoastdownFit
from machinelab.workbook.drive_numbers import USUAL_BRUSH_DROP_V
from machinelab.workbook.machine import Machine

# What the circuit cannot do without, beside the resistor.
NEEDED = (
    "motor.armature_resistance",
    "motor.back_emf",
    "motor_turns_per_spindle_turn",
    "spindle.inertia",
    "spindle.highest_speed",
)
# Dry friction alone, of a spindle that nobody has logged yet; common practice, no source.
USUAL_DRY_STOP_S = 40.0
USUAL_DELAY_S = 0.05


@dataclass(frozen=True)
class BrakeNumbers:
    """A brake in plain numbers, all felt at the spindle.

    Parameters
    ----------
    fitted : bool
        Whether the machine has one; else the resistor is a proposal.
    top_rpm : float [rpm]
        The fastest that the spindle may turn.
    spindle_emf_v_s_per_rad, armature_resistance_ohm, brush_drop_v : float [V s/rad, ohm, V]
        The motor.
    resistor_ohm, resistor_rating_w : float [ohm, W]
        The brake resistor; NaN for a rating that is not known.
    contact_delay_s, contact_makes_a : float [s, A]
        The brake contact; NaN for a rating that is not known.
    inertia_kg_m2 : float [kg m2]
        All that turns.
    drags : dict
        The free spindle's drags over that inertia.
    drag_covariance : array of shape (3, 3) or None
        Their covariance; None before a free run has told them.
    motor_turns_per_spindle_turn : float [turn/turn]
        The ratio.
    driven_inertia_kg_m2 : float [kg m2]
        What of the inertia turns with the spindle, the motor left out as far as its own is known.
    slip_torque_nm : float [N m]
        Torque at the motor's pulley at which the belt slips; NaN where it is not known, infinite for teeth.
    rated_current_a, rated_motor_speed_rpm : float [A, rpm]
        The motor's plate; NaN where it is not known.
    assumed : tuple of str
        What was taken for granted, in words.
    """

    fitted: bool
    top_rpm: float
    spindle_emf_v_s_per_rad: float
    armature_resistance_ohm: float
    brush_drop_v: float
    resistor_ohm: float
    resistor_rating_w: float
    contact_delay_s: float
    contact_makes_a: float
    inertia_kg_m2: float
    drags: dict[str, float]
    drag_covariance: np.ndarray | None
    motor_turns_per_spindle_turn: float
    driven_inertia_kg_m2: float
    slip_torque_nm: float
    rated_current_a: float
    rated_motor_speed_rpm: float
    assumed: tuple[str, ...]

    @property
    def circuit(self) -> dict[str, float]:
        """Motor, resistor and inertia, as the brake's functions take them."""
        return {
            "spindle_emf_v_s_per_rad": self.spindle_emf_v_s_per_rad,
            "armature_resistance_ohm": self.armature_resistance_ohm,
            "resistor_ohm": self.resistor_ohm,
            "brush_drop_v": self.brush_drop_v,
            "inertia_kg_m2": self.inertia_kg_m2,
        }

    @property
    def brush_speed_rad_s(self) -> float:
        """Spindle speed below which no current flows."""
        return self.brush_drop_v / self.spindle_emf_v_s_per_rad

    def free_deceleration_rad_s2(self, speed_rpm: float) -> float:
        """What friction alone gives at a speed."""
        return float(coast_deceleration_rad_s2(speed_rpm * RPM, **self.drags))

    def with_inertia(self, inertia_kg_m2: float) -> "BrakeNumbers":
        """The same friction on another inertia, as with another chuck."""
        lighter = self.inertia_kg_m2 / inertia_kg_m2
        drags = {name: drag * lighter for name, drag in self.drags.items()}
        doubts = None if self.drag_covariance is None else self.drag_covariance * lighter**2
        return replace(
            self,
            inertia_kg_m2=inertia_kg_m2,
            drags=drags,
            drag_covariance=doubts,
            driven_inertia_kg_m2=self.driven_inertia_kg_m2 + inertia_kg_m2 - self.inertia_kg_m2,
        )


def brake_numbers(machine: Machine, free_run: CoastdownFit | None) -> BrakeNumbers:
    """Gather the brake of a machine that has all that is needed; without one, propose a resistor."""
    motor, brake = machine.motor, machine.brake
    top = machine.highest_spindle_speed_rpm
    numbers = BrakeNumbers(
        fitted=brake.resistor_ohm is not None,
        top_rpm=top,
        spindle_emf_v_s_per_rad=spindle_emf_v_s_per_rad(
            motor.back_emf_v_s_per_rad, motor_turns_per_spindle_turn=machine.motor_turns_per_spindle_turn
        ),
        armature_resistance_ohm=motor.armature_resistance_ohm,
        brush_drop_v=USUAL_BRUSH_DROP_V if motor.brush_drop_v is None else motor.brush_drop_v,
        resistor_ohm=_known(brake.resistor_ohm),
        resistor_rating_w=_known(brake.resistor_rating_w),
        contact_delay_s=USUAL_DELAY_S if brake.contact_delay_s is None else brake.contact_delay_s,
        contact_makes_a=_known(brake.contact_makes_a),
        inertia_kg_m2=machine.spindle.inertia_kg_m2,
        drags=free_run.drags if free_run else {"coulomb_rad_s2": top * RPM / USUAL_DRY_STOP_S},
        drag_covariance=free_run.drag_covariance if free_run else None,
        motor_turns_per_spindle_turn=float(machine.motor_turns_per_spindle_turn),
        driven_inertia_kg_m2=_driven_inertia_kg_m2(machine),
        slip_torque_nm=_known(machine.spindle_drive.slip_torque_nm)
        if machine.spindle_drive.can_slip
        else math.inf,
        rated_current_a=_known(motor.current_a),
        rated_motor_speed_rpm=_known(motor.rated_speed_rpm),
        assumed=tuple(_assumed(machine, free_run)),
    )
    return numbers if numbers.fitted else replace(numbers, resistor_ohm=proposed_ohm(numbers))


def proposed_ohm(numbers: BrakeNumbers) -> float:
    """The smallest resistor that spares the motor from its top speed, rounded up to two figures."""
    bearable = min(motor_limits_a(numbers))
    if math.isnan(bearable):
        return 10 * numbers.armature_resistance_ohm
    least = resistor_for_current_ohm(
        bearable,
        start_speed_rpm=numbers.top_rpm,
        spindle_emf_v_s_per_rad=numbers.spindle_emf_v_s_per_rad,
        armature_resistance_ohm=numbers.armature_resistance_ohm,
        brush_drop_v=numbers.brush_drop_v,
    )
    return _two_figures_up(max(float(least), numbers.armature_resistance_ohm))


def motor_limits_a(numbers: BrakeNumbers) -> tuple[float, float]:
    """What magnets and commutator bear for a moment at the top speed; NaN where the plate is not known."""
    rated, speed = numbers.rated_current_a, numbers.top_rpm * numbers.motor_turns_per_spindle_turn
    rated_rpm = speed if math.isnan(numbers.rated_motor_speed_rpm) else numbers.rated_motor_speed_rpm
    turned_over = commutation_current_a(rated, motor_speed_rpm=speed, rated_motor_speed_rpm=rated_rpm)
    return float(demagnetising_current_a(rated)), float(turned_over)


def _driven_inertia_kg_m2(machine: Machine) -> float:
    whole = machine.spindle.inertia_kg_m2
    own = (machine.motor.inertia_kg_m2 or 0.0) * float(machine.motor_turns_per_spindle_turn) ** 2
    # A motor that would outweigh the whole is a slip in the machine file; then all counts as driven.
    return whole - own if own < whole else whole


def _two_figures_up(value: float) -> float:
    unit = 10.0 ** (math.floor(math.log10(value)) - 1)
    return round(math.ceil(value / unit - 1e-9) * unit, 12)


def _known(value: float | None) -> float:
    return math.nan if value is None else value


def _assumed(machine: Machine, free_run: CoastdownFit | None):
    if free_run is None:
        yield (
            f"dry friction that alone would stop the spindle in {USUAL_DRY_STOP_S:g} s, until step 05 has "
            "measured it (common practice, no source)"
        )
    else:
        yield "the drags of the free run in step 05, with the same chuck and belt"
    if machine.motor.brush_drop_v is None:
        yield f"{USUAL_BRUSH_DROP_V:g} V lost at the brushes (carbon, from memory)"
    if machine.brake.contact_delay_s is None:
        yield f"a contact that closes {1e3 * USUAL_DELAY_S:g} ms after the drive lets go (from memory)"
    if machine.brake.resistor_ohm is None:
        yield "a resistor that spares the motor, since the machine has none"
    yield "a cold motor and a cold resistor, which brake hardest"
