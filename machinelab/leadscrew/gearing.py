"""Electronic gearing: from the counts of the spindle encoder to the steps of the leadscrew, exactly.

The screw's position is a function of the count, never a running sum: the same count always gives the same
step, however often the spindle has been reversed in between. Every ratio is a fraction of whole numbers.
"""

from fractions import Fraction
from math import isfinite

import numpy as np

from machinelab.errors import RangeError
from machinelab.leadscrew.geartrain import GearTrain, change_gears
from machinelab.ranges import exact, exact_positive, exact_ratio, whole

__all__ = [
    "GearTrain",
    "change_gears",
    "nearest_ratio",
    "pitch_error_ppm",
    "screw_steps",
    "steps_per_count",
]

_LARGEST_INT64 = 2**63 - 1


def steps_per_count(thread_lead_mm, screw_lead_mm, steps_per_screw_turn, counts_per_spindle_turn):
    """The gear ratio: how many steps the stepper must make for each encoder count.

    Formula
    -------
    steps_per_count = thread_lead_mm / screw_lead_mm * steps_per_screw_turn / counts_per_spindle_turn

    Parameters
    ----------
    thread_lead_mm : Fraction or int [mm]
        Lead of the thread: pitch times starts. Negative for a left-hand thread.
    screw_lead_mm : Fraction or int [mm]
        Lead of the leadscrew.
    steps_per_screw_turn : Fraction or int [step]
        See `machinelab.leadscrew.screw_drive`.
    counts_per_spindle_turn : Fraction or int [count]
        Edges of both encoder channels in one turn of the spindle, belt included.

    Returns
    -------
    Fraction [step/count]
        The exact ratio in lowest terms; its two whole numbers are what the controller must hold.

    Range
    -----
    The thread's lead may be negative but not zero; the others are above zero.

    Raises
    ------
    RangeError
        If an input is a rounded decimal, is zero, or has the wrong sign.

    Examples
    --------
    A 20 tpi thread with a 3 mm screw: after cancelling, the 127 of the inch stays.

    >>> steps_per_count(Fraction(127, 100), 3, 3200, 4000)
    Fraction(127, 375)

    Source
    ------
    Derived here: both sides travel one lead for each turn of the spindle.
    """
    screw_turns = exact_ratio("thread_lead_mm", thread_lead_mm) / exact_positive(
        "screw_lead_mm", screw_lead_mm
    )
    steps = screw_turns * exact_positive("steps_per_screw_turn", steps_per_screw_turn)
    return steps / exact_positive("counts_per_spindle_turn", counts_per_spindle_turn)


def nearest_ratio(ratio, max_numerator, max_denominator):
    """The fraction nearest to a ratio whose two whole numbers the controller can hold.

    A limit on the denominator alone is not enough: asked for 40 e within 1000 it hands back 91443/841.
    Of two fractions equally near, the one with the smaller denominator is taken, then the smaller one.

    Formula
    -------
    none: a search down the tree of fractions, whole runs of equal turnings at a time.

    Parameters
    ----------
    ratio : Fraction, int or float [1]
        The ratio wanted; a float is taken at its exact binary value. Negative for a left-hand thread.
    max_numerator, max_denominator : int [1]
        The largest whole numbers allowed above and below the line.

    Returns
    -------
    Fraction [step/count]
        The nearest fraction within both limits; the ratio itself when it fits. Never zero.

    Range
    -----
    Any finite ratio but zero; both limits at least one.

    Raises
    ------
    RangeError
        If the ratio is zero, missing or not finite, or a limit is not a whole number above zero.

    Examples
    --------
    >>> nearest_ratio(Fraction(48, 127), 100, 100)
    Fraction(31, 82)
    >>> nearest_ratio(3.141592653589793, 400, 200)
    Fraction(355, 113)

    Source
    ------
    Stern-Brocot tree (textbook number theory; from memory); both limits at once derived here.
    """
    limits = whole("max_numerator", max_numerator), whole("max_denominator", max_denominator)
    wanted = exact_ratio("ratio", _at_its_binary_value("ratio", ratio))
    hand, size = (1, wanted) if wanted > 0 else (-1, -wanted)
    if size.numerator <= limits[0] and size.denominator <= limits[1]:
        return wanted
    nearest = min(_neighbours(size, limits), key=lambda end: (abs(end - size), end.denominator, end))
    return hand * nearest


def pitch_error_ppm(used, wanted) -> float:
    """How far a thread comes out wrong when a nearby ratio, lead or gear train is used.

    Formula
    -------
    pitch_error_ppm = 1000000 * (used / wanted - 1)

    Parameters
    ----------
    used : Fraction, int or float [1]
        What the machine will turn: a ratio, a lead or a train; any unit, the same for both.
    wanted : Fraction, int or float [1]
        What it should turn.

    Returns
    -------
    float [ppm]
        Parts in a million; 1 ppm is one micrometre in a metre. Positive when the thread comes out long.

    Range
    -----
    Anything but a wanted zero. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If what is wanted is zero, or one of the two is infinite.

    Examples
    --------
    >>> round(pitch_error_ppm(Fraction(80, 63), Fraction(127, 100)), 3)
    -124.984

    Source
    ------
    Derived here: the definition of a relative error.
    """
    if used != used or wanted != wanted:
        return float("nan")
    wanted = exact_ratio("wanted", _at_its_binary_value("wanted", wanted))
    used = exact("used", _at_its_binary_value("used", used))
    return float(1_000_000 * (used - wanted) / wanted)


def screw_steps(count, ratio):
    """The step on which the screw stands when the encoder stands at a count.

    The nearest step, a half rounded up. As a function of the count it returns to the same step after any
    number of reversals, and the screw is never more than half a step from its true place.

    Formula
    -------
    screw_steps = floor(ratio * count + 1/2)

    Parameters
    ----------
    count : int or array of int [count]
        Encoder count since the start of the thread; negative counts are below the start.
    ratio : Fraction or int [1]
        See `steps_per_count`.

    Returns
    -------
    int or int64 array [step]
        The step number, of the same shape as the count.

    Range
    -----
    Whole counts of any size and sign, as long as the step number fits 64 bits; the arithmetic is exact.

    Raises
    ------
    RangeError
        If a count is not whole, the ratio is not exact, or a step number does not fit 64 bits.

    Examples
    --------
    >>> screw_steps(np.arange(-6, 7), Fraction(2, 5)).tolist()
    [-2, -2, -2, -1, -1, 0, 0, 0, 1, 1, 2, 2, 2]

    Source
    ------
    Derived here; the rounding is floor((2 p c + q) / (2 q)) for the ratio p/q and the count c.
    """
    counts = _whole_counts(count)
    ratio = exact_ratio("ratio", ratio)
    p, q = ratio.numerator, ratio.denominator
    largest = max(abs(int(counts.min())), abs(int(counts.max()))) if counts.size else 0
    if largest * abs(p) // q >= _LARGEST_INT64:
        raise RangeError(f"count {largest} would be step {largest * abs(p) // q}, more than 64 bits hold.")
    # Whole runs of q counts are exactly p steps each; only the rest is rounded, so the products stay small.
    fits = max(largest, (largest // q + 1) * abs(p), (2 * abs(p) + 1) * q) <= _LARGEST_INT64
    counts = counts.astype(np.int64 if fits else object)
    steps = counts // q * p + (2 * p * (counts % q) + q) // (2 * q)
    return np.asarray(steps, dtype=np.int64) if counts.ndim else int(steps)


def _whole_counts(count) -> np.ndarray:
    try:
        counts = np.asarray(count)
    except ValueError:  # rows of different lengths
        counts = np.array(None)
    if counts.size and counts.dtype.kind not in "iu" and not all(type(one) is int for one in counts.flat):
        raise RangeError("count is not a whole number; type encoder counts without a decimal point.")
    return counts


def _at_its_binary_value(name: str, value):
    """Return a float as the fraction it holds; leave exact numbers as they are."""
    if not isinstance(value, float | np.floating):
        return value
    if not isfinite(value):
        raise RangeError(f"{name} is {value}; type a finite number.")
    return Fraction(float(value))


def _neighbours(wanted: Fraction, limits: tuple[int, int]) -> list[Fraction]:
    """Return the one or two fractions around a ratio with none between them that keeps both limits."""
    n, d = wanted.numerator, wanted.denominator
    ends = [(0, 1), (1, 0)]  # below and above, as (numerator, denominator)
    side = 0
    while all(low + high <= limit for low, high, limit in zip(*ends, limits, strict=True)):
        near, far = ends[side], ends[1 - side]
        run = abs(n * near[1] - d * near[0]) // abs(n * far[1] - d * far[0])
        room = [(limit - at) // step for at, step, limit in zip(near, far, limits, strict=True) if step]
        run = min(run, *room)
        ends[side] = (near[0] + run * far[0], near[1] + run * far[1])
        side = 1 - side
    return [Fraction(*end) for end in ends if 0 not in end]
