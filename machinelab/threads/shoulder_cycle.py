"""One threading pass from end to end, event by event: in, cut, stop, out, back.

The half nut stays closed from the first pass to the last: spindle, encoder and screw stay locked, and the
carriage comes back because the spindle turns backwards. So the tool must be out before the spindle reverses.
"""

from dataclasses import dataclass

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import not_negative, positive
from machinelab.threads.shoulder_start import spin_up_turns
from machinelab.threads.shoulder_stop import run_on

__all__ = ["EVENTS", "PassEvents", "PassWork", "pass_events", "pull_out_mm"]

EVENTS = (
    "tool set to depth",
    "start commanded",
    "backlash taken up",
    "tool meets the work",
    "end of the thread",
    "stop commanded",
    "spindle stands",
    "tool drawn back",
    "spindle reversed",
    "stop commanded on the way back",
    "back at the start",
)
THREAD_END, STANDS = EVENTS.index("end of the thread"), EVENTS.index("spindle stands")
SLOWING_BACK = EVENTS.index("stop commanded on the way back")


@dataclass(frozen=True)
class PassWork:
    """What a pass is made of besides its stop.

    Parameters
    ----------
    thread_length_mm : float [mm]
        From the end of the work to the last full turn.
    lead_in_mm : float [mm]
        Travel of the nut before the tool meets the work, backlash in it.
    backlash_mm : float [mm]
        Backlash of the carriage, taken up before it moves.
    spin_up_rad_s2 : float [rad/s2]
        Acceleration of the spindle.
    return_speed_rpm : float [rpm]
        Spindle speed on the way back.
    infeed_s : float [s]
        Setting the tool to depth and checking.
    retract_s : float [s]
        Drawing the tool back.
    start_delay_s : float [s]
        From a start command until the drive pulls.
    full_step_mm : float [mm]
        Travel of the carriage for one full step of the stepper; NaN where it is not known.
    torque_share : float [1]
        Torque that the cut asks of the stepper over its pull-out torque at that speed; NaN where not known.

    Source
    ------
    See `pass_events`.
    """

    thread_length_mm: float
    lead_in_mm: float
    backlash_mm: float
    spin_up_rad_s2: float
    return_speed_rpm: float
    infeed_s: float
    retract_s: float
    start_delay_s: float
    full_step_mm: float = np.nan
    torque_share: float = np.nan


@dataclass(frozen=True)
class PassEvents:
    """When and where each event of a pass happens, one row an event, in the order of `EVENTS`.

    Parameters
    ----------
    times_s : array [s]
        Since the last pass ended; the last row is the whole cycle.
    angles_turns : array [turn]
        Spindle angle, forward from the start.
    travels_mm : array [mm]
        Carriage, forward from the start: the screw less the backlash.

    Source
    ------
    See `pass_events`.
    """

    times_s: np.ndarray
    angles_turns: np.ndarray
    travels_mm: np.ndarray

    @property
    def cycle_s(self):
        """From one pass to the next."""
        return self.times_s[-1]

    @property
    def overtravel_turns(self):
        """Turns past the end of the thread when the spindle stands."""
        return self.angles_turns[STANDS] - self.angles_turns[THREAD_END]


def pass_events(speed_rpm, *, reaction_s, stopping, thread_lead_mm, work) -> PassEvents:
    """The whole pass in its order, for one pass or for many at once.

    Formula
    -------
    none: the events follow one another; see the source

    Parameters
    ----------
    speed_rpm : float or array [rpm]
        Spindle speed in the cut.
    reaction_s : float or array [s]
        From the end of the thread to the stop command.
    stopping : Stopping
        What ends the pass. Its mean stops the way back too, which a count or a mark on the bed ends.
    thread_lead_mm : Fraction or float [mm]
        Lead of the thread.
    work : PassWork
        What else the pass is made of.

    Returns
    -------
    PassEvents
        Times, spindle angles and carriage travels.

    Range
    -----
    Speeds, acceleration and length of the thread above zero, the rest from zero up. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is out of range, or the way is too short to get up to speed and stop again.

    Examples
    --------
    >>> from machinelab.threads.shoulder_stop import Stopping
    >>> work = PassWork(20, 1.2, 0.12, 60, 100, 3.0, 0.5, 0.1)
    >>> brake = Stopping(brake_drag_per_s=2.5, coulomb_rad_s2=4.0)
    >>> found = pass_events(100, reaction_s=0.3, stopping=brake, thread_lead_mm=1, work=work)
    >>> round(float(found.cycle_s), 2), round(float(found.travels_mm[EVENTS.index("spindle stands")]), 3)
    (31.53, 22.041)

    Source
    ------
    Derived here: a steady spin-up, a steady speed, and the stop of `machinelab.threads.shoulder_stop`.
    """
    lead = positive("thread_lead_mm", abs(float(thread_lead_mm)))
    speed = np.asarray(positive("speed_rpm", speed_rpm), float)
    ending = run_on(speed, stopping=stopping)
    lead_in, backlash = (not_negative(name, getattr(work, name)) for name in ("lead_in_mm", "backlash_mm"))
    end = (positive("thread_length_mm", work.thread_length_mm) + lead_in) / lead
    commanded = end + speed / 60 * reaction_s
    stands = commanded + ending.run_on_turns
    way_out = _Way(speed, work)
    way_out.refuse_too_short(commanded)
    back_speed = np.asarray(positive("return_speed_rpm", work.return_speed_rpm), float)
    back = run_on(back_speed, stopping=stopping.typical)
    way_back = _Way(back_speed, work)
    way_back.refuse_too_short(stands - back.run_on_turns)

    start_s = not_negative("infeed_s", work.infeed_s)
    delay_s = not_negative("start_delay_s", work.start_delay_s)
    taken_up, met = backlash / lead, lead_in / lead
    # From the pulling of the drive on, by angle.
    forward = [taken_up, met, end, commanded]
    reached = [start_s + delay_s + way_out.time_s(turns) for turns in forward]
    stood_s = reached[-1] + ending.run_on_s
    out_s = stood_s + not_negative("retract_s", work.retract_s)
    pulls_s = out_s + delay_s
    slowing_s = pulls_s + way_back.time_s(stands - back.run_on_turns)
    times = [start_s, start_s, *reached, stood_s, out_s, pulls_s, slowing_s, slowing_s + back.run_on_s]
    angles = [0, 0, *forward, stands, stands, stands, back.run_on_turns, 0]
    times, angles = (np.stack(np.broadcast_arrays(*rows)).astype(float) for rows in (times, angles))
    travels = np.maximum(angles * lead - backlash, 0.0)
    # On the way back the screw first crosses the backlash, so the carriage comes back with it taken up.
    travels[SLOWING_BACK:] = angles[SLOWING_BACK:] * lead
    return PassEvents(times, angles, travels)


def pull_out_mm(speed_rpm, *, retract_s, thread_lead_mm):
    """How long a thread runs out if the tool is drawn back from a turning spindle instead of in a groove.

    Formula
    -------
    pull_out_mm = speed_rpm/60 * retract_s * abs(thread_lead_mm)

    Parameters
    ----------
    speed_rpm : float or array [rpm]
        Spindle speed in the pass.
    retract_s : float or array [s]
        From full depth until the tool is clear.
    thread_lead_mm : Fraction or float [mm]
        Lead of the thread.

    Returns
    -------
    float or array [mm]
        Length over which the thread fades. Where it begins scatters with the hand, pass after pass.

    Range
    -----
    Speed and time from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the speed or the time is negative.

    Examples
    --------
    >>> pull_out_mm(60, retract_s=0.5, thread_lead_mm=1.5)
    0.75

    Source
    ------
    Derived here.
    """
    turns_a_second = not_negative("speed_rpm", speed_rpm) / 60
    return turns_a_second * not_negative("retract_s", retract_s) * abs(float(thread_lead_mm))


class _Way:
    """A way at a speed after a steady spin-up."""

    def __init__(self, speed_rpm, work):
        self.speed_rpm = speed_rpm
        self.gain = positive("spin_up_rad_s2", work.spin_up_rad_s2)
        self.up_turns = spin_up_turns(speed_rpm, spin_up_rad_s2=self.gain)

    def time_s(self, turns):
        """Time from the drive's pulling until the spindle has made some turns."""
        rising = np.sqrt(4 * np.pi * np.minimum(turns, self.up_turns) / self.gain)
        return rising + np.maximum(turns - self.up_turns, 0.0) / (self.speed_rpm / 60)

    def refuse_too_short(self, turns) -> None:
        if np.any(self.up_turns > turns):
            raise RangeError(
                f"The spindle needs {np.nanmax(self.up_turns):.3g} turns to get up to "
                f"{np.nanmax(self.speed_rpm):.0f} rpm and the way has only {np.nanmin(turns):.3g} before it "
                "must stop: take a lower speed, or start further back."
            )
