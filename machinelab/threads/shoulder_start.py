"""The start of a threading pass: getting up to speed, taking up backlash, and why the start never matters.

While screw and spindle stay locked, speed and acceleration change nothing in the lead. Room before the work
is wanted for backlash, for spring and for cutting speed; catching up is wanted only by a controller that
engages the screw while the spindle already turns.
"""

from dataclasses import dataclass

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import not_negative, positive

__all__ = [
    "CatchUp",
    "catch_up",
    "following_lag_mm",
    "lead_in_mm",
    "motor_acceleration_rad_s2",
    "phase_error_mm",
    "spin_up_tail_turns",
    "spin_up_turns",
]


@dataclass(frozen=True)
class CatchUp:
    """How a screw that engages at speed makes up for its own ramp.

    Parameters
    ----------
    catch_up_s : float or array [s]
        From engaging until carriage and spindle are in step.
    catch_up_peak_mm_s : float or array [mm/s]
        Highest speed of the carriage meanwhile.
    deficit_mm : float or array [mm]
        What stays missing for ever if nothing catches up.

    Source
    ------
    See `catch_up`.
    """

    catch_up_s: float
    catch_up_peak_mm_s: float
    deficit_mm: float


def spin_up_turns(speed_rpm, *, spin_up_rad_s2):
    """Turns from standstill to a speed at a steady acceleration: a drive at its current limit.

    Formula
    -------
    spin_up_turns = (pi/30*speed_rpm)**2 / (4*pi*spin_up_rad_s2)

    Parameters
    ----------
    speed_rpm : float or array [rpm]
        Spindle speed in the pass.
    spin_up_rad_s2 : float or array [rad/s2]
        Acceleration: torque left over friction, over inertia.

    Returns
    -------
    float or array [turn]
        Turns.

    Range
    -----
    Acceleration above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the acceleration is not above zero.

    Examples
    --------
    >>> round(spin_up_turns(200, spin_up_rad_s2=20), 4)
    1.7453

    Source
    ------
    Textbook: steady acceleration.
    """
    return (np.pi / 30 * speed_rpm) ** 2 / (4 * np.pi * positive("spin_up_rad_s2", spin_up_rad_s2))


def spin_up_tail_turns(speed_rpm, *, time_s, spin_up_time_s):
    """Turns made in a time by a spindle that nears its speed ever more slowly: a drive at steady voltage.

    Formula
    -------
    short = time_s - spin_up_time_s*(1 - exp(-time_s/spin_up_time_s))
    spin_up_tail_turns = speed_rpm/60 * short

    Parameters
    ----------
    speed_rpm : float or array [rpm]
        Spindle speed that it nears.
    time_s : float or array [s]
        Time since the start.
    spin_up_time_s : float or array [s]
        Time in which it makes 63 % of the speed.

    Returns
    -------
    float or array [turn]
        Turns.

    Range
    -----
    Time constant above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the time constant is not above zero.

    Examples
    --------
    >>> round(float(spin_up_tail_turns(200, time_s=0.9, spin_up_time_s=0.3)), 4)
    2.0498

    Source
    ------
    Textbook: a first-order step, integrated.
    """
    constant_s = positive("spin_up_time_s", spin_up_time_s)
    return speed_rpm / 60 * (time_s + constant_s * np.expm1(-time_s / constant_s))


def motor_acceleration_rad_s2(spin_up_rad_s2, *, thread_lead_mm, screw_lead_mm, motor_turns_per_screw_turn):
    """How quickly the stepper must gain speed while the spindle does.

    Formula
    -------
    geared = abs(thread_lead_mm)/screw_lead_mm * motor_turns_per_screw_turn
    motor_acceleration_rad_s2 = spin_up_rad_s2 * geared

    Parameters
    ----------
    spin_up_rad_s2 : float or array [rad/s2]
        Acceleration of the spindle.
    thread_lead_mm, screw_lead_mm : Fraction or float [mm, mm]
        Leads of thread and leadscrew.
    motor_turns_per_screw_turn : Fraction or float [turn/turn]
        Turns of the stepper for one of the screw.

    Returns
    -------
    float or array [rad/s2]
        A stepper bears thousands, so a pass that starts with the spindle at rest wants no ramp of its own.

    Range
    -----
    Any acceleration, screw lead above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the screw lead is not above zero.

    Examples
    --------
    >>> motor_acceleration_rad_s2(30, thread_lead_mm=1.5, screw_lead_mm=3, motor_turns_per_screw_turn=2)
    30.0

    Source
    ------
    Derived here: the screw is slaved to the spindle.
    """
    ratio = abs(float(thread_lead_mm)) / positive("screw_lead_mm", float(screw_lead_mm))
    return spin_up_rad_s2 * ratio * float(motor_turns_per_screw_turn)


def catch_up(travel_mm_s, *, carriage_mm_s2, highest_travel_mm_s=np.inf) -> CatchUp:
    """How a controller that engages the screw at speed makes good what its ramp lost.

    Formula
    -------
    none: two forms, with and without reaching the highest speed; see the source

    Parameters
    ----------
    travel_mm_s : float or array [mm/s]
        Speed of the carriage in step with the spindle.
    carriage_mm_s2 : float or array [mm/s2]
        What the stepper may do.
    highest_travel_mm_s : float or array [mm/s]
        The fastest that the carriage may go.

    Returns
    -------
    CatchUp
        Time, peak and the deficit.

    Range
    -----
    Speed and acceleration above zero, the highest speed above the speed. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is not above zero, or the highest speed leaves nothing to catch up with.

    Examples
    --------
    >>> found = catch_up(10, carriage_mm_s2=200)
    >>> round(float(found.catch_up_s), 4), round(float(found.catch_up_peak_mm_s), 3), found.deficit_mm
    (0.1207, 17.071, 0.25)

    Source
    ------
    Derived here: the area between the carriage's speed and the spindle's must come to nothing. Unbounded:
    time (1 + sqrt 2) v/a, peak v (1 + 1/sqrt 2). Bounded by v + d: v/a + 2 d/a + (v^2/2a - d^2/a)/d.
    """
    speed = positive("travel_mm_s", travel_mm_s)
    gain = positive("carriage_mm_s2", carriage_mm_s2)
    spare = np.asarray(highest_travel_mm_s, float) - speed
    if np.any(spare <= 0):
        raise RangeError(
            f"highest_travel_mm_s is {np.nanmin(highest_travel_mm_s):g}; it must be above the "
            f"{np.nanmax(speed):g} mm/s of the thread, or the carriage never catches up."
        )
    most = speed / np.sqrt(2)
    over = np.minimum(spare, most)
    time_s = speed / gain + 2 * over / gain + (speed**2 / 2 - over**2) / (gain * over)
    return CatchUp(time_s[()], (speed + over)[()], speed**2 / (2 * gain))


def phase_error_mm(travel_mm_s, *, other_travel_mm_s, carriage_mm_s2):
    """How far two passes lie apart if the ramp is made good by a fixed offset instead of catching up.

    Formula
    -------
    phase_error_mm = (travel_mm_s**2 - other_travel_mm_s**2) / (2*carriage_mm_s2)

    Parameters
    ----------
    travel_mm_s, other_travel_mm_s : float or array [mm/s, mm/s]
        Speed of the carriage in the two passes.
    carriage_mm_s2 : float or array [mm/s2]
        Acceleration of the ramp.

    Returns
    -------
    float or array [mm]
        Distance along the work: a torn flank.

    Range
    -----
    Acceleration above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the acceleration is not above zero.

    Examples
    --------
    >>> phase_error_mm(10, other_travel_mm_s=9, carriage_mm_s2=200)
    0.0475

    Source
    ------
    Derived here: difference of two ramps' deficits.
    """
    gain = positive("carriage_mm_s2", carriage_mm_s2)
    return (travel_mm_s**2 - other_travel_mm_s**2) / (2 * gain)


def lead_in_mm(*, thread_lead_mm, backlash_mm, spring_mm=0.0, spin_up_turns=0.0):
    """Travel of the nut from the start of a pass until the tool may touch the work.

    Formula
    -------
    lead_in_mm = backlash_mm + spring_mm + abs(thread_lead_mm) * (1 + spin_up_turns)

    Parameters
    ----------
    thread_lead_mm : Fraction or float [mm]
        Lead of the thread; one turn of it stays in hand (common practice, no source).
    backlash_mm : float or array [mm]
        Backlash of the carriage; until it is taken up the carriage stands.
    spring_mm : float or array [mm]
        What the force of the cut winds up: force over stiffness.
    spin_up_turns : float or array [turn]
        Turns up to cutting speed, where that is wanted before the tool touches; 0 where it is not.

    Returns
    -------
    float or array [mm]
        Travel of the nut; the tool itself stands so much less the backlash in front of the work.

    Range
    -----
    All from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is negative.

    Examples
    --------
    >>> round(lead_in_mm(thread_lead_mm=1, backlash_mm=0.12, spring_mm=0.02), 2)
    1.14

    Source
    ------
    Derived here; the turn in hand is common practice, no source.
    """
    idle = not_negative("backlash_mm", backlash_mm) + not_negative("spring_mm", spring_mm)
    return idle + abs(float(thread_lead_mm)) * (1 + not_negative("spin_up_turns", spin_up_turns))


def following_lag_mm(torque_share, *, full_step_mm):
    """How far the carriage trails its command while no step is lost.

    Formula
    -------
    following_lag_mm = 2/pi * asin(torque_share) * full_step_mm

    Parameters
    ----------
    torque_share : float or array [1]
        Torque asked of the stepper over the torque at which it falls out of step.
    full_step_mm : float or array [mm]
        Travel of the carriage for one full step of the stepper.

    Returns
    -------
    float or array [mm]
        Lag; at the most one full step, and then the step is lost.

    Range
    -----
    Share from 0 to 1; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the share is outside 0 to 1.

    Examples
    --------
    >>> round(float(following_lag_mm(1.0, full_step_mm=0.0075)), 4)
    0.0075

    Source
    ------
    Textbook: torque of a stepper as the sine of its electrical lag, a quarter of a period to pull-out.
    """
    share = np.asarray(not_negative("torque_share", torque_share), float)
    if np.any(share > 1):
        raise RangeError(
            f"torque_share is {np.nanmax(share):g}: more is asked than the stepper gives, and it loses steps."
        )
    return (2 / np.pi * np.arcsin(share) * (1.0 * not_negative("full_step_mm", full_step_mm)))[()]
