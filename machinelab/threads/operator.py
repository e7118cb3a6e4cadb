"""The hand on the switch: how reactions scatter, from habit or from a person's own stops.

A person who waits for the end of the thread and then acts is late by a reaction time. One who watches the
tool come up to a line acts about when it gets there, now early, now late. Own stops outrank both.
"""

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import not_negative, positive, whole
from machinelab.threads.shoulder_stop import run_on

__all__ = [
    "anticipating_reactions_s",
    "own_reactions_s",
    "reactions_of_stops_s",
    "surprised_reactions_s",
]

# With fewer stops than this a person's own spread is a guess; common practice, no source.
FEWEST_STOPS = 10


def surprised_reactions_s(chance, *, draws, reaction_s, reaction_spread):
    """Reactions of a hand that acts once the end of the thread is seen, pass after pass.

    Formula
    -------
    none: log-normal numbers, reaction_s their median, reaction_spread the deviation of their logarithm

    Parameters
    ----------
    chance : numpy.random.Generator
        Where the random numbers come from.
    draws : int [1]
        How many.
    reaction_s : float [s]
        Median. 0.2 s at best (a plain signal, read as excerpts), 0.3 to 0.5 s with a decision and the
        travel of a switch (common practice, no source).
    reaction_spread : float [1]
        About 0.2 (common practice, no source).

    Returns
    -------
    array [s]
        Always above zero: nobody reacts before the signal.

    Range
    -----
    Median above zero, spread from zero up.

    Raises
    ------
    RangeError
        If a number is out of range.

    Examples
    --------
    >>> drawn = surprised_reactions_s(
    ...     np.random.default_rng(1), draws=10_000, reaction_s=0.3, reaction_spread=0.2
    ... )
    >>> round(float(np.median(drawn)), 2)
    0.3

    Source
    ------
    Log-normal reaction times: common practice, no source.
    """
    median = np.log(positive("reaction_s", reaction_s))
    return chance.lognormal(median, not_negative("reaction_spread", reaction_spread), whole("draws", draws))


def anticipating_reactions_s(chance, *, draws, reaction_s=0.0, reaction_sd_s):
    """Reactions of a hand that moves with the tool and aims to act just as it reaches the line.

    Formula
    -------
    none: normal numbers, reaction_s their mean, reaction_sd_s their deviation

    Parameters
    ----------
    chance : numpy.random.Generator
        Where the random numbers come from.
    draws : int [1]
        How many.
    reaction_s : float [s]
        Mean; about zero.
    reaction_sd_s : float [s]
        0.05 to 0.08 s (from memory).

    Returns
    -------
    array [s]
        Early ones are below zero: then the last turns of the thread are not cut in that pass.

    Range
    -----
    Deviation from zero up.

    Raises
    ------
    RangeError
        If the deviation is negative.

    Examples
    --------
    >>> drawn = anticipating_reactions_s(np.random.default_rng(1), draws=10_000, reaction_sd_s=0.06)
    >>> round(float(np.mean(drawn < 0)), 1)
    0.5

    Source
    ------
    Timing of a seen arrival, from memory.
    """
    return chance.normal(reaction_s, not_negative("reaction_sd_s", reaction_sd_s), whole("draws", draws))


def reactions_of_stops_s(overtravel_turns, *, speed_rpm, stopping):
    """The reactions that stops on scrap tell, once the machine's own run-on is taken off.

    Formula
    -------
    none: the turns past the mark less those of the run-on, over the turns a second

    Parameters
    ----------
    overtravel_turns : array [turn]
        Turns past the mark of each stop; early ones below zero.
    speed_rpm : float [rpm]
        Spindle speed at which the stops were made.
    stopping : Stopping
        What ended them.

    Returns
    -------
    array [s]
        A reaction for each stop. The scatter of brake and speed is in it too, so it errs to the wide side.

    Range
    -----
    Speed above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the speed is not above zero.

    Examples
    --------
    >>> from machinelab.threads.shoulder_stop import Stopping
    >>> stopping = Stopping(brake_drag_per_s=2.5, coulomb_rad_s2=4.0)
    >>> [
    ...     round(float(one), 3)
    ...     for one in reactions_of_stops_s([2.0639, 2.3972], speed_rpm=200, stopping=stopping)
    ... ]
    [0.3, 0.4]

    Source
    ------
    Inverse of `machinelab.threads.shoulder_stop.overtravel_turns`.
    """
    turns_a_second = positive("speed_rpm", speed_rpm) / 60
    own_turns = run_on(speed_rpm, stopping=stopping).run_on_turns
    return (np.asarray(overtravel_turns, float) - own_turns) / turns_a_second


def own_reactions_s(chance, *, draws, own_stops_s):
    """Reactions drawn from a person's own stops.

    Formula
    -------
    none: one of the stops at random and a normal number of Silverman's width beside it

    Parameters
    ----------
    chance : numpy.random.Generator
        Where the random numbers come from.
    draws : int [1]
        How many.
    own_stops_s : array [s]
        The person's own reactions, twenty of them at best. The slowest of twenty is as likely as not to be
        passed by one in thirty; so the last per cent rests on the shape of the curve, not on the stops.

    Returns
    -------
    array [s]
        Reactions.

    Range
    -----
    Ten stops at least; missing ones (NaN) are left out.

    Raises
    ------
    RangeError
        If there are fewer.

    Examples
    --------
    >>> own = [0.21, 0.25, 0.28, 0.30, 0.31, 0.33, 0.35, 0.36, 0.40, 0.47]
    >>> drawn = own_reactions_s(np.random.default_rng(1), draws=10_000, own_stops_s=own)
    >>> round(float(np.mean(drawn)), 2)
    0.33

    Source
    ------
    Smoothed bootstrap, Efron and Tibshirani, "An Introduction to the Bootstrap", 1993, from memory; width by
    Silverman, "Density Estimation", 1986, from memory.
    """
    stops = np.asarray(own_stops_s, float)
    stops = stops[~np.isnan(stops)]
    if stops.size < FEWEST_STOPS:
        raise RangeError(
            f"There are {stops.size} stops; make {FEWEST_STOPS} at least, better twenty, before they stand "
            "for your hand."
        )
    quarters = np.subtract(*np.quantile(stops, (0.75, 0.25))) / 1.349
    narrow = min(stops.std(ddof=1), quarters) if quarters > 0 else stops.std(ddof=1)
    width = 0.9 * narrow * stops.size**-0.2
    wanted = whole("draws", draws)
    return chance.choice(stops, wanted) + chance.normal(0.0, width, wanted)
