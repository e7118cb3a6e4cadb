"""The spindle encoder: its counts in a turn, how quickly they come, and how finely they tell the speed.

A line of the encoder's disc gives four counts, one for each edge of its two channels, and the belt to the
spindle multiplies them again: 600 lines are not 600 counts, and a turn of the spindle need not give a whole
number of them.
"""

from fractions import Fraction

import numpy as np

from machinelab.ranges import exact_positive, positive, whole

EDGES_PER_LINE = 4


def encoder_turns_per_spindle_turn(spindle_teeth, encoder_teeth):
    """How many turns the encoder makes for one turn of the spindle.

    Formula
    -------
    encoder_turns_per_spindle_turn = spindle_teeth / encoder_teeth

    Parameters
    ----------
    spindle_teeth : int [tooth]
        Teeth of the pulley on the spindle.
    encoder_teeth : int [tooth]
        Teeth of the pulley on the encoder.

    Returns
    -------
    Fraction [turn/turn]
        More than one when the encoder turns faster than the spindle.

    Range
    -----
    Whole numbers of teeth, at least one each; an encoder on the spindle itself is one to one.

    Raises
    ------
    RangeError
        If a number of teeth is not a whole number above zero.

    Examples
    --------
    >>> encoder_turns_per_spindle_turn(36, 32)
    Fraction(9, 8)

    Source
    ------
    Derived here: equal numbers of teeth pass both pulleys.
    """
    return Fraction(whole("spindle_teeth", spindle_teeth), whole("encoder_teeth", encoder_teeth))


def counts_per_spindle_turn(lines, spindle_teeth, encoder_teeth) -> Fraction:
    """How many counts the encoder gives in one turn of the spindle.

    Formula
    -------
    counts_per_spindle_turn = 4 * lines * spindle_teeth / encoder_teeth

    Parameters
    ----------
    lines : int [line]
        Lines on the encoder's disc, each good for four edges. Data sheets also say pulses per revolution.
    spindle_teeth : int [tooth]
        Teeth of the pulley on the spindle.
    encoder_teeth : int [tooth]
        Teeth of the pulley on the encoder.

    Returns
    -------
    Fraction [count]
        Counts, exact; it need not be a whole number.

    Range
    -----
    Whole numbers, at least one each.

    Raises
    ------
    RangeError
        If an input is not a whole number above zero.

    Examples
    --------
    >>> counts_per_spindle_turn(600, 36, 32)
    Fraction(2700, 1)

    Source
    ------
    Derived here: four edges a line, times the turns of the encoder.
    """
    return (
        EDGES_PER_LINE * whole("lines", lines) * encoder_turns_per_spindle_turn(spindle_teeth, encoder_teeth)
    )


def edge_rate_hz(speed_rpm, counts_per_spindle_turn):
    """How many encoder edges arrive each second at a spindle speed.

    Formula
    -------
    edge_rate_hz = speed_rpm / 60 * counts_per_spindle_turn

    Parameters
    ----------
    speed_rpm : float or array [rpm]
        Spindle speed; the sign is the direction.
    counts_per_spindle_turn : Fraction or int [count]
        Edges of both channels for one turn of the spindle.

    Returns
    -------
    float or array [Hz]
        Edges each second, what a counter or an interrupt must keep up with.

    Range
    -----
    Any finite speed; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the counts are not an exact number above zero.

    Examples
    --------
    >>> edge_rate_hz(2000, 2700)
    90000.0

    Source
    ------
    Derived here: edges a turn times turns a second.
    """
    return speed_rpm / 60 * float(exact_positive("counts_per_spindle_turn", counts_per_spindle_turn))


def counting_resolution_rpm(counts_per_spindle_turn, gate_s):
    """The step in which a speed moves when counts are summed over a gate time.

    Formula
    -------
    counting_resolution_rpm = 60 / (counts_per_spindle_turn * gate_s)

    Parameters
    ----------
    counts_per_spindle_turn : Fraction or int [count]
        Edges of both channels for one turn of the spindle.
    gate_s : float or array [s]
        Time over which the counts are summed.

    Returns
    -------
    float or array [rpm]
        Speed of one count more or less, the same at every speed. The price of a long gate is a late reading.

    Range
    -----
    Both above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If an input is zero or negative, or the counts are not exact.

    Examples
    --------
    >>> counting_resolution_rpm(4000, 0.1)
    0.15

    Source
    ------
    Derived here: one count is one part of a turn.
    """
    counts = float(exact_positive("counts_per_spindle_turn", counts_per_spindle_turn))
    return 60 / (counts * positive("gate_s", gate_s))


def period_resolution_rpm(speed_rpm, counts_per_spindle_turn, clock_hz, edges=1):
    """The step in which a speed moves when the time from edge to edge is measured with a clock.

    Time between edges of one kind (every fourth, or a whole turn): single edges of cheap encoders stand up
    to half an edge out of place.

    Formula
    -------
    period_resolution_rpm = speed_rpm**2 * counts_per_spindle_turn / (60 * clock_hz * edges)

    Parameters
    ----------
    speed_rpm : float or array [rpm]
        Spindle speed.
    counts_per_spindle_turn : Fraction or int [count]
        Edges of both channels for one turn of the spindle.
    clock_hz : float or array [Hz]
        Clock with which the time is measured.
    edges : int or array [count]
        Edges from start to stop of the measurement.

    Returns
    -------
    float or array [rpm]
        Speed of one clock tick more or less. It grows as the square of the speed.

    Range
    -----
    Clock and edges above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the clock or the edges are zero or negative, or the counts are not exact.

    Examples
    --------
    >>> period_resolution_rpm(600, 4000, 1e6)
    24.0
    >>> period_resolution_rpm(600, 4000, 1e6, edges=4000)
    0.006

    Source
    ------
    Derived here: speed is the reciprocal of a time that is known to one tick.
    """
    counts = float(exact_positive("counts_per_spindle_turn", counts_per_spindle_turn))
    ticks = positive("clock_hz", clock_hz) * positive("edges", edges)
    return speed_rpm**2 * counts / (60 * ticks)


def crossover_speed_rpm(counts_per_spindle_turn, clock_hz, gate_s):
    """The speed at which counting over a gate and timing one edge are equally fine.

    Formula
    -------
    crossover_speed_rpm = 60 / counts_per_spindle_turn * sqrt(clock_hz / gate_s)

    Parameters
    ----------
    counts_per_spindle_turn : Fraction or int [count]
        Edges of both channels for one turn of the spindle.
    clock_hz : float or array [Hz]
        Clock with which the time from edge to edge is measured.
    gate_s : float or array [s]
        Time over which counts are summed.

    Returns
    -------
    float or array [rpm]
        Below it time the edges, above it count them.

    Range
    -----
    All above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If an input is zero or negative, or the counts are not exact.

    Examples
    --------
    >>> round(float(crossover_speed_rpm(4000, 1e6, 0.1)), 2)
    47.43

    Source
    ------
    Derived here: the two resolutions set equal.
    """
    counts = float(exact_positive("counts_per_spindle_turn", counts_per_spindle_turn))
    return 60 / counts * np.sqrt(positive("clock_hz", clock_hz) / positive("gate_s", gate_s))


def speed_resolution_rpm(speed_rpm, counts_per_spindle_turn, gate_s, clock_hz):
    """The finest step in which a speed can be told, by counting over a gate or by timing one edge.

    Formula
    -------
    by_counting = 60 / (counts_per_spindle_turn * gate_s)
    by_period = speed_rpm**2 * counts_per_spindle_turn / (60 * clock_hz)
    speed_resolution_rpm = min(by_counting, by_period)

    Parameters
    ----------
    speed_rpm : float or array [rpm]
        Spindle speed.
    counts_per_spindle_turn : Fraction or int [count]
        Edges of both channels for one turn of the spindle.
    gate_s : float or array [s]
        Time over which counts are summed.
    clock_hz : float or array [Hz]
        Clock with which the time from edge to edge is measured.

    Returns
    -------
    float or array [rpm]
        The finer of the two; where they cross, see `crossover_speed_rpm`.

    Range
    -----
    Gate and clock above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If an input is zero or negative, or the counts are not exact.

    Examples
    --------
    >>> float(speed_resolution_rpm(600, 4000, 0.1, 1e6))
    0.15

    Source
    ------
    Derived here, see `counting_resolution_rpm` and `period_resolution_rpm`.
    """
    return np.minimum(
        counting_resolution_rpm(counts_per_spindle_turn, gate_s),
        period_resolution_rpm(speed_rpm, counts_per_spindle_turn, clock_hz),
    )
