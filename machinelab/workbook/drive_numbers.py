"""The machine file's motor, drive and belt as plain numbers, and what was taken where the file is silent."""

import math
from dataclasses import dataclass

from machinelab.spindle.drive_train import DriveTrain
from machinelab.spindle.motor import RAD_S_PER_RPM
from machinelab.spindle.motor_heat import USUAL_FORM_FACTORS
from machinelab.workbook.machine import Machine

# Carbon brushes, both together; from memory.
USUAL_BRUSH_DROP_V = 2.0
# Current without load over rated current; common practice, no source.
USUAL_LIGHT_SHARE = 0.08


@dataclass(frozen=True)
class DriveNumbers:
    """The drive of a machine in plain numbers, and each figure that was assumed, in words."""

    train: DriveTrain
    assumed: tuple[str, ...]


def drive_numbers(machine: Machine) -> DriveNumbers:
    """Gather the drive of a machine that has all that step 03 needs."""
    motor = machine.motor
    drop_v = USUAL_BRUSH_DROP_V if motor.brush_drop_v is None else motor.brush_drop_v
    rated_rpm = motor.rated_speed_rpm or _rated_speed_rpm(motor, drop_v)
    train = DriveTrain(
        motor_turns_per_spindle_turn=machine.motor_turns_per_spindle_turn,
        supply_v=motor.supply_v,
        back_emf_v_s_per_rad=motor.back_emf_v_s_per_rad,
        armature_resistance_ohm=motor.armature_resistance_ohm,
        rated_current_a=motor.current_a,
        rated_motor_speed_rpm=rated_rpm,
        brush_drop_v=drop_v,
        no_load_torque_nm=USUAL_LIGHT_SHARE * motor.current_a * motor.back_emf_v_s_per_rad,
        highest_motor_speed_rpm=motor.highest_speed_rpm or rated_rpm,
        drive_current_a=motor.drive_current_a or math.nan,
        form_factor=USUAL_FORM_FACTORS.get(motor.drive, USUAL_FORM_FACTORS["smoothed"]),
        slip_torque_nm=machine.spindle_drive.slip_torque_nm or math.nan,
    )
    return DriveNumbers(train, tuple(_assumed(machine, train)))


def _rated_speed_rpm(motor, drop_v: float) -> float:
    """The speed at which the supply drives just the rated current through the armature."""
    left_v = motor.supply_v - drop_v - motor.current_a * motor.armature_resistance_ohm
    return max(left_v / motor.back_emf_v_s_per_rad / RAD_S_PER_RPM, 1.0)


def _assumed(machine: Machine, train: DriveTrain):
    motor = machine.motor
    if motor.brush_drop_v is None:
        yield f"{USUAL_BRUSH_DROP_V:g} V lost at the brushes (carbon, from memory)"
    if motor.rated_speed_rpm is None:
        yield f"a rated speed of {train.rated_motor_speed_rpm:.0f} rpm, from supply, resistance and back EMF"
    if motor.highest_speed_rpm is None:
        yield "no higher speed of the motor than its rated one"
    if motor.drive_current_a is None:
        yield "no current limit of the drive, since it is not in the machine file"
    if math.isnan(train.slip_torque_nm) and machine.spindle_drive.can_slip:
        yield "a belt that does not slip, since the torque at which it does is not in the machine file"
    if motor.drive not in USUAL_FORM_FACTORS:
        yield f"a form factor of {train.form_factor:g}, as if the current were smooth (from memory)"
    if motor.drive == "phase-controlled":
        yield f"a form factor of {train.form_factor:g} for a phase-controlled drive (from memory)"
    yield (
        f"{100 * USUAL_LIGHT_SHARE:g} % of the rated current for the motor's own friction, until it is "
        "measured (common practice, no source)"
    )
    yield f"{100 * train.belt_efficiency:g} % of the power passed on by the belt (common practice, no source)"
    yield (
        f"{100 * train.standstill_share:g} % of its cooling left to the motor at standstill, with its own "
        "fan (from memory)"
    )
    yield "no friction of the spindle itself, which step 05 measures"
