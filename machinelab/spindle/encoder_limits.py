"""How fast the spindle may turn before the encoder, its receiver or its counter no longer keep up."""

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import exact_positive, positive
from machinelab.spindle.encoder import EDGES_PER_LINE, edge_rate_hz

# A receiver passes a pulse that stays for three of its filter's clocks: common practice, no source.
FILTER_CLOCKS = 3

# Edges of cheap encoders stand up to 45 of their 90 electrical degrees out of place: from memory.
SHORTEST_EDGE_SHARE = 0.5


def channel_rate_hz(speed_rpm, counts_per_spindle_turn):
    """How many pulses each of the two channels gives each second at a spindle speed.

    Formula
    -------
    channel_rate_hz = speed_rpm / 60 * counts_per_spindle_turn / 4

    Parameters
    ----------
    speed_rpm : float or array [rpm]
        Spindle speed; the sign is the direction.
    counts_per_spindle_turn : Fraction or int [count]
        Edges of both channels for one turn of the spindle.

    Returns
    -------
    float or array [Hz]
        Pulses each second, what the encoder's data sheet limits.

    Range
    -----
    Any finite speed; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the counts are not an exact number above zero.

    Examples
    --------
    >>> channel_rate_hz(2000, 2700)
    22500.0

    Source
    ------
    Derived here: one pulse of a channel is four edges of both.
    """
    return edge_rate_hz(speed_rpm, counts_per_spindle_turn) / EDGES_PER_LINE


def channel_speed_limit_rpm(channel_limit_hz, counts_per_spindle_turn):
    """The spindle speed at which a channel of the encoder reaches the limit on its data sheet.

    Formula
    -------
    channel_speed_limit_rpm = 60 * 4 * channel_limit_hz / counts_per_spindle_turn

    Parameters
    ----------
    channel_limit_hz : float or array [Hz]
        Highest frequency of one channel.
    counts_per_spindle_turn : Fraction or int [count]
        Edges of both channels for one turn of the spindle.

    Returns
    -------
    float or array [rpm]
        Spindle speed not to be passed.

    Range
    -----
    Both above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If an input is zero or negative, or the counts are not exact.

    Examples
    --------
    >>> channel_speed_limit_rpm(100_000, 4000)
    6000.0

    Source
    ------
    Derived here: the reverse of `channel_rate_hz`.
    """
    edges_a_second = EDGES_PER_LINE * positive("channel_limit_hz", channel_limit_hz)
    return 60 * edges_a_second / _counts(counts_per_spindle_turn)


def filter_speed_limit_rpm(filter_clock_hz, counts_per_spindle_turn, filter_clocks=FILTER_CLOCKS):
    """The spindle speed at which the receiver's noise filter begins to swallow whole pulses.

    A pulse of a channel lasts two edges of the pair.

    Formula
    -------
    filter_speed_limit_rpm = 120 * filter_clock_hz / (filter_clocks * counts_per_spindle_turn)

    Parameters
    ----------
    filter_clock_hz : float or array [Hz]
        Clock of the filter.
    counts_per_spindle_turn : Fraction or int [count]
        Edges of both channels for one turn of the spindle.
    filter_clocks : float or array [1]
        Clocks that a pulse must last; three by default (common practice, no source).

    Returns
    -------
    float or array [rpm]
        Spindle speed not to be reached.

    Range
    -----
    All above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If an input is zero or negative, or the counts are not exact.

    Examples
    --------
    >>> filter_speed_limit_rpm(500_000, 4000)
    5000.0

    Source
    ------
    Derived here: a pulse is half the period of its channel, for evenly spaced edges.
    """
    pulses_a_second = positive("filter_clock_hz", filter_clock_hz) / positive("filter_clocks", filter_clocks)
    return 120 * pulses_a_second / _counts(counts_per_spindle_turn)


def sampling_speed_limit_rpm(sample_hz, counts_per_spindle_turn, edge_share=SHORTEST_EDGE_SHARE):
    """The spindle speed above which a program that looks at the channels in turn loses counts.

    A channel pair that is looked at too seldom does not fall silent: it loses counts, or counts backwards.

    Formula
    -------
    sampling_speed_limit_rpm = 60 * sample_hz * edge_share / counts_per_spindle_turn

    Parameters
    ----------
    sample_hz : float or array [Hz]
        How often both channels are looked at, each second, at the worst.
    counts_per_spindle_turn : Fraction or int [count]
        Edges of both channels for one turn of the spindle.
    edge_share : float or array [1]
        Shortest time between edges over the average time; 0.5 for a cheap encoder (from memory).

    Returns
    -------
    float or array [rpm]
        Spindle speed not to be reached.

    Range
    -----
    A share above zero and at most one; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If an input is zero or negative, the share is more than one, or the counts are not exact.

    Examples
    --------
    >>> sampling_speed_limit_rpm(50_000, 4000)
    375.0

    Source
    ------
    Derived here: every state of the pair must be seen at least once.
    """
    if np.any(np.greater(positive("edge_share", edge_share), 1)):
        raise RangeError(f"edge_share is {edge_share}; the shortest edge is at most the average one, type 1.")
    return 60 * positive("sample_hz", sample_hz) * edge_share / _counts(counts_per_spindle_turn)


def clocks_per_edge(clock_hz, edge_rate_hz):
    """How many clock cycles a processor has for each encoder edge.

    Formula
    -------
    clocks_per_edge = clock_hz / edge_rate_hz

    Parameters
    ----------
    clock_hz : float or array [Hz]
        Clock of the processor.
    edge_rate_hz : float or array [Hz]
        Edges each second, see `machinelab.spindle.encoder.edge_rate_hz`.

    Returns
    -------
    float or array [1]
        Cycles for an edge. A hundred or so is too few for an interrupt: use a counter made in hardware.

    Range
    -----
    Both above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If an input is zero or negative.

    Examples
    --------
    >>> round(clocks_per_edge(16e6, 133_333.33), 1)
    120.0

    Source
    ------
    Derived here: cycles a second over edges a second.
    """
    return positive("clock_hz", clock_hz) / positive("edge_rate_hz", edge_rate_hz)


def _counts(counts_per_spindle_turn) -> float:
    return float(exact_positive("counts_per_spindle_turn", counts_per_spindle_turn))
