"""A disc of marks under a mains lamp: a check of the speed that needs no instrument.

The lamp flashes twice in each swing of the mains. A disc whose marks move on by whole steps between two
flashes seems to stand still. A neon or fluorescent lamp without electronics flashes well, a filament lamp
weakly, most LED lamps not at all. The mains itself is true to 0.1 or 0.2 % (from memory): no check is better.
"""

from fractions import Fraction

from machinelab.ranges import exact_positive, positive, whole


def strobe_marks(standing_speed_rpm, *, mains_frequency_hz) -> Fraction:
    """How many marks a disc needs to seem to stand still at a speed.

    Formula
    -------
    strobe_marks = 60 * 2 * mains_frequency_hz / standing_speed_rpm

    Parameters
    ----------
    standing_speed_rpm : Fraction or int [rpm]
        Speed at which the marks are to stand.
    mains_frequency_hz : Fraction or int [Hz]
        50 or 60; the lamp flashes twice as often.

    Returns
    -------
    Fraction [1]
        Only a whole number can be drawn.

    Range
    -----
    Exact numbers above zero.

    Raises
    ------
    RangeError
        If a number is not exact or not above zero.

    Examples
    --------
    >>> strobe_marks(300, mains_frequency_hz=50)
    Fraction(20, 1)

    Source
    ------
    Derived here: one mark on for each flash. A 33 1/3 rpm disc for 50 Hz has 180 marks (from memory).
    """
    flashes_hz = 2 * exact_positive("mains_frequency_hz", mains_frequency_hz)
    return 60 * flashes_hz / exact_positive("standing_speed_rpm", standing_speed_rpm)


def strobe_speed_rpm(disc_marks, *, mains_frequency_hz, steps_on=1) -> Fraction:
    """Speed at which a disc seems to stand still.

    Formula
    -------
    strobe_speed_rpm = 60 * 2 * mains_frequency_hz * steps_on / disc_marks

    Parameters
    ----------
    disc_marks : int [1]
        Marks on the disc, evenly spaced.
    mains_frequency_hz : Fraction or int [Hz]
        50 or 60.
    steps_on : int [1]
        Marks by which the disc moves on between two flashes: 1 for the lowest speed.

    Returns
    -------
    Fraction [rpm]
        The disc stands still just as well at twice and three times its lowest speed: know roughly how fast
        the spindle turns before you trust it.

    Range
    -----
    Whole numbers, at least one; exact frequency above zero.

    Raises
    ------
    RangeError
        If a number is not exact or out of range.

    Examples
    --------
    >>> strobe_speed_rpm(6, mains_frequency_hz=60)
    Fraction(1200, 1)
    >>> strobe_speed_rpm(6, mains_frequency_hz=60, steps_on=2)
    Fraction(2400, 1)

    Source
    ------
    Inverse of `strobe_marks`.
    """
    flashes_hz = 2 * exact_positive("mains_frequency_hz", mains_frequency_hz)
    return 60 * flashes_hz * whole("steps_on", steps_on) / whole("disc_marks", disc_marks)


def strobe_drift_rpm(drift_s, *, disc_marks):
    """How far the speed is off when the marks creep: forward if it turns too fast, backward if too slowly.

    Formula
    -------
    strobe_drift_rpm = 60 / (disc_marks * drift_s)

    Parameters
    ----------
    drift_s : float or array [s]
        Time in which the marks creep on by one mark.
    disc_marks : int [1]
        Marks on the disc.

    Returns
    -------
    float or array [rpm]
        Difference from the speed at which they stand.

    Range
    -----
    Time above zero, at least one mark; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is out of range.

    Examples
    --------
    >>> strobe_drift_rpm(10, disc_marks=6)
    1.0

    Source
    ------
    Derived here: one mark is one part of a turn.
    """
    return 60 / (whole("disc_marks", disc_marks) * positive("drift_s", drift_s))


def strobe_speeds_rpm(disc_marks, *, mains_frequency_hz, highest_speed_rpm) -> tuple[Fraction, ...]:
    """Every speed up to a highest at which a disc seems to stand still, the lowest first.

    Formula
    -------
    none: `strobe_speed_rpm` for one step on, two, three and so on

    Parameters
    ----------
    disc_marks : int [1]
        Marks on the disc.
    mains_frequency_hz : Fraction or int [Hz]
        50 or 60.
    highest_speed_rpm : float [rpm]
        The highest speed of the spindle.

    Returns
    -------
    tuple of Fraction [rpm]
        Empty where even the lowest is above the highest speed.

    Range
    -----
    As `strobe_speed_rpm`.

    Raises
    ------
    RangeError
        If a number is out of range.

    Examples
    --------
    >>> [int(speed) for speed in strobe_speeds_rpm(20, mains_frequency_hz=50, highest_speed_rpm=1000)]
    [300, 600, 900]

    Source
    ------
    Derived here.
    """
    lowest = strobe_speed_rpm(disc_marks, mains_frequency_hz=mains_frequency_hz)
    steps = int(positive("highest_speed_rpm", highest_speed_rpm) / lowest)
    return tuple(lowest * step for step in range(1, steps + 1))
