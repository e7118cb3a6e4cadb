"""Starting and stopping a stepper: what it takes at once, how steep a ramp it bears, how far it runs on."""

import numpy as np

from machinelab.ranges import exact_positive, exact_ratio, not_negative, positive, whole


def start_stop_rate_hz(free_start_hz, *, load_over_rotor):
    """The step rate at which a stepper starts at once, with something on its shaft.

    Formula
    -------
    start_stop_rate_hz = free_start_hz / sqrt(1 + load_over_rotor)

    Parameters
    ----------
    free_start_hz : float or array [Hz]
        Full steps each second at which it starts with nothing on its shaft, from its data sheet.
    load_over_rotor : float or array [1]
        Inertia that is driven over that of the rotor.

    Returns
    -------
    float or array [Hz]
        Full steps each second; above it a ramp is needed. Half of it is prudent.

    Range
    -----
    A rate above zero, inertia from zero up; NaN in gives NaN out. Friction lowers it further.

    Raises
    ------
    RangeError
        If a figure is out of range.

    Examples
    --------
    >>> float(start_stop_rate_hz(1500, load_over_rotor=3))
    750.0

    Source
    ------
    Technical references of stepper makers, from memory.
    """
    return positive("free_start_hz", free_start_hz) / np.sqrt(
        1 + not_negative("load_over_rotor", load_over_rotor)
    )


def acceleration_torque_nm(speed_gain_rad_s, *, gain_time_s, moved_inertia_kg_m2, load_at_motor_nm):
    """What torque a change of speed in a time asks, the steady load included.

    Formula
    -------
    acceleration_torque_nm = moved_inertia_kg_m2 * speed_gain_rad_s / gain_time_s + load_at_motor_nm

    Parameters
    ----------
    speed_gain_rad_s : float or array [rad/s]
        Change of speed.
    gain_time_s : float or array [s]
        Time it takes.
    moved_inertia_kg_m2 : float or array [kg m2]
        All that moves, at the stepper's shaft.
    load_at_motor_nm : float or array [N m]
        Steady load.

    Returns
    -------
    float or array [N m]
        Torque at the stepper's shaft.

    Range
    -----
    A time above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a figure is out of range.

    Examples
    --------
    >>> step = {"gain_time_s": 0.1, "moved_inertia_kg_m2": 1e-4, "load_at_motor_nm": 0.05}
    >>> round(acceleration_torque_nm(200, **step), 3)
    0.25

    Source
    ------
    Newton's law for turning parts.
    """
    time_s = positive("gain_time_s", gain_time_s)
    inertia = positive("moved_inertia_kg_m2", moved_inertia_kg_m2)
    return inertia * speed_gain_rad_s / time_s + not_negative("load_at_motor_nm", load_at_motor_nm)


def step_acceleration_hz_s(torque_left_nm, *, moved_inertia_kg_m2, full_steps):
    """How many full steps a second a stepper can gain each second.

    Counted in full steps it does not change with the microsteps. Take half of it, no more (common practice,
    no source).

    Formula
    -------
    step_acceleration_hz_s = torque_left_nm / moved_inertia_kg_m2 * full_steps / (2 * pi)

    Parameters
    ----------
    torque_left_nm : float or array [N m]
        Available torque less the load.
    moved_inertia_kg_m2 : float or array [kg m2]
        All that moves, at the stepper's shaft.
    full_steps : int [step]
        Full steps in one turn of the stepper.

    Returns
    -------
    float or array [Hz/s]
        Gain of the full-step rate each second.

    Range
    -----
    Torque from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a figure is out of range.

    Examples
    --------
    >>> round(step_acceleration_hz_s(0.2, moved_inertia_kg_m2=1e-4, full_steps=180))
    57296

    Source
    ------
    Newton's law for turning parts.
    """
    acceleration_rad_s2 = not_negative("torque_left_nm", torque_left_nm) / positive(
        "moved_inertia_kg_m2", moved_inertia_kg_m2
    )
    return acceleration_rad_s2 * whole("full_steps", full_steps) / (2 * np.pi)


def ramp_step_time_s(step_number, *, acceleration_hz_s):
    """When each step of a ramp from standstill is due.

    Formula
    -------
    ramp_step_time_s = sqrt(2 * step_number / acceleration_hz_s)

    Parameters
    ----------
    step_number : int or array [step]
        Steps since standstill.
    acceleration_hz_s : float or array [Hz/s]
        Gain of the step rate each second.

    Returns
    -------
    float or array [s]
        Time since the start.

    Range
    -----
    Numbers from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a figure is out of range.

    Examples
    --------
    >>> round(float(ramp_step_time_s(2, acceleration_hz_s=1000)), 4)
    0.0632

    Source
    ------
    Derived here: constant acceleration.
    """
    steps = not_negative("step_number", step_number)
    return np.sqrt(2 * steps / positive("acceleration_hz_s", acceleration_hz_s))


def interval_ratio(step_number):
    """By how much an interval of a ramp from standstill is shorter than the one before it.

    Formula
    -------
    interval_ratio = (sqrt(step_number + 1) - sqrt(step_number)) / (sqrt(step_number) - sqrt(step_number - 1))

    Parameters
    ----------
    step_number : int or array [step]
        The interval after so many steps, over the one before.

    Returns
    -------
    float or array [1]
        Ratio of the two times.

    Range
    -----
    Whole numbers from one up.

    Raises
    ------
    RangeError
        If a number is not above zero.

    Examples
    --------
    >>> round(float(interval_ratio(1)), 4)
    0.4142

    Source
    ------
    A published article on stepper profiles in real time (2005), from memory; exact for constant acceleration.
    """
    steps = positive("step_number", step_number)
    return (np.sqrt(steps + 1) - np.sqrt(steps)) / (np.sqrt(steps) - np.sqrt(steps - 1))


def nearly_interval_ratio(step_number):
    """The same by additions only, as small controllers do it.

    It is too large at the first step, which is mended by shortening the first interval to 0.676 of itself.

    Formula
    -------
    nearly_interval_ratio = 1 - 2 / (4 * step_number + 1)

    Parameters
    ----------
    step_number : int or array [step]
        The interval after so many steps, over the one before.

    Returns
    -------
    float or array [1]
        Ratio of the two times, nearly.

    Range
    -----
    Whole numbers from one up; at 10 it is right to a part in ten thousand.

    Raises
    ------
    RangeError
        If a number is not above zero.

    Examples
    --------
    >>> nearly_interval_ratio(1)
    0.6

    Source
    ------
    The same article, from memory.
    """
    return 1 - 2 / (4 * positive("step_number", step_number) + 1)


def stop_distance_mm(feed_mm_s, *, slowing_mm_s2):
    """How far the carriage runs on while its stepper is brought to rest.

    Formula
    -------
    stop_distance_mm = feed_mm_s**2 / (2 * slowing_mm_s2)

    Parameters
    ----------
    feed_mm_s : float or array [mm/s]
        Travel of the carriage when the stop is called for.
    slowing_mm_s2 : float or array [mm/s2]
        How quickly it is slowed.

    Returns
    -------
    float or array [mm]
        Distance; turning round costs it twice.

    Range
    -----
    Any finite feed; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the slowing is not above zero.

    Examples
    --------
    >>> stop_distance_mm(10, slowing_mm_s2=200)
    0.25

    Source
    ------
    Constant deceleration.
    """
    return feed_mm_s**2 / (2 * positive("slowing_mm_s2", slowing_mm_s2))


def following_acceleration_rad_s2(
    spindle_acceleration_rad_s2, *, thread_lead_mm, screw_lead_mm, motor_turns_per_screw_turn
):
    """How steeply the stepper must speed up while it follows a spindle that starts from rest.

    Because it starts from rest together with the spindle no ramp is needed, as long as this stays far below
    what its torque allows.

    Formula
    -------
    stepper_turns = abs(thread_lead_mm) / screw_lead_mm * motor_turns_per_screw_turn
    following_acceleration_rad_s2 = spindle_acceleration_rad_s2 * stepper_turns

    Parameters
    ----------
    spindle_acceleration_rad_s2 : float or array [rad/s2]
        How quickly the spindle gains speed, or loses it under its brake.
    thread_lead_mm : Fraction or int [mm]
        Lead of the thread: pitch times starts. Negative for a left-hand thread.
    screw_lead_mm : Fraction or int [mm]
        Lead of the leadscrew.
    motor_turns_per_screw_turn : Fraction or int [turn/turn]
        See `machinelab.leadscrew.screw_drive`.

    Returns
    -------
    float or array [rad/s2]
        Acceleration of the stepper.

    Range
    -----
    Any finite acceleration; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a lead is zero.

    Examples
    --------
    >>> from fractions import Fraction
    >>> following_acceleration_rad_s2(
    ...     30, thread_lead_mm=Fraction(3, 2), screw_lead_mm=3, motor_turns_per_screw_turn=2
    ... )
    30.0

    Source
    ------
    Derived here: the stepper turns as far as lead and gearing ask.
    """
    screw_turns = abs(exact_ratio("thread_lead_mm", thread_lead_mm)) / exact_positive(
        "screw_lead_mm", screw_lead_mm
    )
    gearing = exact_positive("motor_turns_per_screw_turn", motor_turns_per_screw_turn)
    return spindle_acceleration_rad_s2 * float(screw_turns * gearing)
