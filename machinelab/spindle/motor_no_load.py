"""What the spindle's motor takes to turn with nothing on its shaft: friction, grease, iron and fan."""

from dataclasses import dataclass

import numpy as np

from machinelab.estimate import Estimate
from machinelab.least_squares import columns_of, enough, linear_fit
from machinelab.ranges import not_negative, positive

LEAST_SPEEDS = 5


@dataclass(frozen=True)
class NoLoadDrag:
    """What a motor without load takes, taken apart by how it grows with speed.

    Parameters
    ----------
    friction_nm : Estimate [N m]
        Part that is the same at every speed: brushes, bearings, hysteresis of the iron.
    viscous_nm : Estimate [N m]
        Part that grows with speed, at the highest speed of the test: grease, eddy currents.
    fan_nm : Estimate [N m]
        Part that grows with the square of speed, at the highest speed of the test: the fan.
    top_motor_speed_rpm : float [rpm]
        The highest speed of the test.
    """

    friction_nm: Estimate
    viscous_nm: Estimate
    fan_nm: Estimate
    top_motor_speed_rpm: float

    def torque_nm(self, motor_speed_rpm):
        """Friction and iron loss at a speed of the motor, up to the highest one that was tested."""
        share = np.asarray(motor_speed_rpm) / self.top_motor_speed_rpm
        return self.friction_nm.value + self.viscous_nm.value * share + self.fan_nm.value * share**2


def no_load_torque_nm(no_load_current_a, *, back_emf_v_s_per_rad):
    """What torque the motor's own friction and iron take.

    Formula
    -------
    no_load_torque_nm = back_emf_v_s_per_rad * no_load_current_a

    Parameters
    ----------
    no_load_current_a : float or array [A]
        Current with nothing on the shaft, settled at a speed.
    back_emf_v_s_per_rad : float or array [V s/rad]
        Back EMF, the same number as newton metres for each ampere.

    Returns
    -------
    float or array [N m]
        Torque at the motor's own shaft; it grows somewhat with speed.

    Range
    -----
    Currents from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the current is negative or the back EMF not above zero.

    Examples
    --------
    >>> round(no_load_torque_nm(0.42, back_emf_v_s_per_rad=0.288), 3)
    0.121

    Source
    ------
    Textbook: torque constant and back EMF are one number in SI units.
    """
    current = not_negative("no_load_current_a", no_load_current_a)
    return positive("back_emf_v_s_per_rad", back_emf_v_s_per_rad) * current


def no_load_drag(motor_speed_rpm, *, no_load_current_a, back_emf_v_s_per_rad) -> NoLoadDrag:
    """How a motor's own friction grows with speed, from its current without load.

    The same drag works on the spindle when it coasts with the belt on, multiplied by the belt ratio.

    Formula
    -------
    none: least squares of torque = friction + viscous * share + fan * share**2, share of the highest speed.

    Parameters
    ----------
    motor_speed_rpm : array [rpm]
        Speeds, settled.
    no_load_current_a : array [A]
        Current at each.
    back_emf_v_s_per_rad : float [V s/rad]
        Back EMF.

    Returns
    -------
    NoLoadDrag
        The three parts with 95 % intervals.

    Range
    -----
    At least five speeds; readings that are missing (NaN) are left out.

    Raises
    ------
    RangeError
        If there are too few speeds, or a current is negative.

    Examples
    --------
    >>> speed = np.array([500, 1000, 2000, 3000, 4000])
    >>> found = no_load_drag(speed, no_load_current_a=0.3 + 5e-5 * speed, back_emf_v_s_per_rad=0.288)
    >>> round(found.friction_nm.value, 4), round(float(found.torque_nm(2000)), 4)
    (0.0864, 0.1152)

    Source
    ------
    Textbook: friction, eddy currents and fan; linear least squares.
    """
    rpm, amperes = columns_of(motor_speed_rpm=motor_speed_rpm, no_load_current_a=no_load_current_a)
    enough(len(np.unique(rpm)), LEAST_SPEEDS, "speeds")
    top = float(np.max(positive("motor_speed_rpm", rpm)))
    torque = no_load_torque_nm(amperes, back_emf_v_s_per_rad=back_emf_v_s_per_rad)
    share = rpm / top
    parts, _ = linear_fit(np.column_stack([np.ones_like(share), share, share**2]), torque)
    return NoLoadDrag(*parts, top)
