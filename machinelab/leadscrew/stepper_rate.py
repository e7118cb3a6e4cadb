"""How quickly the stepper is stepped: pulses, turns, and the spindle speed at which each of them ends."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import nan

from machinelab.errors import RangeError
from machinelab.ranges import exact_positive, exact_ratio, positive


@dataclass(frozen=True)
class SpindleSpeedLimit:
    """The highest spindle speed that every limit allows, and the limit that sets it.

    Parameters
    ----------
    speed_rpm : float [rpm]
        Highest spindle speed; NaN when no limit is known.
    set_by : str
        The limit that is met first, in words; empty when none is known.
    """

    speed_rpm: float
    set_by: str


def step_rate_hz(speed_rpm, thread_lead_mm, screw_lead_mm, steps_per_screw_turn):
    """How many step pulses each second a thread asks at a spindle speed.

    Formula
    -------
    step_rate_hz = abs(speed_rpm) / 60 * abs(thread_lead_mm) / screw_lead_mm * steps_per_screw_turn

    Parameters
    ----------
    speed_rpm : float or array [rpm]
        Spindle speed, on the way back too: a quicker return asks more pulses.
    thread_lead_mm : Fraction or int [mm]
        Lead of the thread: pitch times starts. Negative for a left-hand thread.
    screw_lead_mm : Fraction or int [mm]
        Lead of the leadscrew.
    steps_per_screw_turn : Fraction or int [step]
        See `machinelab.leadscrew.screw_drive`.

    Returns
    -------
    float or array [Hz]
        Pulses each second.

    Range
    -----
    Any finite speed; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a lead or the steps are a rounded decimal or out of range.

    Examples
    --------
    >>> round(step_rate_hz(100, 1, 3, 3200), 2)
    1777.78

    Source
    ------
    Derived here: turns of the screw for one of the spindle, times the pulses of a turn.
    """
    steps = _screw_turns(thread_lead_mm, screw_lead_mm) * exact_positive(
        "steps_per_screw_turn", steps_per_screw_turn
    )
    return abs(speed_rpm) / 60 * float(steps)


def feed_step_rate_hz(feed_mm_min, screw_lead_mm, steps_per_screw_turn):
    """How many step pulses each second a power feed asks that runs by its own knob.

    Formula
    -------
    feed_step_rate_hz = abs(feed_mm_min) / 60 * steps_per_screw_turn / screw_lead_mm

    Parameters
    ----------
    feed_mm_min : float or array [mm/min]
        Travel of the carriage.
    screw_lead_mm : Fraction or int [mm]
        Lead of the leadscrew.
    steps_per_screw_turn : Fraction or int [step]
        See `machinelab.leadscrew.screw_drive`.

    Returns
    -------
    float or array [Hz]
        Pulses each second.

    Range
    -----
    Any finite feed; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the lead or the steps are a rounded decimal or not above zero.

    Examples
    --------
    >>> round(feed_step_rate_hz(100, 3, 3200), 2)
    1777.78

    Source
    ------
    Derived here: turns of the screw times the pulses of a turn.
    """
    steps_per_mm = exact_positive("steps_per_screw_turn", steps_per_screw_turn) / exact_positive(
        "screw_lead_mm", screw_lead_mm
    )
    return abs(feed_mm_min) / 60 * float(steps_per_mm)


def pulse_rate_limit_hz(pulse_high_s, *, pulse_low_s):
    """The highest pulse rate that leaves a driver's input the time it wants.

    Inputs with an optical isolator want 2.5 to 5 us high and as long low; a metre of cable and a weak feed of
    its lamp bring 100 or 200 kHz on the data sheet down to 80 or 100 (common practice, no source). The
    direction must stand 5 us before the pulse.

    Formula
    -------
    pulse_rate_limit_hz = 1 / (pulse_high_s + pulse_low_s)

    Parameters
    ----------
    pulse_high_s : float or array [s]
        Shortest time for which a pulse must stay.
    pulse_low_s : float or array [s]
        Shortest time between two pulses.

    Returns
    -------
    float or array [Hz]
        Pulses each second not to be passed.

    Range
    -----
    Both above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a time is zero or negative.

    Examples
    --------
    >>> round(pulse_rate_limit_hz(5e-6, pulse_low_s=5e-6))
    100000

    Source
    ------
    Derived here: a pulse and a gap fill one period.
    """
    return 1 / (positive("pulse_high_s", pulse_high_s) + positive("pulse_low_s", pulse_low_s))


def step_speed_limit_rpm(rate_limit_hz, thread_lead_mm, screw_lead_mm, steps_per_screw_turn):
    """The spindle speed at which a thread uses up a limit of the pulse rate.

    Formula
    -------
    steps_per_spindle_turn = abs(thread_lead_mm) / screw_lead_mm * steps_per_screw_turn
    step_speed_limit_rpm = 60 * rate_limit_hz / steps_per_spindle_turn

    Parameters
    ----------
    rate_limit_hz : float or array [Hz]
        The most pulses each second that the controller sends or the driver takes.
    thread_lead_mm : Fraction or int [mm]
        Lead of the thread: pitch times starts. Negative for a left-hand thread.
    screw_lead_mm : Fraction or int [mm]
        Lead of the leadscrew.
    steps_per_screw_turn : Fraction or int [step]
        See `machinelab.leadscrew.screw_drive`.

    Returns
    -------
    float or array [rpm]
        Spindle speed not to be passed in this thread.

    Range
    -----
    A limit above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If an input is out of range, or a lead or the steps are a rounded decimal.

    Examples
    --------
    >>> step_speed_limit_rpm(80_000, 3, 3, 4000)
    1200.0

    Source
    ------
    Derived here: the reverse of `step_rate_hz`.
    """
    turns_a_second = positive("rate_limit_hz", rate_limit_hz) / float(
        exact_positive("steps_per_screw_turn", steps_per_screw_turn)
    )
    return 60 * turns_a_second / float(_screw_turns(thread_lead_mm, screw_lead_mm))


def stepper_speed_rpm(speed_rpm, thread_lead_mm, screw_lead_mm, motor_turns_per_screw_turn):
    """How fast the stepper turns in a thread at a spindle speed.

    Formula
    -------
    screw_speed_rpm = abs(speed_rpm) * abs(thread_lead_mm) / screw_lead_mm
    stepper_speed_rpm = screw_speed_rpm * motor_turns_per_screw_turn

    Parameters
    ----------
    speed_rpm : float or array [rpm]
        Spindle speed.
    thread_lead_mm : Fraction or int [mm]
        Lead of the thread: pitch times starts. Negative for a left-hand thread.
    screw_lead_mm : Fraction or int [mm]
        Lead of the leadscrew.
    motor_turns_per_screw_turn : Fraction or int [turn/turn]
        See `machinelab.leadscrew.screw_drive`.

    Returns
    -------
    float or array [rpm]
        Speed of the stepper, without its direction.

    Range
    -----
    Any finite speed; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a lead or the ratio is a rounded decimal or out of range.

    Examples
    --------
    >>> round(stepper_speed_rpm(80, 1, 3, 2), 2)
    53.33

    Source
    ------
    Derived here: the screw turns as far as the thread's lead asks, the stepper as far as its gearing asks.
    """
    return abs(speed_rpm) * _stepper_turns(thread_lead_mm, screw_lead_mm, motor_turns_per_screw_turn)


def spindle_speed_of_stepper_rpm(
    stepper_speed_rpm, thread_lead_mm, screw_lead_mm, motor_turns_per_screw_turn
):
    """The spindle speed at which a thread turns the stepper at a given speed.

    Formula
    -------
    stepper_turns = abs(thread_lead_mm) / screw_lead_mm * motor_turns_per_screw_turn
    spindle_speed_of_stepper_rpm = stepper_speed_rpm / stepper_turns

    Parameters
    ----------
    stepper_speed_rpm : float or array [rpm]
        Speed of the stepper: a limit, or the edge of a band to keep out of.
    thread_lead_mm : Fraction or int [mm]
        Lead of the thread: pitch times starts. Negative for a left-hand thread.
    screw_lead_mm : Fraction or int [mm]
        Lead of the leadscrew.
    motor_turns_per_screw_turn : Fraction or int [turn/turn]
        See `machinelab.leadscrew.screw_drive`.

    Returns
    -------
    float or array [rpm]
        Spindle speed in this thread.

    Range
    -----
    Any finite speed; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a lead or the ratio is a rounded decimal or out of range.

    Examples
    --------
    >>> round(spindle_speed_of_stepper_rpm(52.7, 1, 3, 2), 1)
    79.1

    Source
    ------
    Derived here: the reverse of `stepper_speed_rpm`.
    """
    return stepper_speed_rpm / _stepper_turns(thread_lead_mm, screw_lead_mm, motor_turns_per_screw_turn)


def lowest_limit(limits) -> SpindleSpeedLimit:
    """Which of several limits of the spindle speed is met first.

    Formula
    -------
    none: the smallest of the limits that are known.

    Parameters
    ----------
    limits : mapping of str to float
        Spindle speed by what sets it, in words; NaN for a limit that is not known.

    Returns
    -------
    SpindleSpeedLimit
        The lowest speed and its words; of equal ones the first.

    Range
    -----
    Limits of zero or more; those that are NaN are left out, and where none is left the speed is NaN.

    Raises
    ------
    RangeError
        If what is given is no mapping of words to speeds, or a speed is negative.

    Examples
    --------
    >>> lowest_limit({"pulses of the controller": 1200.0, "torque of the stepper": 310.0}).set_by
    'torque of the stepper'

    Source
    ------
    Derived here.
    """
    if not isinstance(limits, Mapping):
        raise RangeError(f"limits is {limits!r}; give spindle speeds by what sets them.")
    if any(limit < 0 for limit in limits.values()):
        raise RangeError("A limit of the spindle speed is below zero; give it without its direction.")
    known = {words: float(limit) for words, limit in limits.items() if limit == limit}
    binding = min(known, key=known.get, default="")
    return SpindleSpeedLimit(known.get(binding, nan), binding)


def _screw_turns(thread_lead_mm, screw_lead_mm):
    """Turns of the leadscrew for one of the spindle, exact."""
    return abs(exact_ratio("thread_lead_mm", thread_lead_mm)) / exact_positive("screw_lead_mm", screw_lead_mm)


def _stepper_turns(thread_lead_mm, screw_lead_mm, motor_turns_per_screw_turn) -> float:
    gearing = exact_positive("motor_turns_per_screw_turn", motor_turns_per_screw_turn)
    return float(_screw_turns(thread_lead_mm, screw_lead_mm) * gearing)
