"""What a belt ratio buys and what it costs: torque against top speed, and inertia by its square."""

from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import not_negative, positive
from machinelab.spindle.motor_limits import continuous_envelope, short_time_envelope, top_speed_rpm

# Curves of torque are smooth enough to be searched in so many steps.
SEARCH_POINTS = 401


@dataclass(frozen=True)
class RatioGives:
    """What a belt ratio gives at the spindle.

    Parameters
    ----------
    motor_turns_per_spindle_turn : Fraction or float [turn/turn]
        The ratio.
    top_speed_rpm : float [rpm]
        The fastest that motor and supply turn the spindle.
    speed_rpm : array [rpm]
        The speeds that were asked about.
    torque_nm : array [N m]
        Torque at each, in work without end.
    power_w : array [W]
        Power at each, in work without end.
    short_torque_nm : array [N m]
        Torque at each for a short time.
    binding : array of str
        What limits work without end at each speed.
    """

    motor_turns_per_spindle_turn: Fraction | float
    top_speed_rpm: float
    speed_rpm: np.ndarray
    torque_nm: np.ndarray
    power_w: np.ndarray
    short_torque_nm: np.ndarray
    binding: np.ndarray


def ratio_for_top_speed(highest_motor_speed_rpm, *, top_speed_rpm):
    """The belt ratio at which the motor's highest speed is the spindle's.

    Anything smaller wastes torque at every speed, anything larger wastes speed.

    Formula
    -------
    ratio_for_top_speed = highest_motor_speed_rpm / top_speed_rpm

    Parameters
    ----------
    highest_motor_speed_rpm : float or array [rpm]
        What the motor may turn.
    top_speed_rpm : float or array [rpm]
        The fastest that the spindle shall turn.

    Returns
    -------
    float or array [turn/turn]
        Turns of the motor for one of the spindle.

    Range
    -----
    Both above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a speed is not above zero.

    Examples
    --------
    >>> ratio_for_top_speed(4200, top_speed_rpm=1400)
    3.0

    Source
    ------
    Derived here.
    """
    motor = positive("highest_motor_speed_rpm", highest_motor_speed_rpm)
    return motor / positive("top_speed_rpm", top_speed_rpm)


def reflected_inertia_kg_m2(motor_inertia_kg_m2, *, motor_turns_per_spindle_turn, spindle_inertia_kg_m2):
    """What moment of inertia is felt at the spindle with the motor on its belt.

    The motor counts with the square of the ratio: at three to one a small armature may outweigh the chuck.

    Formula
    -------
    motor_part_kg_m2 = motor_inertia_kg_m2 * motor_turns_per_spindle_turn**2
    reflected_inertia_kg_m2 = spindle_inertia_kg_m2 + motor_part_kg_m2

    Parameters
    ----------
    motor_inertia_kg_m2 : float or array [kg m2]
        Armature and its pulley.
    motor_turns_per_spindle_turn : Fraction or float [turn/turn]
        Belt ratio.
    spindle_inertia_kg_m2 : float or array [kg m2]
        Spindle, chuck and pulley without the motor.

    Returns
    -------
    float or array [kg m2]
        Inertia to be started and stopped.

    Range
    -----
    NaN in gives NaN out.

    Raises
    ------
    RangeError
        If an inertia is negative or the ratio not above zero.

    Examples
    --------
    >>> round(reflected_inertia_kg_m2(0.0009, motor_turns_per_spindle_turn=3, spindle_inertia_kg_m2=0.037), 4)
    0.0451

    Source
    ------
    Textbook: kinetic energy of both at their own speeds.
    """
    ratio = float(positive("motor_turns_per_spindle_turn", motor_turns_per_spindle_turn))
    motor = not_negative("motor_inertia_kg_m2", motor_inertia_kg_m2) * ratio**2
    return not_negative("spindle_inertia_kg_m2", spindle_inertia_kg_m2) + motor


def what_ratio_gives(drive_train, *, motor_turns_per_spindle_turn, speed_rpm) -> RatioGives:
    """What another pair of pulleys would give at the spindle, all else left as it is.

    Formula
    -------
    none: the envelope of the same motor and drive with the other ratio.

    Parameters
    ----------
    drive_train : DriveTrain
        Motor, drive and belt as they are.
    motor_turns_per_spindle_turn : Fraction or float [turn/turn]
        The other ratio.
    speed_rpm : array [rpm]
        Spindle speeds to ask about.

    Returns
    -------
    RatioGives
        Top speed, and torque, power and what limits them at each speed.

    Range
    -----
    Ratios above zero; a belt's slip torque is left as it is.

    Raises
    ------
    RangeError
        If the ratio or a speed cannot be.

    Examples
    --------
    >>> from machinelab.spindle.drive_train import DriveTrain
    >>> train = DriveTrain(
    ...     3,
    ...     supply_v=130,
    ...     back_emf_v_s_per_rad=0.288,
    ...     armature_resistance_ohm=1.2,
    ...     rated_current_a=6,
    ...     rated_motor_speed_rpm=4000,
    ...     highest_motor_speed_rpm=4200,
    ... )
    >>> found = what_ratio_gives(train, motor_turns_per_spindle_turn=5, speed_rpm=[60.0, 300.0])
    >>> round(found.top_speed_rpm), found.torque_nm.round(1).tolist()
    (840, [5.4, 6.6])

    Source
    ------
    Derived here, see `machinelab.spindle.motor_limits`.
    """
    ratio = positive("motor_turns_per_spindle_turn", motor_turns_per_spindle_turn)
    train = replace(drive_train, motor_turns_per_spindle_turn=ratio)
    speeds = np.asarray(speed_rpm, dtype=float)
    all_day, short = continuous_envelope(speeds, train), short_time_envelope(speeds, train)
    return RatioGives(
        motor_turns_per_spindle_turn=motor_turns_per_spindle_turn,
        top_speed_rpm=top_speed_rpm(train),
        speed_rpm=speeds,
        torque_nm=all_day.torque_nm,
        power_w=all_day.power_w,
        short_torque_nm=short.torque_nm,
        binding=all_day.binding,
    )


def step_change_rpm(drive_train, *, slow_ratio, fast_ratio) -> float:
    """Up to what spindle speed the slower of two belt steps gives at least as much torque.

    Formula
    -------
    none: the first root of the difference of both envelopes, found numerically.

    Parameters
    ----------
    drive_train : DriveTrain
        Motor, drive and belt.
    slow_ratio : Fraction or float [turn/turn]
        Motor turns for one spindle turn on the slow step, the larger figure.
    fast_ratio : Fraction or float [turn/turn]
        The same on the fast step.

    Returns
    -------
    float [rpm]
        Change the belt about here; the slow step's own top speed where it is the better up to there.

    Range
    -----
    The slow ratio is larger than the fast one.

    Raises
    ------
    RangeError
        If it is not, or a ratio is not above zero.

    Examples
    --------
    >>> from machinelab.spindle.drive_train import DriveTrain
    >>> train = DriveTrain(
    ...     3,
    ...     supply_v=130,
    ...     back_emf_v_s_per_rad=0.288,
    ...     armature_resistance_ohm=1.2,
    ...     rated_current_a=6,
    ...     rated_motor_speed_rpm=4000,
    ...     highest_motor_speed_rpm=4200,
    ... )
    >>> round(step_change_rpm(train, slow_ratio=5, fast_ratio=2.5))
    828

    Source
    ------
    Derived here: the step with more torque is the better one.
    """
    from scipy.optimize import brentq

    if not positive("slow_ratio", slow_ratio) > positive("fast_ratio", fast_ratio):
        raise RangeError(
            f"slow_ratio is {float(slow_ratio):g} and fast_ratio {float(fast_ratio):g}; the slow step has "
            "more motor turns for one spindle turn. Exchange them."
        )
    slow, fast = (replace(drive_train, motor_turns_per_spindle_turn=one) for one in (slow_ratio, fast_ratio))

    def ahead_nm(speed_rpm):
        return continuous_envelope(speed_rpm, slow).torque_nm - continuous_envelope(speed_rpm, fast).torque_nm

    speeds = np.linspace(0, top_speed_rpm(slow), SEARCH_POINTS)
    behind = np.flatnonzero(ahead_nm(speeds) < 0)
    if not behind.size:
        return float(speeds[-1])
    around = speeds[max(behind[0] - 1, 0)], speeds[behind[0]]
    return float(brentq(ahead_nm, *around)) if ahead_nm(around[0]) > 0 else float(around[0])
