"""What the stepper has to move: the force at the carriage, the torque at its own shaft, and inertia."""

import numpy as np

from machinelab.ranges import not_negative, positive

# Standard acceleration of gravity, by definition.
GRAVITY_M_S2 = 9.80665
# Density of steel, from memory.
STEEL_KG_M3 = 7850.0


def carriage_force_n(way_friction, *, carriage_mass_kg, press_n, gib_n, axial_n):
    """What force along the bed the leadscrew must give.

    Formula
    -------
    pressed_n = 9.80665 * carriage_mass_kg + press_n + gib_n
    carriage_force_n = way_friction * pressed_n + axial_n

    Parameters
    ----------
    way_friction : float or array [1]
        0.10 to 0.20 for oiled ways, 0.25 and more at the first start (common practice, no source).
    carriage_mass_kg : float or array [kg]
        Saddle, cross slide and tool post.
    press_n : float or array [N]
        Force with which the cut presses the carriage on its ways.
    gib_n : float or array [N]
        Force of the gibs.
    axial_n : float or array [N]
        Force of the cut along the bed.

    Returns
    -------
    float or array [N]
        Force at the nut.

    Range
    -----
    Zero or more; NaN in gives NaN out. Drag measured with a spring balance takes the place of the first part.

    Raises
    ------
    RangeError
        If a figure is negative.

    Examples
    --------
    >>> round(carriage_force_n(0.15, carriage_mass_kg=15, press_n=0, gib_n=100, axial_n=300), 1)
    337.1

    Source
    ------
    Friction textbook; selection examples of servo makers have the same sum.
    """
    weight_n = GRAVITY_M_S2 * not_negative("carriage_mass_kg", carriage_mass_kg)
    pressed_n = weight_n + not_negative("press_n", press_n) + not_negative("gib_n", gib_n)
    return not_negative("way_friction", way_friction) * pressed_n + not_negative("axial_n", axial_n)


def load_at_motor_nm(driving_torque_nm, *, screw_drag_nm, motor_turns_per_screw_turn, belt_efficiency):
    """What torque the stepper itself must give.

    Formula
    -------
    at_screw_nm = driving_torque_nm + screw_drag_nm
    load_at_motor_nm = at_screw_nm / (motor_turns_per_screw_turn * belt_efficiency)

    Parameters
    ----------
    driving_torque_nm : float or array [N m]
        Torque that the force at the nut asks of the screw.
    screw_drag_nm : float or array [N m]
        What the screw asks with its nut open: bearings, preload, wipers. Measured with a string on its
        pulley; 0.05 to 0.3 (common practice, no source).
    motor_turns_per_screw_turn : Fraction or float [turn/turn]
        See `machinelab.leadscrew.screw_drive`.
    belt_efficiency : float or array [1]
        Share of the power that belt or gears pass on.

    Returns
    -------
    float or array [N m]
        Load of the stepper at a steady speed.

    Range
    -----
    Ratio and efficiency above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a figure is out of range.

    Examples
    --------
    >>> round(load_at_motor_nm(1.0, screw_drag_nm=0.1, motor_turns_per_screw_turn=2, belt_efficiency=0.95), 3)
    0.579

    Source
    ------
    Derived here: power through the gearing.
    """
    at_screw_nm = not_negative("driving_torque_nm", driving_torque_nm) + not_negative(
        "screw_drag_nm", screw_drag_nm
    )
    gearing = float(positive("motor_turns_per_screw_turn", motor_turns_per_screw_turn))
    return at_screw_nm / (gearing * positive("belt_efficiency", belt_efficiency))


def carriage_inertia_kg_m2(carriage_mass_kg, *, screw_travel_mm, motor_turns_per_screw_turn):
    """How heavy the carriage is to the stepper's shaft.

    Formula
    -------
    travel_m_per_rad = screw_travel_mm / 1000 / (2 * pi * motor_turns_per_screw_turn)
    carriage_inertia_kg_m2 = carriage_mass_kg * travel_m_per_rad**2

    Parameters
    ----------
    carriage_mass_kg : float or array [kg]
        Saddle, cross slide and tool post.
    screw_travel_mm : float or array [mm]
        Lead of the screw.
    motor_turns_per_screw_turn : Fraction or float [turn/turn]
        See `machinelab.leadscrew.screw_drive`.

    Returns
    -------
    float or array [kg m2]
        Next to nothing on most lathes: the screw gears the carriage down a thousandfold.

    Range
    -----
    Mass from zero up, the rest above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a figure is out of range.

    Examples
    --------
    >>> f"{carriage_inertia_kg_m2(15, screw_travel_mm=3, motor_turns_per_screw_turn=2):.2e}"
    '8.55e-07'

    Source
    ------
    Derived here: equal energy of motion at both ends.
    """
    gearing = float(positive("motor_turns_per_screw_turn", motor_turns_per_screw_turn))
    travel_m = positive("screw_travel_mm", screw_travel_mm) / 1000 / (2 * np.pi * gearing)
    return not_negative("carriage_mass_kg", carriage_mass_kg) * travel_m**2


def bar_inertia_kg_m2(diameter_mm, *, length_mm, density_kg_m3=STEEL_KG_M3):
    """Moment of inertia of a round bar about its axis, such as the leadscrew.

    Formula
    -------
    mass_kg = density_kg_m3 * pi / 4 * (diameter_mm / 1000)**2 * length_mm / 1000
    bar_inertia_kg_m2 = mass_kg * (diameter_mm / 1000)**2 / 8

    Parameters
    ----------
    diameter_mm : float or array [mm]
        Diameter of the bar; for a screw its mean diameter is near enough.
    length_mm : float or array [mm]
        Length of the bar.
    density_kg_m3 : float or array [kg/m3]
        7850 for steel.

    Returns
    -------
    float or array [kg m2]
        Moment of inertia at the bar.

    Range
    -----
    All above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a figure is not above zero.

    Examples
    --------
    >>> f"{bar_inertia_kg_m2(18, length_mm=800):.2e}"
    '6.47e-05'

    Source
    ------
    Solid cylinder, textbooks of mechanics.
    """
    diameter_m = positive("diameter_mm", diameter_mm) / 1000
    mass_kg = positive("density_kg_m3", density_kg_m3) * np.pi / 4 * diameter_m**2
    return mass_kg * positive("length_mm", length_mm) / 1000 * diameter_m**2 / 8


def inertia_at_motor_kg_m2(
    rotor_inertia_kg_m2, *, screw_inertia_kg_m2, carriage_inertia_kg_m2, motor_turns_per_screw_turn
):
    """All that the stepper has to start and stop, as its own shaft feels it.

    What sits on the screw counts by the **square** of the gearing. The large pulley on the screw is often the
    heaviest part of all; the carriage hardly counts.

    Formula
    -------
    screw_part_kg_m2 = screw_inertia_kg_m2 / motor_turns_per_screw_turn**2
    inertia_at_motor_kg_m2 = rotor_inertia_kg_m2 + screw_part_kg_m2 + carriage_inertia_kg_m2

    Parameters
    ----------
    rotor_inertia_kg_m2 : float or array [kg m2]
        Rotor of the stepper with its own pulley.
    screw_inertia_kg_m2 : float or array [kg m2]
        Screw with the pulley on it, at the screw.
    carriage_inertia_kg_m2 : float or array [kg m2]
        See `carriage_inertia_kg_m2`.
    motor_turns_per_screw_turn : Fraction or float [turn/turn]
        See `machinelab.leadscrew.screw_drive`.

    Returns
    -------
    float or array [kg m2]
        Inertia at the stepper; less than ten times the rotor's own is a maker's rule.

    Range
    -----
    Inertias from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a figure is out of range.

    Examples
    --------
    >>> found = inertia_at_motor_kg_m2(
    ...     4.8e-5, screw_inertia_kg_m2=6.47e-5, carriage_inertia_kg_m2=8.5e-7, motor_turns_per_screw_turn=2
    ... )
    >>> f"{found:.2e}"
    '6.50e-05'

    Source
    ------
    Derived here: equal energy of motion; the rule of ten from a maker's glossary, read in an excerpt.
    """
    gearing = float(positive("motor_turns_per_screw_turn", motor_turns_per_screw_turn))
    at_screw = not_negative("screw_inertia_kg_m2", screw_inertia_kg_m2) / gearing**2
    own = not_negative("rotor_inertia_kg_m2", rotor_inertia_kg_m2)
    return own + at_screw + not_negative("carriage_inertia_kg_m2", carriage_inertia_kg_m2)
