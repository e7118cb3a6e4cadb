"""Power feed by its own knob: feed for each turn, a spindle that sags, turning round, rapid travel.

The finish hangs on the feed for each turn, not on the travel in a minute. A carriage that follows its own
knob keeps its travel while the spindle sags, and the feed for each turn grows. A carriage that follows the
spindle keeps the feed for each turn: that feed is the lead of a very fine thread, see
`machinelab.leadscrew.gearing`.
"""

from dataclasses import dataclass

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import exact_positive, not_negative, positive, whole

__all__ = [
    "DirectionChange",
    "direction_change",
    "feed_per_turn_mm",
    "independent_feed_mm_min",
    "rapid_feed_mm_min",
    "sagged_feed_mm",
    "straight_reversal_mm_min",
]

# Of what the stepper bears when nothing else comes; common practice, no source.
REVERSAL_SHARE = 0.5
RAPID_SHARE = 0.5


@dataclass(frozen=True)
class DirectionChange:
    """What it costs to send the carriage the other way.

    Parameters
    ----------
    overrun_mm : float or array [mm]
        How far the carriage runs on before it stands.
    take_up_s : float or array [s]
        Time in which the screw turns and the carriage does not follow yet.
    standing_s : float or array [s]
        How long the carriage stands; the tool rubs a ring into the work meanwhile.
    reversal_s : float or array [s]
        Time from the command until the carriage runs back at its full feed.
    """

    overrun_mm: float
    take_up_s: float
    standing_s: float
    reversal_s: float


def feed_per_turn_mm(feed_mm_min, *, speed_rpm):
    """How far the tool moves in one turn of the work.

    Formula
    -------
    feed_per_turn_mm = feed_mm_min / speed_rpm

    Parameters
    ----------
    feed_mm_min : float or array [mm/min]
        Travel of the carriage.
    speed_rpm : float or array [rpm]
        Spindle speed under the cut, not the speed before it.

    Returns
    -------
    float or array [mm]
        Feed for each turn.

    Range
    -----
    NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the speed is not above zero.

    Examples
    --------
    >>> feed_per_turn_mm(60, speed_rpm=600)
    0.1

    Source
    ------
    Derived here: travel in a minute over turns in a minute.
    """
    return feed_mm_min / positive("speed_rpm", speed_rpm)


def independent_feed_mm_min(feed_mm, *, speed_rpm):
    """What to set on the feed knob for a wanted feed per turn.

    Formula
    -------
    independent_feed_mm_min = feed_mm * speed_rpm

    Parameters
    ----------
    feed_mm : float or array [mm]
        Wanted feed for each turn.
    speed_rpm : float or array [rpm]
        Spindle speed under the cut.

    Returns
    -------
    float or array [mm/min]
        Travel of the carriage; right at that one speed only.

    Range
    -----
    NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the speed is not above zero.

    Examples
    --------
    >>> independent_feed_mm_min(0.1, speed_rpm=600)
    60.0

    Source
    ------
    Derived here: the feed for each turn, solved for the travel each minute.
    """
    return feed_mm * positive("speed_rpm", speed_rpm)


def sagged_feed_mm(feed_mm, *, sag_share):
    """What becomes of the feed per turn when the spindle sags and the carriage does not know it.

    Formula
    -------
    sagged_feed_mm = feed_mm / (1 - sag_share)

    Parameters
    ----------
    feed_mm : float or array [mm]
        Feed for each turn before the cut.
    sag_share : float or array [1]
        Part of its speed that the spindle loses in the cut.

    Returns
    -------
    float or array [mm]
        Feed for each turn in the cut: a spindle that sags by a tenth feeds a ninth more.

    Range
    -----
    A share from 0 up to, not including, 1; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the share is less than zero, or the spindle would stand.

    Examples
    --------
    >>> round(sagged_feed_mm(0.1, sag_share=0.1), 4)
    0.1111

    Source
    ------
    Derived here: the same travel, fewer turns.
    """
    sag = not_negative("sag_share", sag_share)
    if np.any(np.asarray(sag) >= 1):
        raise RangeError(f"sag_share is {np.nanmax(sag):g}: the spindle would stand; type less than 1.")
    return feed_mm / (1 - sag)


def direction_change(feed_mm_s, *, slowing_mm_s2, set_up_s, resonance_hz, ring_periods, backlash_mm):
    """What it costs to send the carriage the other way: slow down, wait, start up, take up the backlash.

    The driver wants the new direction a moment before the first pulse, and the rotor has to stop ringing,
    or the first steps fall into its swing.

    Formula
    -------
    ramp_s = feed_mm_s / slowing_mm_s2
    result.overrun_mm = feed_mm_s**2 / (2 * slowing_mm_s2)
    in_ramp_s = sqrt(2 * backlash_mm / slowing_mm_s2)
    beyond_s = ramp_s + (backlash_mm - overrun_mm) / feed_mm_s
    result.take_up_s = in_ramp_s if backlash_mm < overrun_mm else beyond_s
    quiet_s = set_up_s + ring_periods / resonance_hz
    result.standing_s = quiet_s + take_up_s
    result.reversal_s = ramp_s + quiet_s + max(ramp_s, take_up_s)

    Parameters
    ----------
    feed_mm_s : float or array [mm/s]
        Travel of the carriage, the same either way.
    slowing_mm_s2 : float or array [mm/s2]
        How quickly it is slowed and started.
    set_up_s : float or array [s]
        How long the driver wants its direction to stand before a pulse; 5 us is common (data sheets).
    resonance_hz : float or array [Hz]
        Natural frequency of the rotor with its load.
    ring_periods : float or array [1]
        Swings to wait for: 2 to 3 (common practice, no source).
    backlash_mm : float or array [mm]
        Lost motion at the carriage.

    Returns
    -------
    DirectionChange
        Overrun, take-up, standing and whole time.

    Range
    -----
    The ramp must be one that the stepper follows, see `machinelab.leadscrew.stepper_start`; NaN in gives
    NaN out.

    Raises
    ------
    RangeError
        If feed, slowing or frequency is not above zero, or another figure is less than zero.

    Examples
    --------
    >>> turned = direction_change(
    ...     10, slowing_mm_s2=200, set_up_s=0, resonance_hz=100, ring_periods=2, backlash_mm=0.09
    ... )
    >>> round(turned.overrun_mm, 3), round(float(turned.standing_s), 3), round(float(turned.reversal_s), 3)
    (0.25, 0.05, 0.12)

    Source
    ------
    Derived here from constant acceleration; the waits are common practice, no source.
    """
    feed, slowing = positive("feed_mm_s", feed_mm_s), positive("slowing_mm_s2", slowing_mm_s2)
    backlash = 1.0 * not_negative("backlash_mm", backlash_mm)
    ramp_s, overrun = feed / slowing, feed**2 / (2 * slowing)
    in_ramp_s = np.sqrt(2 * backlash / slowing)
    take_up_s = np.where(backlash < overrun, in_ramp_s, ramp_s + (backlash - overrun) / feed)
    quiet_s = not_negative("set_up_s", set_up_s) + not_negative("ring_periods", ring_periods) / positive(
        "resonance_hz", resonance_hz
    )
    return DirectionChange(
        overrun_mm=overrun,
        take_up_s=take_up_s,
        standing_s=quiet_s + take_up_s,
        reversal_s=ramp_s + quiet_s + np.maximum(ramp_s, take_up_s),
    )


def straight_reversal_mm_min(start_stop_rate_hz, screw_lead_mm, motor_turns_per_screw_turn, full_steps):
    """Up to which feed the direction may be changed without any ramp.

    Formula
    -------
    stepper_rpm = 60 * start_stop_rate_hz / full_steps
    straight_reversal_mm_min = stepper_rpm / motor_turns_per_screw_turn * screw_lead_mm / 2

    Parameters
    ----------
    start_stop_rate_hz : float or array [Hz]
        Full-step rate at which the loaded stepper starts at once, see `machinelab.leadscrew.stepper_start`.
    screw_lead_mm : Fraction or int [mm]
        Lead of the leadscrew.
    motor_turns_per_screw_turn : Fraction or int [turn/turn]
        Turns of the stepper for one of the screw.
    full_steps : int [step]
        Full steps in a turn of the stepper.

    Returns
    -------
    float or array [mm/min]
        Half the feed that belongs to that rate: turning round is twice the jump of a start.

    Range
    -----
    NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the rate is not above zero, or an exact figure is a rounded decimal or not above zero.

    Examples
    --------
    >>> straight_reversal_mm_min(400, 3, 2, 200)
    90.0

    Source
    ------
    Common practice, no source: no more than half the rate at which it starts.
    """
    stepper_rpm = 60 * positive("start_stop_rate_hz", start_stop_rate_hz) / whole("full_steps", full_steps)
    return REVERSAL_SHARE * stepper_rpm * _travel_mm(screw_lead_mm, motor_turns_per_screw_turn)


def rapid_feed_mm_min(stepper_speed_rpm, screw_lead_mm, motor_turns_per_screw_turn):
    """How fast the carriage may be sent idle along the bed.

    Formula
    -------
    rapid_feed_mm_min = stepper_speed_rpm / motor_turns_per_screw_turn * screw_lead_mm / 2

    Parameters
    ----------
    stepper_speed_rpm : float or array [rpm]
        Speed at which the stepper's torque is just what the friction of the idle carriage takes.
    screw_lead_mm : Fraction or int [mm]
        Lead of the leadscrew.
    motor_turns_per_screw_turn : Fraction or int [turn/turn]
        Turns of the stepper for one of the screw.

    Returns
    -------
    float or array [mm/min]
        Half the feed of that speed: a dry way or a cold morning takes the rest.

    Range
    -----
    Reached by a ramp only; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the speed is less than zero, or an exact figure is a rounded decimal or not above zero.

    Examples
    --------
    >>> rapid_feed_mm_min(800, 3, 2)
    600.0

    Source
    ------
    Common practice, no source: half of where the torque ends.
    """
    return (
        RAPID_SHARE
        * not_negative("stepper_speed_rpm", stepper_speed_rpm)
        * _travel_mm(screw_lead_mm, motor_turns_per_screw_turn)
    )


def _travel_mm(screw_lead_mm, motor_turns_per_screw_turn) -> float:
    """Travel of the carriage for one turn of the stepper."""
    gearing = exact_positive("motor_turns_per_screw_turn", motor_turns_per_screw_turn)
    return float(exact_positive("screw_lead_mm", screw_lead_mm) / gearing)
