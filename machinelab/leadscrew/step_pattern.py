"""How the steps of the leadscrew follow the counts: rounding, repetition, and what to be wary of."""

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from machinelab.leadscrew.gearing import screw_steps
from machinelab.ranges import exact_positive, exact_ratio, whole

# Derived here, see `ratio_cautions`.
SMOOTH_RATIO = Fraction(1, 2)
LARGEST_RATIO = Fraction(1)
SMOOTH_MICROSTEPS = 8
INCH_PRIME = 127


@dataclass(frozen=True)
class RatioCaution:
    """One thing to be wary of in a gear ratio.

    Parameters
    ----------
    concern : str
        ``bursts``, ``uneven steps``, ``coarse microsteps`` or ``inch and metric``.
    found : Fraction [1]
        The figure that gave rise to it.
    limit : Fraction [1]
        The figure it was held against.
    advice : str
        What it means and what to do.
    """

    concern: str
    found: Fraction
    limit: Fraction
    advice: str

    def __str__(self) -> str:
        return f"{self.concern}: {self.advice}"


def rounding_error_steps(count, ratio):
    """How far the screw stands from its true place because steps are whole.

    Formula
    -------
    rounding_error_steps = floor(ratio * count + 1/2) - ratio * count

    Parameters
    ----------
    count : int or array of int [count]
        Encoder count since the start of the thread.
    ratio : Fraction or int [1]
        See `machinelab.leadscrew.gearing.steps_per_count`.

    Returns
    -------
    float or array [step]
        Never more than half a step either way, and with a mean of nothing: the pitch is not touched.

    Range
    -----
    As `machinelab.leadscrew.gearing.screw_steps`.

    Raises
    ------
    RangeError
        If a count is not whole or the ratio is not exact.

    Examples
    --------
    >>> rounding_error_steps([0, 1, 2, 3], Fraction(2, 5)).tolist()
    [0.0, -0.4, 0.2, -0.2]

    Source
    ------
    Derived here from the rounding law.
    """
    ratio = exact_ratio("ratio", ratio)
    p, q = ratio.numerator, ratio.denominator
    # The rounding repeats every q counts, so the small remainder serves; whole numbers keep it exact.
    rest = np.asarray(count).astype(object) % q
    steps = np.asarray(screw_steps(rest, ratio)).astype(object)
    return np.asarray((steps * q - rest * p) / q, dtype=float)[()]


def pattern_frequency_hz(speed_rpm, counts_per_spindle_turn, ratio):
    """How often the pattern of long and short step intervals repeats each second.

    Formula
    -------
    pattern_frequency_hz = abs(speed_rpm) / 60 * counts_per_spindle_turn / denominator(ratio)

    Parameters
    ----------
    speed_rpm : float or array [rpm]
        Spindle speed.
    counts_per_spindle_turn : Fraction or int [count]
        Encoder counts in one turn of the spindle.
    ratio : Fraction or int [1]
        See `machinelab.leadscrew.gearing.steps_per_count`.

    Returns
    -------
    float or array [Hz]
        Lowest frequency at which the uneven steps can shake the screw; whole multiples of it occur too.

    Range
    -----
    Any finite speed; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the counts or the ratio are not exact or out of range.

    Examples
    --------
    >>> round(pattern_frequency_hz(100, 4000, Fraction(127, 375)), 2)
    17.78

    Source
    ------
    Derived here: the rounding is the same again after as many counts as the ratio's denominator.
    """
    counts = exact_positive("counts_per_spindle_turn", counts_per_spindle_turn)
    return abs(speed_rpm) / 60 * float(counts / exact_ratio("ratio", ratio).denominator)


def turns_before_overflow(ratio, counts_per_spindle_turn, word_bits=32):
    """After how many spindle turns the product in the rounding law no longer fits the controller's numbers.

    Formula
    -------
    turns_before_overflow = 2**(word_bits - 1) / (2 * abs(numerator(ratio)) * counts_per_spindle_turn)

    Parameters
    ----------
    ratio : Fraction or int [1]
        See `machinelab.leadscrew.gearing.steps_per_count`.
    counts_per_spindle_turn : Fraction or int [count]
        Encoder counts in one turn of the spindle.
    word_bits : int [1]
        Bits of the controller's signed numbers; 32 is the usual small controller.

    Returns
    -------
    Fraction [turn]
        Turns from the start of the thread.

    Range
    -----
    Eight bits or more.

    Raises
    ------
    RangeError
        If an input is not exact or out of range.

    Examples
    --------
    >>> int(turns_before_overflow(Fraction(127, 375), 4000))
    2113

    Source
    ------
    Derived here: the product 2 p c must stay below half the range of the word.
    """
    largest = Fraction(2 ** (whole("word_bits", word_bits, at_least=8) - 1))
    product = 2 * abs(exact_ratio("ratio", ratio).numerator)
    return largest / (product * exact_positive("counts_per_spindle_turn", counts_per_spindle_turn))


def ratio_cautions(ratio, microsteps):
    """What to be wary of in a gear ratio, worst first; nothing when the steps run evenly.

    Formula
    -------
    none: the ratio and the microsteps are held against four limits.

    Parameters
    ----------
    ratio : Fraction or int [1]
        See `machinelab.leadscrew.gearing.steps_per_count`.
    microsteps : int [1]
        Step pulses for one full step.

    Returns
    -------
    tuple of RatioCaution
        Each with the figure found, the limit and what to do.

    Range
    -----
    Any exact ratio but zero; at least one microstep.

    Raises
    ------
    RangeError
        If the ratio is zero or a rounded decimal, or the microsteps are not a whole number.

    Examples
    --------
    >>> [caution.concern for caution in ratio_cautions(Fraction(3, 2), 8)]
    ['bursts']

    Source
    ------
    Derived here: with at most one step an edge and 8 microsteps or more, the rounding moves the rotor by
    0.06 of a full step; a resonance of 10 to 20 (common practice) leaves it well below half a full step.
    """
    size = abs(exact_ratio("ratio", ratio))
    microsteps = whole("microsteps", microsteps)
    inch = max((part for part in (size.numerator, size.denominator) if part % INCH_PRIME == 0), default=0)
    concerns = (
        (size > LARGEST_RATIO, "bursts", size, LARGEST_RATIO, _BURSTS),
        (SMOOTH_RATIO < size <= LARGEST_RATIO, "uneven steps", size, SMOOTH_RATIO, _UNEVEN),
        (microsteps < SMOOTH_MICROSTEPS, "coarse microsteps", microsteps, SMOOTH_MICROSTEPS, _COARSE),
        (inch > 0, "inch and metric", inch, INCH_PRIME, _INCH),
    )
    return tuple(
        RatioCaution(concern, Fraction(found), Fraction(limit), advice)
        for arises, concern, found, limit, advice in concerns
        if arises
    )


_BURSTS = (
    "More than one step falls on an encoder edge, so each edge lets go a burst. Fit an encoder with more "
    "lines or set coarser microsteps; otherwise the controller must spread the burst over the next count."
)
_UNEVEN = (
    "Step intervals take turns between one count and two, so the stepper hears half and full speed at once. "
    "Listen for rough running near its resonance; an encoder with more lines smooths it."
)
_COARSE = (
    "With fewer than 8 microsteps the rounding to whole steps shakes the rotor by more than 0.06 of a full "
    "step. Listen for rough running near its resonance."
)
_INCH = (
    "An inch and a millimetre meet here, so 127 stays in the ratio: the controller must hold numbers of at "
    "least that size, or a gear or pulley of 127 teeth must take it up."
)
