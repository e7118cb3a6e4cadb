"""The highest speed that a groove allows, and what would gain most."""

from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import not_negative, positive
from machinelab.threads.shoulder_groove import NEARLY_ALWAYS, groove_turns
from machinelab.threads.shoulder_stop import overtravel_turns, run_on

__all__ = ["GrooveSlopes", "groove_slopes", "highest_speed_rpm"]

_STEP = 1e-4


@dataclass(frozen=True)
class GrooveSlopes:
    """How much wider the groove must be for a little more of each cause.

    Parameters
    ----------
    per_rpm : float or array [mm/rpm]
        For a revolution a minute more.
    per_reaction_second : float or array [mm/s]
        For a second of reaction more.
    per_delay_second : float or array [mm/s]
        For a second more until the brake bites.
    per_brake_share : float or array [mm]
        For a brake whose time constant is twice as long, to first order.
    per_friction_share : float or array [mm]
        For twice the friction, to first order: below zero.

    Source
    ------
    See `groove_slopes`.
    """

    per_rpm: float
    per_reaction_second: float
    per_delay_second: float
    per_brake_share: float
    per_friction_share: float


def groove_slopes(speed_rpm, *, reaction_s, stopping, thread_lead_mm) -> GrooveSlopes:
    """The partial derivatives of the groove that a pass needs.

    Tool half width and clearance count one for one: a millimetre narrower is a millimetre less.

    Formula
    -------
    none: symmetric differences of the turns past the thread, a ten-thousandth to either side

    Parameters
    ----------
    speed_rpm : float or array [rpm]
        Spindle speed in the pass.
    reaction_s : float or array [s]
        From the end of the thread to the stop command.
    stopping : Stopping
        What ends the pass.
    thread_lead_mm : Fraction or float [mm]
        Lead of the thread.

    Returns
    -------
    GrooveSlopes
        The slopes.

    Range
    -----
    Speed above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is out of range.

    Examples
    --------
    >>> from machinelab.threads.shoulder_stop import Stopping
    >>> brake = Stopping(contact_delay_s=0.05, brake_drag_per_s=2.5, coulomb_rad_s2=4.0)
    >>> slopes = groove_slopes(120, reaction_s=0.3, stopping=brake, thread_lead_mm=1.5)
    >>> round(float(slopes.per_reaction_second), 3)
    3.0

    Source
    ------
    Derived here.
    """
    lead = abs(float(thread_lead_mm))
    speed = positive("speed_rpm", speed_rpm)

    def travel(*, rpm=speed, more=0.0, **changed):
        changed_stop = replace(stopping, **changed)
        ran_on = run_on(rpm, stopping=changed_stop).run_on_turns
        return lead * overtravel_turns(rpm, reaction_s=reaction_s + more, run_on_turns=ran_on)

    def braked(time_share):
        return travel(brake_drag_per_s=stopping.brake_drag_per_s / time_share)

    def rubbed(share):
        return travel(**{name: drag * share for name, drag in stopping.drags.items()})

    delay = stopping.contact_delay_s
    return GrooveSlopes(
        (travel(rpm=speed * (1 + _STEP)) - travel(rpm=speed * (1 - _STEP))) / (2 * _STEP * speed),
        (travel(more=_STEP) - travel(more=-_STEP)) / (2 * _STEP),
        # A delay may be zero, so its slope is taken to one side.
        (travel(contact_delay_s=delay + _STEP) - travel()) / _STEP,
        (braked(1 + _STEP) - braked(1 - _STEP)) / (2 * _STEP),
        (rubbed(1 + _STEP) - rubbed(1 - _STEP)) / (2 * _STEP),
    )


def highest_speed_rpm(
    groove_mm,
    *,
    thread_lead_mm,
    tool_half_width_mm=0.0,
    wall_clearance_mm=0.0,
    reaction_s,
    stopping,
    speed_share=1.0,
    clear_share=NEARLY_ALWAYS,
    lowest_speed_rpm=0.0,
    fastest_speed_rpm,
) -> float:
    """The highest spindle speed at which the tool comes to rest clear of the shoulder.

    Formula
    -------
    none: the speed whose turns past the thread just fill the groove, found by SciPy

    Parameters
    ----------
    groove_mm : float [mm]
        Width of the groove, from the last full thread to the wall.
    thread_lead_mm : Fraction or float [mm]
        Lead of the thread.
    tool_half_width_mm, wall_clearance_mm : float [mm, mm]
        Tool from its point to its side next to the shoulder, and air.
    reaction_s : float or array [s]
        From the end of the thread to the stop command; an array holds one for each pass.
    stopping : Stopping
        What ends the pass, or each pass.
    speed_share : float or array [1]
        Speed of each pass over the speed set.
    clear_share : float [1]
        Share of the passes that must be clear; of a single one it is all.
    lowest_speed_rpm : float [rpm]
        The slowest at which the spindle turns steadily.
    fastest_speed_rpm : float [rpm]
        The fastest that is asked about.

    Returns
    -------
    float [rpm]
        Speed; the fastest asked about where the groove allows even that.

    Range
    -----
    Groove wider than tool and clearance. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If tool and clearance fill the groove, even the lowest speed needs more than there is, or a number
        is out of range.

    Examples
    --------
    >>> from machinelab.threads.shoulder_stop import Stopping
    >>> brake = Stopping(brake_drag_per_s=2.5, coulomb_rad_s2=4.0)
    >>> ends = {"reaction_s": 0.3, "stopping": brake, "fastest_speed_rpm": 2000}
    >>> round(highest_speed_rpm(2.5, thread_lead_mm=1, **ends))
    239

    Source
    ------
    Inverse of `machinelab.threads.shoulder_groove.needed_groove_mm`, derived here.
    """
    from scipy.optimize import brentq

    room = float(
        groove_turns(
            groove_mm,
            thread_lead_mm=thread_lead_mm,
            tool_half_width_mm=tool_half_width_mm,
            wall_clearance_mm=wall_clearance_mm,
        )
    )
    if room <= 0:
        raise RangeError(
            f"A groove of {groove_mm:.3g} mm has no room: the tool ({tool_half_width_mm:g} mm beside its "
            f"point) and the clearance ({wall_clearance_mm:g} mm) fill it. Grind the tool narrower on that "
            "side, or turn a wider groove."
        )

    if not 0 < clear_share <= 1:
        raise RangeError(f"clear_share is {clear_share:g}; it must be more than 0 and at most 1.")
    shares = np.asarray(not_negative("speed_share", speed_share), float)

    # The ends are asked for again by the search; each answer takes thousands of draws.
    @cache
    def too_far(speed_rpm):
        speeds = speed_rpm * shares
        past = overtravel_turns(
            speeds, reaction_s=reaction_s, run_on_turns=run_on(speeds, stopping=stopping).run_on_turns
        )
        return float(np.quantile(past, clear_share)) - room

    lowest = not_negative("lowest_speed_rpm", lowest_speed_rpm)
    fastest = positive("fastest_speed_rpm", fastest_speed_rpm)
    if np.isnan(room + lowest + fastest + too_far(fastest)):
        return float("nan")
    if too_far(lowest) > 0:
        raise RangeError(
            f"No feasible speed: even at {lowest:.0f} rpm the tool needs {too_far(lowest) + room:.2f} turns "
            f"to come to rest, and the groove leaves {room:.2f}."
        )
    if too_far(fastest) <= 0:
        return float(fastest)
    return float(brentq(too_far, lowest, fastest, xtol=1e-6, rtol=1e-10))
