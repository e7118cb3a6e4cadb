"""The resistor brake as a circuit: the motor's voltage at the spindle, its current, how hard it bites."""

import numpy as np

from machinelab.ranges import not_negative, positive

__all__ = [
    "brake_time_constant_s",
    "frictionless_turns",
    "inertia_from_braking_kg_m2",
    "peak_brake_current_a",
    "spindle_emf_v_s_per_rad",
]

RPM = 2 * np.pi / 60


def spindle_emf_v_s_per_rad(back_emf_v_s_per_rad, *, motor_turns_per_spindle_turn):
    """Volts that the motor makes for each radian a second of the spindle.

    The same number is the torque at the spindle for each ampere, in newton metres.

    Formula
    -------
    spindle_emf_v_s_per_rad = back_emf_v_s_per_rad * motor_turns_per_spindle_turn

    Parameters
    ----------
    back_emf_v_s_per_rad : float or array [V s/rad]
        The motor's own constant.
    motor_turns_per_spindle_turn : Fraction or float [turn/turn]
        Turns of the motor for one of the spindle.

    Returns
    -------
    float or array [V s/rad]
        Voltage constant at the spindle.

    Range
    -----
    Both above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If one of them is not above zero.

    Examples
    --------
    >>> from fractions import Fraction
    >>> round(spindle_emf_v_s_per_rad(0.288, motor_turns_per_spindle_turn=Fraction(3)), 3)
    0.864

    Source
    ------
    Derived here: the motor turns so many times as quickly; without losses in the belt.
    """
    ratio = positive("motor_turns_per_spindle_turn", motor_turns_per_spindle_turn)
    return positive("back_emf_v_s_per_rad", back_emf_v_s_per_rad) * float(ratio)


def brake_time_constant_s(*, spindle_emf_v_s_per_rad, armature_resistance_ohm, resistor_ohm, inertia_kg_m2):
    """Time in which the resistor alone would bring the speed down to 37 %.

    Formula
    -------
    loop_ohm = armature_resistance_ohm + resistor_ohm
    brake_time_constant_s = loop_ohm * inertia_kg_m2 / spindle_emf_v_s_per_rad**2

    Parameters
    ----------
    spindle_emf_v_s_per_rad : float or array [V s/rad]
        Voltage constant at the spindle, see `spindle_emf_v_s_per_rad`.
    armature_resistance_ohm : float or array [ohm]
        Resistance of the armature itself.
    resistor_ohm : float or array [ohm]
        The brake resistor; 0 for a short circuit.
    inertia_kg_m2 : float or array [kg m2]
        All that turns, felt at the spindle: the motor's armature counts with the ratio squared.

    Returns
    -------
    float or array [s]
        The time constant. Twice the chuck or twice the ohms take twice the time.

    Range
    -----
    Resistor from zero up, the others above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is out of range.

    Examples
    --------
    >>> round(
    ...     float(
    ...         brake_time_constant_s(
    ...             spindle_emf_v_s_per_rad=1.97,
    ...             armature_resistance_ohm=1.6,
    ...             resistor_ohm=12.4,
    ...             inertia_kg_m2=0.05,
    ...         )
    ...     ),
    ...     5,
    ... )
    0.18037

    Source
    ------
    Textbook equation of a permanent-magnet motor: J dw/dt = -K I with I = K w / R.
    """
    loop = loop_ohm(armature_resistance_ohm, resistor_ohm)
    emf = positive("spindle_emf_v_s_per_rad", spindle_emf_v_s_per_rad)
    return loop * positive("inertia_kg_m2", inertia_kg_m2) / emf**2


def frictionless_turns(start_speed_rpm, *, brake_time_constant_s):
    """Turns to standstill if nothing but the resistor braked, however long that takes.

    Formula
    -------
    frictionless_turns = start_speed_rpm / 60 * brake_time_constant_s

    Parameters
    ----------
    start_speed_rpm : float or array [rpm]
        Spindle speed at which the brake comes in.
    brake_time_constant_s : float or array [s]
        See `brake_time_constant_s`.

    Returns
    -------
    float or array [turn]
        Turns, in proportion to the speed. Friction makes them fewer, the brushes' own voltage more.

    Range
    -----
    Any finite speed; NaN in gives NaN out.

    Examples
    --------
    >>> round(frictionless_turns(1000, brake_time_constant_s=0.18037), 5)
    3.00617

    Source
    ------
    Derived here: a speed that falls as exp(-t/tau) covers the start speed times tau.
    """
    return start_speed_rpm / 60 * brake_time_constant_s


def peak_brake_current_a(
    start_speed_rpm, *, spindle_emf_v_s_per_rad, armature_resistance_ohm, resistor_ohm, brush_drop_v=0.0
):
    """Current at the moment the brake comes in: the greatest of the whole stop.

    The winding's inductance delays it by a few milliseconds (2 to 10, from memory) and is left out.

    Formula
    -------
    emf_v = spindle_emf_v_s_per_rad * pi/30 * start_speed_rpm
    loop_ohm = armature_resistance_ohm + resistor_ohm
    peak_brake_current_a = max(emf_v - brush_drop_v, 0) / loop_ohm

    Parameters
    ----------
    start_speed_rpm : float or array [rpm]
        Spindle speed at which the brake comes in.
    spindle_emf_v_s_per_rad : float or array [V s/rad]
        Voltage constant at the spindle.
    armature_resistance_ohm, resistor_ohm : float or array [ohm]
        Armature and brake resistor; cold ones draw the most.
    brush_drop_v : float or array [V]
        Voltage lost at both brushes together, about 2 V for carbon (from memory).

    Returns
    -------
    float or array [A]
        Peak current; none below the speed whose voltage the brushes keep back.

    Range
    -----
    Resistor and brush drop from zero up, the others above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is out of range.

    Examples
    --------
    >>> circuit = {"armature_resistance_ohm": 1.6, "resistor_ohm": 10.0}
    >>> round(float(peak_brake_current_a(2500, spindle_emf_v_s_per_rad=0.657, **circuit)), 3)
    14.828

    Source
    ------
    Textbook equation of a permanent-magnet motor, V = E + I R + brush drop.
    """
    emf_v = positive("spindle_emf_v_s_per_rad", spindle_emf_v_s_per_rad) * RPM * start_speed_rpm
    excess_v = np.maximum(emf_v - not_negative("brush_drop_v", brush_drop_v), 0.0)
    return excess_v / loop_ohm(armature_resistance_ohm, resistor_ohm)


def inertia_from_braking_kg_m2(
    brake_drag_per_s, *, spindle_emf_v_s_per_rad, armature_resistance_ohm, resistor_ohm
):
    """Moment of inertia at the spindle, told by how quickly a known circuit brakes it.

    With it the drags of a free run become newton metres.

    Formula
    -------
    loop_ohm = armature_resistance_ohm + resistor_ohm
    inertia_from_braking_kg_m2 = spindle_emf_v_s_per_rad**2 / (loop_ohm * brake_drag_per_s)

    Parameters
    ----------
    brake_drag_per_s : float or array [1/s]
        What the resistor adds to the viscous drag over inertia, from a braked run.
    spindle_emf_v_s_per_rad : float or array [V s/rad]
        Voltage constant at the spindle.
    armature_resistance_ohm, resistor_ohm : float or array [ohm]
        Armature and brake resistor, as warm as they were during the run.

    Returns
    -------
    float or array [kg m2]
        All that turns, felt at the spindle.

    Range
    -----
    Resistor from zero up, the others above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is out of range.

    Examples
    --------
    >>> circuit = {"armature_resistance_ohm": 1.6, "resistor_ohm": 12.4}
    >>> round(float(inertia_from_braking_kg_m2(5.54414, spindle_emf_v_s_per_rad=1.97, **circuit)), 4)
    0.05

    Source
    ------
    Derived here: the brake's time constant, solved for the inertia.
    """
    emf = positive("spindle_emf_v_s_per_rad", spindle_emf_v_s_per_rad)
    loop = loop_ohm(armature_resistance_ohm, resistor_ohm)
    return emf**2 / (loop * positive("brake_drag_per_s", brake_drag_per_s))


def loop_ohm(armature_resistance_ohm, resistor_ohm):
    """All that resists the brake current."""
    armature = positive("armature_resistance_ohm", armature_resistance_ohm)
    return armature + not_negative("resistor_ohm", resistor_ohm)
