"""The stepper on the leadscrew: how quickly it is stepped, what torque it has left, what it must move."""

from machinelab.leadscrew.screw_friction import screw_torque_nm
from machinelab.leadscrew.stepper_load import inertia_at_motor_kg_m2
from machinelab.leadscrew.stepper_rate import step_rate_hz
from machinelab.leadscrew.stepper_torque import pull_out_torque_nm

__all__ = ["inertia_at_motor_kg_m2", "pull_out_torque_nm", "screw_torque_nm", "step_rate_hz"]
