"""The groove at the shoulder: how wide for a run-out in turns, how often a pass would hit the wall."""

from dataclasses import dataclass

import numpy as np

from machinelab import tables
from machinelab.errors import RangeError
from machinelab.ranges import not_negative, positive

__all__ = [
    "GrooveSpread",
    "crash_chance",
    "groove_sd_mm",
    "groove_spread",
    "groove_turns",
    "needed_groove_mm",
    "standard_groove_mm",
]

OFTEN, NEARLY_ALWAYS = 0.95, 0.99


@dataclass(frozen=True)
class GrooveSpread:
    """How wide a groove many passes would have asked for.

    Parameters
    ----------
    mean_mm : float [mm]
        Their mean. It is no groove to cut: half of the passes need more.
    sd_mm : float [mm]
        Their standard deviation.
    in_95_mm : float [mm]
        Wide enough for 95 passes in 100.
    in_99_mm : float [mm]
        Wide enough for 99 passes in 100.
    widest_mm : float [mm]
        The widest asked for.

    Source
    ------
    See `groove_spread`.
    """

    mean_mm: float
    sd_mm: float
    in_95_mm: float
    in_99_mm: float
    widest_mm: float


def needed_groove_mm(overtravel_turns, *, thread_lead_mm, tool_half_width_mm=0.0, wall_clearance_mm=0.0):
    """The groove that lets the tool come to rest clear of the shoulder.

    The room counts from the last full thread to the wall: turns past the thread, the tool from its point to
    the side next to the wall, and air.

    Formula
    -------
    travel = abs(thread_lead_mm) * max(overtravel_turns, 0)
    needed_groove_mm = travel + tool_half_width_mm + wall_clearance_mm

    Parameters
    ----------
    overtravel_turns : float or array [turn]
        Turns past the end of the thread.
    thread_lead_mm : Fraction or float [mm]
        Lead of the thread: pitch times starts; the sign is its hand.
    tool_half_width_mm : float or array [mm]
        From the tool's point to its side next to the shoulder.
    wall_clearance_mm : float or array [mm]
        Air left between tool and wall; 0.25 to 0.5 mm is common practice, no source.

    Returns
    -------
    float or array [mm]
        Width of the groove; a pass that ends early still needs room for the tool.

    Range
    -----
    Half width and clearance from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the half width or the clearance is negative.

    Examples
    --------
    >>> round(float(needed_groove_mm(2.064, thread_lead_mm=1, tool_half_width_mm=0.5)), 3)
    2.564

    Source
    ------
    Derived here.
    """
    beside = not_negative("tool_half_width_mm", tool_half_width_mm)
    air = not_negative("wall_clearance_mm", wall_clearance_mm)
    return abs(float(thread_lead_mm)) * np.maximum(overtravel_turns, 0) + beside + air


def groove_turns(groove_mm, *, thread_lead_mm, tool_half_width_mm=0.0, wall_clearance_mm=0.0):
    """Turns that a groove leaves for reaction and run-on; the inverse of `needed_groove_mm`.

    Formula
    -------
    groove_turns = (groove_mm - tool_half_width_mm - wall_clearance_mm) / abs(thread_lead_mm)

    Parameters
    ----------
    groove_mm : float or array [mm]
        Width of the groove, from the last full thread to the wall.
    thread_lead_mm : Fraction or float [mm]
        Lead of the thread.
    tool_half_width_mm : float or array [mm]
        From the tool's point to its side next to the shoulder.
    wall_clearance_mm : float or array [mm]
        Air left between tool and wall.

    Returns
    -------
    float or array [turn]
        Turns; below zero where the tool alone is too wide.

    Range
    -----
    Groove, half width and clearance from zero up, lead other than zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a width is negative.

    Examples
    --------
    >>> groove_turns(2.5, thread_lead_mm=1, tool_half_width_mm=0.5, wall_clearance_mm=0.25)
    1.75

    Source
    ------
    Derived here.
    """
    room = not_negative("groove_mm", groove_mm) - not_negative("tool_half_width_mm", tool_half_width_mm)
    lead = positive("thread_lead_mm", abs(float(thread_lead_mm)))
    return (room - not_negative("wall_clearance_mm", wall_clearance_mm)) / lead


def groove_sd_mm(
    speed_rpm,
    *,
    thread_lead_mm,
    reaction_s,
    reaction_sd_s,
    run_on_sd_turns,
    turns_per_rpm,
    speed_sd_rpm,
):
    """How much the groove that is needed scatters from pass to pass, to first order.

    Formula
    -------
    by_hand = speed_rpm/60 * reaction_sd_s
    by_speed = (reaction_s/60 + turns_per_rpm) * speed_sd_rpm
    groove_sd_mm = abs(thread_lead_mm) * sqrt(by_hand**2 + run_on_sd_turns**2 + by_speed**2)

    Parameters
    ----------
    speed_rpm : float or array [rpm]
        Spindle speed in the pass.
    thread_lead_mm : Fraction or float [mm]
        Lead of the thread.
    reaction_s, reaction_sd_s : float or array [s, s]
        Reaction and its standard deviation.
    run_on_sd_turns : float or array [turn]
        Standard deviation of the run-on at one speed.
    turns_per_rpm : float or array [turn/rpm]
        How much the run-on grows with the speed.
    speed_sd_rpm : float or array [rpm]
        Standard deviation of the speed from pass to pass.

    Returns
    -------
    float or array [mm]
        Standard deviation. The run-on bends upward with the speed, so quantiles want `groove_spread`.

    Range
    -----
    Speed and deviations from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the speed or a deviation is negative.

    Examples
    --------
    >>> pass_to_pass = {"reaction_sd_s": 0.06, "run_on_sd_turns": 0.05, "speed_sd_rpm": 4.0}
    >>> slopes = {"reaction_s": 0.3, "turns_per_rpm": 0.006}
    >>> round(float(groove_sd_mm(200, thread_lead_mm=1, **pass_to_pass, **slopes)), 3)
    0.211

    Source
    ------
    Derived here: the law of propagation of uncertainty, JCGM 100:2008, 5.1.2 (from memory).
    """
    by_hand = not_negative("speed_rpm", speed_rpm) / 60 * not_negative("reaction_sd_s", reaction_sd_s)
    by_speed = (reaction_s / 60 + turns_per_rpm) * not_negative("speed_sd_rpm", speed_sd_rpm)
    run_on = not_negative("run_on_sd_turns", run_on_sd_turns)
    return abs(float(thread_lead_mm)) * np.sqrt(by_hand**2 + run_on**2 + by_speed**2)


def groove_spread(grooves_mm) -> GrooveSpread:
    """Sum up the grooves that many passes would have asked for.

    Formula
    -------
    none: mean, standard deviation and quantiles of a sample

    Parameters
    ----------
    grooves_mm : array [mm]
        Groove needed in each pass, from `needed_groove_mm`.

    Returns
    -------
    GrooveSpread
        The spread.

    Range
    -----
    One pass at least; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If there is no pass.

    Examples
    --------
    >>> round(groove_spread([2.0, 2.2, 2.4]).mean_mm, 2)
    2.2

    Source
    ------
    Quantiles by linear interpolation of the order statistics (NumPy's usual rule).
    """
    grooves = np.atleast_1d(np.asarray(grooves_mm, float))
    if grooves.size == 0:
        raise RangeError("grooves_mm is empty; simulate one pass at least.")
    often, nearly_always = np.quantile(grooves, (OFTEN, NEARLY_ALWAYS))
    sd = grooves.std(ddof=1) if grooves.size > 1 else 0.0
    return GrooveSpread(
        float(grooves.mean()), float(sd), float(often), float(nearly_always), float(grooves.max())
    )


def crash_chance(crash_share, *, thread_passes):
    """The chance of hitting the wall at least once in a whole thread.

    Formula
    -------
    crash_chance = 1 - (1 - crash_share)**thread_passes

    Parameters
    ----------
    crash_share : float or array [1]
        Share of single passes that hit the wall.
    thread_passes : int or array [1]
        Passes that the thread takes, spring passes too.

    Returns
    -------
    float or array [1]
        Chance; one pass in a hundred spoils one thread of eleven passes in ten.

    Range
    -----
    Share from 0 to 1, passes from one up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the share is outside 0 to 1.

    Examples
    --------
    >>> round(float(crash_chance(0.01, thread_passes=11)), 3)
    0.105

    Source
    ------
    Derived here: passes that are independent of one another.
    """
    share = np.asarray(not_negative("crash_share", crash_share), float)
    if np.any(share > 1):
        raise RangeError(f"crash_share is {np.nanmax(share):g}; a share is from 0 to 1.")
    # In logarithms, so that a share of one in a billion is not lost beside one.
    with np.errstate(divide="ignore"):
        return -np.expm1(positive("thread_passes", thread_passes) * np.log1p(-share))[()]


def standard_groove_mm(pitch_mm, *, groove="regular"):
    """The groove that drawings ask for at the end of an external thread.

    Formula
    -------
    none: pitches from the table ``thread_grooves``

    Parameters
    ----------
    pitch_mm : Fraction or float or array [mm]
        Pitch of the thread.
    groove : str
        "regular" or "short".

    Returns
    -------
    float or array [mm]
        Widest groove of that kind; written in pitches it is the same for every thread.

    Range
    -----
    Pitch above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the pitch is not above zero, or there is no such groove.

    Examples
    --------
    >>> float(standard_groove_mm(1.5))
    5.25

    Source
    ------
    DIN 76-1, external threads, from memory, not re-read: table ``thread_grooves``.
    """
    rows = {row["groove"]: row for row in tables.read("thread_grooves")}
    if groove not in rows:
        raise RangeError(f"There is no groove {groove!r}; there are: {', '.join(rows)}.")
    pitch = np.asarray(positive("pitch_mm", pitch_mm), float)[()]
    return float(rows[groove]["pitches"]) * pitch
