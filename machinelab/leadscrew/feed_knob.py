"""The knob of a power feed: which feed it sets where, and how coarse its steps are at the slow end.

A knob is read by a converter in whole counts. On a straight scale each count is the same travel, so at a slow
feed one count is a large part of it, and the feed jumps to and fro between two counts. On a scale of equal
ratios each count is the same part of the feed everywhere. Either way one or two counts of hysteresis and a
filter of 50 to 100 ms keep it still (common practice, no source), and a dead band at the bottom makes
nought nought.
"""

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import not_negative, positive, whole

__all__ = [
    "even_knob_mm_min",
    "even_knob_step_mm_min",
    "even_knob_step_share",
    "ratio_knob_mm_min",
    "ratio_knob_step_share",
]


def even_knob_mm_min(turned_share, *, fastest_mm_min, dead_band_share):
    """Which feed a knob with an even scale sets.

    Formula
    -------
    even_knob_mm_min = fastest_mm_min * max(0, (turned_share - dead_band_share) / (1 - dead_band_share))

    Parameters
    ----------
    turned_share : float or array [1]
        How far the knob is turned up: 0 to 1.
    fastest_mm_min : float or array [mm/min]
        Feed with the knob fully up.
    dead_band_share : float or array [1]
        Part of its way at the bottom in which the carriage stands.

    Returns
    -------
    float or array [mm/min]
        Travel of the carriage.

    Range
    -----
    Shares from 0 to 1, the dead band less than 1; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a share lies outside, or the fastest feed is not above zero.

    Examples
    --------
    >>> round(float(even_knob_mm_min(0.55, fastest_mm_min=500, dead_band_share=0.1)), 6)
    250.0

    Source
    ------
    Derived here: a straight line from the end of the dead band.
    """
    way = _way(turned_share, dead_band_share)
    return positive("fastest_mm_min", fastest_mm_min) * np.maximum(0, way)


def ratio_knob_mm_min(turned_share, *, slowest_mm_min, fastest_mm_min, dead_band_share):
    """Which feed a knob with a scale of equal ratios sets.

    Formula
    -------
    way = (turned_share - dead_band_share) / (1 - dead_band_share)
    ratio_knob_mm_min = slowest_mm_min * (fastest_mm_min / slowest_mm_min)**way if way > 0 else 0

    Parameters
    ----------
    turned_share : float or array [1]
        How far the knob is turned up: 0 to 1.
    slowest_mm_min : float or array [mm/min]
        Feed just above the dead band.
    fastest_mm_min : float or array [mm/min]
        Feed with the knob fully up.
    dead_band_share : float or array [1]
        Part of its way at the bottom in which the carriage stands.

    Returns
    -------
    float or array [mm/min]
        Travel of the carriage.

    Range
    -----
    Shares from 0 to 1, the dead band less than 1; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a share lies outside, or a feed is not above zero.

    Examples
    --------
    >>> round(float(ratio_knob_mm_min(0.5, slowest_mm_min=5, fastest_mm_min=500, dead_band_share=0)), 1)
    50.0

    Source
    ------
    Derived here: equal turns multiply the feed equally.
    """
    way = np.asarray(_way(turned_share, dead_band_share))
    slowest = positive("slowest_mm_min", slowest_mm_min)
    feed = slowest * (positive("fastest_mm_min", fastest_mm_min) / slowest) ** way
    return np.where(way <= 0, 0.0, feed)


def even_knob_step_mm_min(fastest_mm_min, *, knob_bits):
    """By how much one count of the converter changes the feed on an even scale.

    Formula
    -------
    even_knob_step_mm_min = fastest_mm_min / (2**knob_bits - 1)

    Parameters
    ----------
    fastest_mm_min : float or array [mm/min]
        Feed with the knob fully up.
    knob_bits : int [1]
        Bits of the converter that reads the knob; 10 is common, 12 is better.

    Returns
    -------
    float or array [mm/min]
        Step from count to count.

    Range
    -----
    One bit and more; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the feed is not above zero or the bits are no whole number.

    Examples
    --------
    >>> round(even_knob_step_mm_min(500, knob_bits=10), 4)
    0.4888

    Source
    ------
    Derived here: the whole scale over its steps.
    """
    return positive("fastest_mm_min", fastest_mm_min) / _steps(knob_bits)


def even_knob_step_share(feed_mm_min, *, fastest_mm_min, knob_bits):
    """By which part of itself one count changes a feed on an even scale.

    Formula
    -------
    even_knob_step_share = fastest_mm_min / (2**knob_bits - 1) / feed_mm_min

    Parameters
    ----------
    feed_mm_min : float or array [mm/min]
        The feed at which it is asked.
    fastest_mm_min : float or array [mm/min]
        Feed with the knob fully up.
    knob_bits : int [1]
        Bits of the converter that reads the knob.

    Returns
    -------
    float or array [1]
        Part of the feed; above some hundredths the finish shows it.

    Range
    -----
    NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a feed is not above zero or the bits are no whole number.

    Examples
    --------
    >>> round(even_knob_step_share(10, fastest_mm_min=500, knob_bits=10), 4)
    0.0489

    Source
    ------
    Derived here: the step over the feed.
    """
    step = even_knob_step_mm_min(fastest_mm_min, knob_bits=knob_bits)
    return step / positive("feed_mm_min", feed_mm_min)


def ratio_knob_step_share(slowest_mm_min, *, fastest_mm_min, knob_bits):
    """By which part of itself one count changes any feed on a scale of equal ratios.

    Formula
    -------
    ratio_knob_step_share = (fastest_mm_min / slowest_mm_min)**(1 / (2**knob_bits - 1)) - 1

    Parameters
    ----------
    slowest_mm_min : float or array [mm/min]
        Feed at the low end.
    fastest_mm_min : float or array [mm/min]
        Feed with the knob fully up.
    knob_bits : int [1]
        Bits of the converter that reads the knob.

    Returns
    -------
    float or array [1]
        Part of the feed, the same everywhere.

    Range
    -----
    NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a feed is not above zero or the bits are no whole number.

    Examples
    --------
    >>> round(float(ratio_knob_step_share(5, fastest_mm_min=500, knob_bits=10)), 4)
    0.0045

    Source
    ------
    Derived here: the whole ratio, shared out equally among the steps.
    """
    whole_ratio = positive("fastest_mm_min", fastest_mm_min) / positive("slowest_mm_min", slowest_mm_min)
    return whole_ratio ** (1 / _steps(knob_bits)) - 1


def _steps(knob_bits) -> int:
    return 2 ** whole("knob_bits", knob_bits) - 1


def _way(turned_share, dead_band_share):
    """How far the knob stands between the end of its dead band and its top."""
    turned, dead = (
        not_negative("turned_share", turned_share),
        not_negative("dead_band_share", dead_band_share),
    )
    if np.any(np.asarray(turned) > 1):
        raise RangeError(f"turned_share is {np.nanmax(turned):g}; a knob fully up is 1.")
    if np.any(np.asarray(dead) >= 1):
        raise RangeError(f"dead_band_share is {np.nanmax(dead):g}; type less than 1.")
    return (turned - dead) / (1 - dead)
