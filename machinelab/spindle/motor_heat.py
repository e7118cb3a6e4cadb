"""The heat of the spindle's motor: what current it carries all day, and how long it may carry more.

Torque follows the average current, heat the square of the rms current. A motor with its own fan cools least
when it turns slowly, which is when a lathe asks for the most torque.
"""

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import not_negative, positive

# Rms over average current by what feeds the motor, from memory; full-wave thyristors at the rated point.
USUAL_FORM_FACTORS = {"smoothed": 1.05, "switched": 1.05, "phase-controlled": 1.40}
# What a motor sheds at standstill of what it sheds at rated speed, from memory: 0.30 to 0.50 for a closed
# motor, 0.25 to 0.40 for an open one with a fan, all of it with a blower of its own.
USUAL_STANDSTILL_SHARE = 0.35
COOLING_EXPONENT = 0.8


def form_factor(current_a):
    """Rms over average of a current that was sampled over whole periods.

    Torque follows the average, heat the square of the rms: a form factor of 1.4 heats like almost twice the
    current's square would. Measure it with a true-rms and an average meter on one shunt, or sample it.

    Formula
    -------
    none: root of the mean of the squares, over the mean, of the samples given.

    Parameters
    ----------
    current_a : array [A]
        Samples at equal distances in time, over whole periods.

    Returns
    -------
    float [1]
        At least 1, which is steady direct current.

    Range
    -----
    Current that flows one way on the average; missing samples (NaN) give NaN.

    Raises
    ------
    RangeError
        If there are no samples, or their mean is zero.

    Examples
    --------
    >>> half_waves = np.abs(np.sin(np.arange(360) * np.pi / 180))
    >>> round(form_factor(half_waves), 3)
    1.111

    Source
    ------
    Textbook: the definition of rms and of the form factor.
    """
    samples = np.asarray(current_a, dtype=float)
    if samples.size == 0 or np.mean(samples) == 0:
        raise RangeError("current_a has no samples that flow one way; type the readings of one whole period.")
    return float(np.sqrt(np.mean(samples**2)) / abs(np.mean(samples)))


def cooling_share(motor_speed_rpm, *, rated_motor_speed_rpm, standstill_share):
    """How much heat a motor sheds at a speed, of what it sheds at its rated speed.

    Formula
    -------
    relative = motor_speed_rpm / rated_motor_speed_rpm
    cooling_share = min(standstill_share + (1 - standstill_share) * relative**0.8, 1)

    Parameters
    ----------
    motor_speed_rpm : float or array [rpm]
        Speed of the motor.
    rated_motor_speed_rpm : float or array [rpm]
        Speed on its plate.
    standstill_share : float or array [1]
        What it sheds at standstill: 0.3 to 0.5 closed, 0.25 to 0.4 open with its own fan, 1 with a blower.

    Returns
    -------
    float or array [1]
        From the share at standstill up to 1, no more than the plate says at any speed.

    Range
    -----
    Speeds from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the rated speed or the share is not above zero, or a speed is negative.

    Examples
    --------
    >>> float(round(cooling_share(400, rated_motor_speed_rpm=4000, standstill_share=0.35), 3))
    0.453

    Source
    ------
    Air flow in proportion to speed, heat passed on with its power 0.8 (turbulent flow, textbook); shares at
    standstill from memory.
    """
    relative = not_negative("motor_speed_rpm", motor_speed_rpm) / positive(
        "rated_motor_speed_rpm", rated_motor_speed_rpm
    )
    at_rest = positive("standstill_share", standstill_share)
    return np.minimum(at_rest + (1 - at_rest) * np.asarray(relative) ** COOLING_EXPONENT, 1)


def continuous_current_a(
    motor_speed_rpm,
    *,
    rated_current_a,
    rated_motor_speed_rpm,
    standstill_share,
    form_factor,
    rated_form_factor,
):
    """What average current the motor carries without end at a speed.

    Formula
    -------
    relative = motor_speed_rpm / rated_motor_speed_rpm
    cooling_share = min(standstill_share + (1 - standstill_share) * relative**0.8, 1)
    continuous_current_a = rated_current_a * sqrt(cooling_share) * rated_form_factor / form_factor

    Parameters
    ----------
    motor_speed_rpm : float or array [rpm]
        Speed of the motor.
    rated_current_a : float or array [A]
        Current on its plate.
    rated_motor_speed_rpm : float or array [rpm]
        Speed on its plate.
    standstill_share : float or array [1]
        What it sheds at standstill, see `cooling_share`.
    form_factor : float or array [1]
        Rms over average current of the drive in use.
    rated_form_factor : float or array [1]
        The same for the supply that the plate was written for; 1.05 for smooth direct current.

    Returns
    -------
    float or array [A]
        Average current, which is what makes torque.

    Range
    -----
    Speeds from zero up; loss in iron and bearings is left out; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If an input is out of range.

    Examples
    --------
    >>> float(
    ...     round(
    ...         continuous_current_a(
    ...             400,
    ...             rated_current_a=6,
    ...             rated_motor_speed_rpm=4000,
    ...             standstill_share=0.35,
    ...             form_factor=1.05,
    ...             rated_form_factor=1.05,
    ...         ),
    ...         2,
    ...     )
    ... )
    4.04

    Source
    ------
    Derived here: copper loss equals what is shed, so current goes with the root of the cooling.
    """
    shed = cooling_share(
        motor_speed_rpm, rated_motor_speed_rpm=rated_motor_speed_rpm, standstill_share=standstill_share
    )
    shape = positive("rated_form_factor", rated_form_factor) / positive("form_factor", form_factor)
    return positive("rated_current_a", rated_current_a) * np.sqrt(shed) * shape


def armature_loss_w(rms_current_a, *, armature_resistance_ohm, no_load_torque_nm, motor_speed_rpm):
    """How much power turns into heat in the motor.

    Formula
    -------
    copper_w = rms_current_a**2 * armature_resistance_ohm
    armature_loss_w = copper_w + no_load_torque_nm * pi / 30 * motor_speed_rpm

    Parameters
    ----------
    rms_current_a : float or array [A]
        Rms current: an averaging meter reads too little under a phase-controlled drive.
    armature_resistance_ohm : float or array [ohm]
        Resistance of the armature as warm as it is.
    no_load_torque_nm : float or array [N m]
        Friction and iron loss at its own shaft.
    motor_speed_rpm : float or array [rpm]
        Speed of the motor.

    Returns
    -------
    float or array [W]
        Loss; the brush drop, a few watts, is left out.

    Range
    -----
    NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the resistance is not above zero.

    Examples
    --------
    >>> float(
    ...     round(
    ...         armature_loss_w(6, armature_resistance_ohm=1.2, no_load_torque_nm=0.12, motor_speed_rpm=4000),
    ...         1,
    ...     )
    ... )
    93.5

    Source
    ------
    Textbook: copper loss, and friction times speed.
    """
    copper_w = rms_current_a**2 * positive("armature_resistance_ohm", armature_resistance_ohm)
    return copper_w + no_load_torque_nm * np.pi / 30 * motor_speed_rpm
