"""The spindle's motor: what a permanent-magnet DC motor can give at each speed, and what stops it there.

The magnets make a constant field, so each ampere gives the same torque and each turn a second the same volts:
constant torque, not constant power. At a tenth of the speed there is a tenth of the power, however good the
motor is. All its limits taken together stand in `machinelab.spindle.motor_limits`.
"""

import numpy as np

from machinelab.ranges import not_negative, positive

RAD_S_PER_RPM = np.pi / 30


def armature_current_a(
    motor_speed_rpm, *, supply_v, brush_drop_v, back_emf_v_s_per_rad, armature_resistance_ohm
):
    """What current a steady voltage drives through the armature at a speed.

    The motor makes a voltage of its own that grows with speed; only what is left of the supply drives current
    through the armature. A negative speed is a supply reversed while the motor still turns (plugging): the
    two voltages add. Never do that with a permanent-magnet motor.

    Formula
    -------
    generated_v = back_emf_v_s_per_rad * pi / 30 * motor_speed_rpm
    armature_current_a = (supply_v - brush_drop_v - generated_v) / armature_resistance_ohm

    Parameters
    ----------
    motor_speed_rpm : float or array [rpm]
        Speed of the motor; negative when it turns against the supply.
    supply_v : float or array [V]
        Direct voltage at the brushes.
    brush_drop_v : float or array [V]
        Voltage lost at both brushes together.
    back_emf_v_s_per_rad : float or array [V s/rad]
        Back EMF, the same number as newton metres for each ampere.
    armature_resistance_ohm : float or array [ohm]
        Resistance of the armature, as warm as it is; add that of leads and of a resistor in series.

    Returns
    -------
    float or array [A]
        Steady current. Negative above the no-load speed: a drive that feeds one way only lets none flow.

    Range
    -----
    Steady current into a turning or standing motor with the brushes carrying; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the resistance or the back EMF is not above zero, or the brush drop is negative.

    Examples
    --------
    >>> float(
    ...     round(
    ...         armature_current_a(
    ...             4000,
    ...             supply_v=130,
    ...             brush_drop_v=2,
    ...             back_emf_v_s_per_rad=0.288,
    ...             armature_resistance_ohm=1.2,
    ...         ),
    ...         2,
    ...     )
    ... )
    6.14

    Source
    ------
    Textbook: the armature circuit of a DC machine; constant brush drop, from memory.
    """
    resistance = positive("armature_resistance_ohm", armature_resistance_ohm)
    generated_v = positive("back_emf_v_s_per_rad", back_emf_v_s_per_rad) * RAD_S_PER_RPM * motor_speed_rpm
    return (supply_v - not_negative("brush_drop_v", brush_drop_v) - generated_v) / resistance


def no_load_speed_rpm(
    no_load_current_a, *, supply_v, brush_drop_v, back_emf_v_s_per_rad, armature_resistance_ohm
):
    """How fast the motor runs with nothing to drive.

    Formula
    -------
    left_v = supply_v - brush_drop_v - no_load_current_a * armature_resistance_ohm
    no_load_speed_rpm = 30 / pi * left_v / back_emf_v_s_per_rad

    Parameters
    ----------
    no_load_current_a : float or array [A]
        Current that friction and iron losses take; zero for the ideal motor.
    supply_v : float or array [V]
        Direct voltage at the brushes.
    brush_drop_v : float or array [V]
        Voltage lost at both brushes together.
    back_emf_v_s_per_rad : float or array [V s/rad]
        Back EMF.
    armature_resistance_ohm : float or array [ohm]
        Resistance of the armature.

    Returns
    -------
    float or array [rpm]
        Speed of the motor.

    Range
    -----
    Back EMF above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the back EMF is not above zero, or the current is negative.

    Examples
    --------
    >>> round(
    ...     no_load_speed_rpm(
    ...         0.4, supply_v=130, brush_drop_v=2, back_emf_v_s_per_rad=0.288, armature_resistance_ohm=1.2
    ...     )
    ... )
    4228

    Source
    ------
    Textbook: the armature circuit of a DC machine, solved for speed.
    """
    lost_v = not_negative("no_load_current_a", no_load_current_a) * armature_resistance_ohm
    left_v = supply_v - brush_drop_v - lost_v
    return left_v / positive("back_emf_v_s_per_rad", back_emf_v_s_per_rad) / RAD_S_PER_RPM


def torque_nm(
    speed_rpm,
    *,
    motor_turns_per_spindle_turn,
    supply_v,
    brush_drop_v,
    back_emf_v_s_per_rad,
    armature_resistance_ohm,
    current_limit_a,
    no_load_torque_nm,
    belt_efficiency,
    spindle_drag_nm,
):
    """What torque the motor leaves for the cut at a spindle speed, with the speed knob fully up.

    The lesser of two currents counts: what the supply can drive through the armature at that speed, and what
    drive, heat or magnets allow. Friction of motor, belt and spindle is taken off.

    Formula
    -------
    generated_v = back_emf_v_s_per_rad * pi / 30 * speed_rpm * motor_turns_per_spindle_turn
    armature_current_a = (supply_v - brush_drop_v - generated_v) / armature_resistance_ohm
    shaft_torque_nm = back_emf_v_s_per_rad * min(armature_current_a, current_limit_a) - no_load_torque_nm
    torque_nm = max(motor_turns_per_spindle_turn * belt_efficiency * shaft_torque_nm - spindle_drag_nm, 0)

    Parameters
    ----------
    speed_rpm : float or array [rpm]
        Spindle speed.
    motor_turns_per_spindle_turn : Fraction or float [turn/turn]
        Belt ratio: turns of the motor for one of the spindle.
    supply_v : float or array [V]
        Direct voltage at the brushes with the knob fully up.
    brush_drop_v : float or array [V]
        Voltage lost at both brushes together.
    back_emf_v_s_per_rad : float or array [V s/rad]
        Back EMF, the same number as newton metres for each ampere.
    armature_resistance_ohm : float or array [ohm]
        Resistance of the armature.
    current_limit_a : float or array [A]
        The most current that is allowed.
    no_load_torque_nm : float or array [N m]
        Friction and iron loss of the motor, felt at its own shaft.
    belt_efficiency : float or array [1]
        Share of the power that the belt passes on; 0.92 to 0.97 is common (common practice, no source).
    spindle_drag_nm : float or array [N m]
        Friction of the spindle, from a coast-down; zero to leave it out.

    Returns
    -------
    float or array [N m]
        Torque at the spindle; zero where the supply has no volts left or friction takes all.

    Range
    -----
    Speeds from zero up, steady running in the direction of the supply; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a speed, current, friction or drop is negative, or ratio, back EMF, resistance or efficiency is not
        above zero.

    Examples
    --------
    >>> float(
    ...     round(
    ...         torque_nm(
    ...             300,
    ...             motor_turns_per_spindle_turn=3,
    ...             supply_v=130,
    ...             brush_drop_v=2,
    ...             back_emf_v_s_per_rad=0.288,
    ...             armature_resistance_ohm=1.2,
    ...             current_limit_a=6,
    ...             no_load_torque_nm=0.12,
    ...             belt_efficiency=0.95,
    ...             spindle_drag_nm=0,
    ...         ),
    ...         2,
    ...     )
    ... )
    4.58

    Source
    ------
    Textbook: torque constant and back EMF of a permanent-magnet motor are one number in SI units.
    """
    ratio = float(positive("motor_turns_per_spindle_turn", motor_turns_per_spindle_turn))
    through_a = armature_current_a(
        not_negative("speed_rpm", speed_rpm) * ratio,
        supply_v=supply_v,
        brush_drop_v=brush_drop_v,
        back_emf_v_s_per_rad=back_emf_v_s_per_rad,
        armature_resistance_ohm=armature_resistance_ohm,
    )
    current_a = np.minimum(through_a, not_negative("current_limit_a", current_limit_a))
    shaft_nm = back_emf_v_s_per_rad * current_a - not_negative("no_load_torque_nm", no_load_torque_nm)
    at_spindle_nm = ratio * positive("belt_efficiency", belt_efficiency) * shaft_nm
    return np.maximum(at_spindle_nm - not_negative("spindle_drag_nm", spindle_drag_nm), 0)


def shaft_power_w(torque_nm, *, speed_rpm):
    """How much power a torque is at a speed.

    Formula
    -------
    shaft_power_w = torque_nm * pi / 30 * speed_rpm

    Parameters
    ----------
    torque_nm : float or array [N m]
        Torque.
    speed_rpm : float or array [rpm]
        Speed of the shaft that carries it.

    Returns
    -------
    float or array [W]
        Power.

    Range
    -----
    Any numbers; NaN in gives NaN out.

    Examples
    --------
    >>> float(round(shaft_power_w(4.58, speed_rpm=300), 1))
    143.9

    Source
    ------
    Textbook: work each second of a turning force.
    """
    return torque_nm * RAD_S_PER_RPM * speed_rpm
