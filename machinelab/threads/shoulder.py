"""The threading pass up to a shoulder: how wide a groove it takes, and how quickly it may be cut.

The door to the pass as a whole. Its parts stand beside it: the start in `shoulder_start`, the stop in
`shoulder_stop`, the hand in `operator`, what differs from pass to pass in `shoulder_draws`, the groove in
`shoulder_groove`, the order of events in `shoulder_cycle`, the heat in `shoulder_heat`.
"""

from dataclasses import dataclass

import numpy as np

from machinelab.threads.shoulder_cycle import pass_events
from machinelab.threads.shoulder_groove import (
    GrooveSpread,
    crash_chance,
    groove_spread,
    groove_turns,
    needed_groove_mm,
)
from machinelab.threads.shoulder_heat import PassHeat, pass_heat
from machinelab.threads.shoulder_speed import highest_speed_rpm
from machinelab.threads.shoulder_start import following_lag_mm

__all__ = ["ShoulderJob", "ThreadingPass", "highest_speed_rpm", "passes"]


@dataclass(frozen=True)
class ShoulderJob:
    """The thread, its groove and the tool.

    Parameters
    ----------
    thread_lead_mm : Fraction or float [mm]
        Lead of the thread; the sign is its hand.
    groove_mm : float [mm]
        Width of the groove from the last full thread to the wall; NaN where none is drawn yet.
    tool_half_width_mm : float [mm]
        From the tool's point to its side next to the shoulder.
    wall_clearance_mm : float [mm]
        Air to be left between tool and wall.
    thread_passes : int [1]
        Passes that the thread takes, spring passes too.

    Source
    ------
    See `passes`.
    """

    thread_lead_mm: float
    groove_mm: float
    tool_half_width_mm: float
    wall_clearance_mm: float
    thread_passes: int

    @property
    def room_turns(self):
        """Turns past the thread after which the tool touches the wall, clearance used up."""
        return groove_turns(
            self.groove_mm, thread_lead_mm=self.thread_lead_mm, tool_half_width_mm=self.tool_half_width_mm
        )


@dataclass(frozen=True)
class ThreadingPass:
    """Many threading passes up to a shoulder, summed up.

    Parameters
    ----------
    overtravel_turns : array [turn]
        Turns past the end of the thread, pass by pass; early ones below zero.
    grooves_mm : array [mm]
        Groove that each pass would have needed, clearance in it.
    groove_mm : GrooveSpread [mm]
        Their mean, spread and quantiles.
    crash_share : float [1]
        Share of passes in which the tool meets the wall; NaN without a groove.
    crash_chance : float [1]
        Chance of meeting it at least once in the whole thread.
    early_share : float [1]
        Share of passes that end before the end of the thread.
    cycle_s : float [s]
        Mean time from one pass to the next.
    thread_s : float [s]
        Time for the whole thread.
    following_error_mm : float [mm]
        How far the carriage trails its command in the cut; NaN where the stepper is not known.
    heat : PassHeat or None
        What the brake gives off; None for a machine without one.

    Source
    ------
    See `passes`.
    """

    overtravel_turns: np.ndarray
    grooves_mm: np.ndarray
    groove_mm: GrooveSpread
    crash_share: float
    crash_chance: float
    early_share: float
    cycle_s: float
    thread_s: float
    following_error_mm: float
    heat: PassHeat | None


def passes(speed_rpm, *, reaction_s, stopping, job, work, circuit=None) -> ThreadingPass:
    """Simulate threading passes up to a shoulder, all at once.

    A pass is: tool in, spindle up, backlash taken up, cut, stop commanded, contact, brake and friction,
    standstill, tool out, and only then the spindle reversed. Give arrays for speed, reaction and stopping
    (see `machinelab.threads.operator` and `machinelab.threads.shoulder_draws`) to let them differ.

    Formula
    -------
    none: the events of each pass in order, then quantiles over the passes

    Parameters
    ----------
    speed_rpm : float or array [rpm]
        Spindle speed of each pass.
    reaction_s : float or array [s]
        From the end of the thread to the stop command; below zero for early.
    stopping : Stopping
        What ends each pass.
    job : ShoulderJob
        Thread, groove and tool.
    work : PassWork
        What else a pass is made of.
    circuit : BrakeCircuit or None
        For the heat of the brake; None for a machine without one.

    Returns
    -------
    ThreadingPass
        Groove, chance of a crash, time and heat. The lead is none of it: while no step and no count is
        lost, neither speed nor reaction changes it.

    Range
    -----
    Speeds above zero. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is out of range, or the way is too short to get up to speed.

    Examples
    --------
    >>> from machinelab.threads.shoulder_cycle import PassWork
    >>> from machinelab.threads.shoulder_stop import Stopping
    >>> found = passes(
    ...     100,
    ...     reaction_s=np.array([0.25, 0.30, 0.35]),
    ...     stopping=Stopping(brake_drag_per_s=2.5, coulomb_rad_s2=4.0),
    ...     job=ShoulderJob(1, 2.0, 0.5, 0.3, 11),
    ...     work=PassWork(20, 1.2, 0.12, 60, 100, 3.0, 0.5, 0.1),
    ... )
    >>> round(found.groove_mm.mean_mm, 3), found.crash_share
    (1.761, 0.0)

    Source
    ------
    Derived here; the tests integrate passes count by count and by an ODE solver.
    """
    events = pass_events(
        speed_rpm, reaction_s=reaction_s, stopping=stopping, thread_lead_mm=job.thread_lead_mm, work=work
    )
    past = np.atleast_1d(events.overtravel_turns)
    grooves = needed_groove_mm(
        past,
        thread_lead_mm=job.thread_lead_mm,
        tool_half_width_mm=job.tool_half_width_mm,
        wall_clearance_mm=job.wall_clearance_mm,
    )
    cycle_s = float(np.mean(events.cycle_s))
    crashes = float(np.mean(past > job.room_turns)) if np.isfinite(job.groove_mm) else np.nan
    heat = None
    if circuit is not None:
        heat = pass_heat(
            np.mean(speed_rpm),
            return_speed_rpm=work.return_speed_rpm,
            cycle_s=cycle_s,
            stopping=stopping.typical,
            circuit=circuit,
        )
    return ThreadingPass(
        overtravel_turns=past,
        grooves_mm=grooves,
        groove_mm=groove_spread(grooves),
        crash_share=crashes,
        crash_chance=float(crash_chance(crashes, thread_passes=job.thread_passes)),
        early_share=float(np.mean(past < 0)),
        cycle_s=cycle_s,
        thread_s=cycle_s * job.thread_passes,
        following_error_mm=float(following_lag_mm(work.torque_share, full_step_mm=work.full_step_mm)),
        heat=heat,
    )
