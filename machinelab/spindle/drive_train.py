"""The drive of the spindle in plain numbers: the motor, what feeds it, the belt."""

import math
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from machinelab.ranges import not_negative
from machinelab.spindle.motor import torque_nm
from machinelab.spindle.motor_heat import USUAL_FORM_FACTORS, USUAL_STANDSTILL_SHARE

# Common practice, no source: 0.92 to 0.97 for one belt.
USUAL_BELT_EFFICIENCY = 0.95


@dataclass(frozen=True)
class DriveTrain:
    """The motor, what feeds it and what joins it to the spindle; NaN stands for what is not known.

    Parameters
    ----------
    motor_turns_per_spindle_turn : Fraction or float [turn/turn]
        Belt ratio.
    supply_v : float [V]
        Direct voltage at the brushes with the knob fully up.
    back_emf_v_s_per_rad : float [V s/rad]
        Back EMF.
    armature_resistance_ohm : float [ohm]
        Resistance of the armature, warm.
    rated_current_a : float [A]
        Current on the plate.
    rated_motor_speed_rpm : float [rpm]
        Speed on the plate.
    brush_drop_v : float [V]
        Voltage lost at both brushes; 2 V for carbon (from memory).
    no_load_torque_nm : float [N m]
        Friction and iron loss of the motor at its own shaft.
    highest_motor_speed_rpm : float [rpm]
        What armature and bearings are made for.
    drive_current_a : float [A]
        The most that the drive lets through.
    form_factor : float [1]
        Rms over average current of the drive.
    standstill_share : float [1]
        Heat shed at standstill of that at rated speed.
    belt_efficiency : float [1]
        Share of the power that the belt passes on.
    slip_torque_nm : float [N m]
        Torque at the motor's pulley at which the belt slips.
    spindle_drag_nm : float [N m]
        Friction of the spindle itself.
    """

    motor_turns_per_spindle_turn: Fraction | float
    supply_v: float
    back_emf_v_s_per_rad: float
    armature_resistance_ohm: float
    rated_current_a: float
    rated_motor_speed_rpm: float
    brush_drop_v: float = 2.0
    no_load_torque_nm: float = 0.0
    highest_motor_speed_rpm: float = math.nan
    drive_current_a: float = math.nan
    form_factor: float = USUAL_FORM_FACTORS["smoothed"]
    standstill_share: float = USUAL_STANDSTILL_SHARE
    belt_efficiency: float = USUAL_BELT_EFFICIENCY
    slip_torque_nm: float = math.nan
    spindle_drag_nm: float = 0.0

    def motor_speed_rpm(self, speed_rpm):
        """Speed of the motor at a spindle speed."""
        return not_negative("speed_rpm", speed_rpm) * float(self.motor_turns_per_spindle_turn)

    def torque_nm(self, speed_rpm, *, current_limit_a):
        """Torque at the spindle within a limit of the motor's current, see `machinelab.spindle.motor`."""
        return torque_nm(
            speed_rpm,
            motor_turns_per_spindle_turn=self.motor_turns_per_spindle_turn,
            supply_v=self.supply_v,
            brush_drop_v=self.brush_drop_v,
            back_emf_v_s_per_rad=self.back_emf_v_s_per_rad,
            armature_resistance_ohm=self.armature_resistance_ohm,
            current_limit_a=current_limit_a,
            no_load_torque_nm=self.no_load_torque_nm,
            belt_efficiency=self.belt_efficiency,
            spindle_drag_nm=self.spindle_drag_nm,
        )

    def torque_of_current_nm(self, current_a):
        """Torque at the spindle that a current makes, whatever the supply."""
        shaft_nm = self.back_emf_v_s_per_rad * current_a - self.no_load_torque_nm
        at_spindle_nm = float(self.motor_turns_per_spindle_turn) * self.belt_efficiency * shaft_nm
        return np.maximum(at_spindle_nm - self.spindle_drag_nm, 0)
