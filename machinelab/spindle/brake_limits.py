"""What the first moment of braking must not exceed: motor, resistor, contact, belt and chuck.

Every limit becomes one number, the greatest current with which the brake may come in; the lowest is named.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from machinelab.ranges import positive


@dataclass(frozen=True)
class CurrentLimit:
    """A limit of the brake current and what sets it.

    Parameters
    ----------
    concern : str
        What would suffer beyond it.
    limit_a : float [A]
        The greatest current with which the brake may come in.

    Source
    ------
    See the function that the figure came from.
    """

    concern: str
    limit_a: float


def demagnetising_current_a(rated_current_a, *, times_rated=3.0):
    """Current beyond which the magnets may lose strength for good.

    Formula
    -------
    demagnetising_current_a = times_rated * rated_current_a

    Parameters
    ----------
    rated_current_a : float or array [A]
        Rated current of the motor, from its plate.
    times_rated : float or array [1]
        Where the plate gives no peak current: 3 for a salvaged motor (from memory). Ferrite is weakest
        cold, neodymium hot; 2 % less back EMF after the first hard stop is damage.

    Returns
    -------
    float or array [A]
        Limit of the peak current.

    Range
    -----
    Both above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is not above zero.

    Examples
    --------
    >>> demagnetising_current_a(5.0)
    15.0

    Source
    ------
    Common practice, no source.
    """
    return positive("times_rated", times_rated) * positive("rated_current_a", rated_current_a)


def commutation_current_a(rated_current_a, *, motor_speed_rpm, rated_motor_speed_rpm, times_rated=2.5):
    """Current that the brushes still turn over without burning the commutator, for a moment.

    Formula
    -------
    slow_down = min(rated_motor_speed_rpm / motor_speed_rpm, 1)
    commutation_current_a = times_rated * rated_current_a * slow_down

    Parameters
    ----------
    rated_current_a : float or array [A]
        Rated current of the motor.
    motor_speed_rpm : float or array [rpm]
        Speed of the motor, not of the spindle, when the brake comes in.
    rated_motor_speed_rpm : float or array [rpm]
        Rated speed of the motor.
    times_rated : float or array [1]
        2 to 3 times the rated current, or the rated product of current and speed (from memory).

    Returns
    -------
    float or array [A]
        Limit of the peak current.

    Range
    -----
    All above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is not above zero.

    Examples
    --------
    >>> round(float(commutation_current_a(6.0, motor_speed_rpm=4200, rated_motor_speed_rpm=4000)), 2)
    14.29

    Source
    ------
    Common practice, no source.
    """
    rated_rpm = positive("rated_motor_speed_rpm", rated_motor_speed_rpm)
    slow_down = np.minimum(rated_rpm / positive("motor_speed_rpm", motor_speed_rpm), 1.0)
    factor = positive("times_rated", times_rated) * slow_down
    return factor * positive("rated_current_a", rated_current_a)


def resistor_pulse_current_a(
    resistor_rating_w, *, resistor_ohm, brake_time_constant_s, pulse_s=1.0, overload=5.0
):
    """Current from which a wirewound resistor's mean power in the first second stays within its overload.

    Formula
    -------
    half = brake_time_constant_s / 2
    lasting_share = half / pulse_s * (1 - exp(-pulse_s / half))
    resistor_pulse_current_a = sqrt(overload * resistor_rating_w / (resistor_ohm * lasting_share))

    Parameters
    ----------
    resistor_rating_w : float or array [W]
        Power rating, in free air; boxed in it is about half (from memory).
    resistor_ohm : float or array [ohm]
        The brake resistor.
    brake_time_constant_s : float or array [s]
        With it the current dies away.
    pulse_s : float or array [s]
        Time over which the power is averaged.
    overload : float or array [1]
        Times its rating borne for 1 to 5 s: 5 to 10 (from memory); a data sheet's pulse curve comes first.

    Returns
    -------
    float or array [A]
        Limit of the peak current.

    Range
    -----
    All above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is not above zero.

    Examples
    --------
    >>> round(float(resistor_pulse_current_a(100, resistor_ohm=12, brake_time_constant_s=0.8)), 2)
    10.65

    Source
    ------
    Derived here: the mean of I^2 R exp(-2 t/tau) over the pulse.
    """
    half = positive("brake_time_constant_s", brake_time_constant_s) / 2
    pulse = positive("pulse_s", pulse_s)
    lasting_share = -half / pulse * np.expm1(-pulse / half)
    most_w = positive("overload", overload) * positive("resistor_rating_w", resistor_rating_w)
    return np.sqrt(most_w / (positive("resistor_ohm", resistor_ohm) * lasting_share))


def current_at_deceleration_a(
    deceleration_rad_s2, *, free_deceleration_rad_s2, inertia_kg_m2, spindle_emf_v_s_per_rad
):
    """Brake current at which the spindle slows so quickly; turns a limit of belt or chuck into amperes.

    Formula
    -------
    electric = max(deceleration_rad_s2 - free_deceleration_rad_s2, 0)
    current_at_deceleration_a = electric * inertia_kg_m2 / spindle_emf_v_s_per_rad

    Parameters
    ----------
    deceleration_rad_s2 : float or array [rad/s2]
        Deceleration of the spindle.
    free_deceleration_rad_s2 : float or array [rad/s2]
        What friction alone gives at that speed.
    inertia_kg_m2 : float or array [kg m2]
        All that turns, felt at the spindle.
    spindle_emf_v_s_per_rad : float or array [V s/rad]
        Voltage constant at the spindle; newton metres for each ampere.

    Returns
    -------
    float or array [A]
        Current; 0 where friction alone slows it as quickly.

    Range
    -----
    Inertia and voltage constant above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is out of range.

    Examples
    --------
    >>> limits = {"free_deceleration_rad_s2": 5.0, "inertia_kg_m2": 0.05, "spindle_emf_v_s_per_rad": 0.5}
    >>> float(current_at_deceleration_a(60.0, **limits))
    5.5

    Source
    ------
    Derived here: J times the deceleration is K times the current and the friction.
    """
    electric = np.maximum(deceleration_rad_s2 - free_deceleration_rad_s2, 0.0)
    emf = positive("spindle_emf_v_s_per_rad", spindle_emf_v_s_per_rad)
    return electric * positive("inertia_kg_m2", inertia_kg_m2) / emf


def belt_torque_nm(deceleration_rad_s2, *, driven_inertia_kg_m2, motor_turns_per_spindle_turn):
    """Torque at the motor's pulley with which the belt holds back what turns on the spindle.

    Beyond what it grips the belt slips, and then the belt and not the resistor sets the turns.

    Formula
    -------
    belt_torque_nm = driven_inertia_kg_m2 * deceleration_rad_s2 / motor_turns_per_spindle_turn

    Parameters
    ----------
    deceleration_rad_s2 : float or array [rad/s2]
        Deceleration of the spindle, at its peak.
    driven_inertia_kg_m2 : float or array [kg m2]
        What turns with the spindle, the motor left out.
    motor_turns_per_spindle_turn : Fraction or float [turn/turn]
        Turns of the motor for one of the spindle.

    Returns
    -------
    float or array [N m]
        Torque at the motor's pulley.

    Range
    -----
    Inertia and ratio above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is not above zero.

    Examples
    --------
    >>> belt_torque_nm(60.0, driven_inertia_kg_m2=0.05, motor_turns_per_spindle_turn=3)
    1.0

    Source
    ------
    Derived here: inertia times deceleration, through the ratio.
    """
    ratio = float(positive("motor_turns_per_spindle_turn", motor_turns_per_spindle_turn))
    return positive("driven_inertia_kg_m2", driven_inertia_kg_m2) * deceleration_rad_s2 / ratio


def binding_limit(limits: Mapping[str, float]) -> CurrentLimit | None:
    """The lowest of the known limits, and what sets it.

    Formula
    -------
    none: the least of some numbers; those that are not known (NaN) do not count

    Parameters
    ----------
    limits : mapping of str to float
        By what would suffer, the greatest current [A] with which the brake may come in.

    Returns
    -------
    CurrentLimit or None
        None while no limit is known.

    Examples
    --------
    >>> binding_limit({"the magnets": 15.0, "the contact": 10.0, "the belt": float("nan")})
    CurrentLimit(concern='the contact', limit_a=10.0)

    Source
    ------
    Derived here.
    """
    known = [CurrentLimit(concern, float(limit)) for concern, limit in limits.items() if not np.isnan(limit)]
    return min(known, key=lambda limit: limit.limit_a, default=None)
