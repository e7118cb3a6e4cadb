"""What lost motion and lead error mean for threading and turning, and what to do about them."""

from fractions import Fraction

import numpy as np

from machinelab.errors import RangeError
from machinelab.estimate import Estimate
from machinelab.leadscrew.periodic_error import PeriodicError, periodic_error, periodic_targets_mm
from machinelab.leadscrew.positioning import Positioning, positioning
from machinelab.ranges import exact_positive, not_negative, positive

__all__ = [
    "PeriodicError",
    "Positioning",
    "periodic_error",
    "periodic_targets_mm",
    "positioning",
    "reversal_um",
    "take_up_mm",
    "take_up_turns",
    "trimmed_lead_mm",
]


def reversal_um(forward_um, backward_um) -> Estimate:
    """Backlash at one place of the bed, from repeated readings with the spindle turned by hand both ways.

    Formula
    -------
    none: difference of the two means, with a 95 % interval by Welch's test

    Parameters
    ----------
    forward_um : array of shape (readings,) [um]
        The dial each time the same mark of the spindle was reached turning forward.
    backward_um : array of shape (readings,) [um]
        The same, reached turning backward.

    Returns
    -------
    Estimate [um]
        Lost motion, without sign.

    Range
    -----
    At least two readings each way.

    Raises
    ------
    RangeError
        If there are fewer than two readings either way.

    Examples
    --------
    >>> round(reversal_um([0, 2, 1], [-119, -121, -120]).value, 6)
    121.0

    Source
    ------
    Welch's interval for the difference of two means, textbook.
    """
    from scipy.stats import t as student_t

    forward, backward = (np.asarray(one, dtype=float).ravel() for one in (forward_um, backward_um))
    if min(forward.size, backward.size) < 2:
        raise RangeError(
            f"{forward.size} readings forward and {backward.size} backward; take at least two each way."
        )
    apart = float(forward.mean() - backward.mean())
    of_each = [(one.var(ddof=1) / one.size, one.size - 1) for one in (forward, backward)]
    of_both = float(sum(variance for variance, _ in of_each))
    # Readings that all agree leave no scatter to judge by; the dial's own step is the caller's to add.
    if of_both == 0:
        return Estimate.symmetric(abs(apart), 0.0)
    freedom = of_both**2 / sum(variance**2 / free for variance, free in of_each)
    return Estimate.symmetric(abs(apart), float(student_t.ppf(0.975, freedom) * np.sqrt(of_both)))


def take_up_mm(backlash_mm, *, spring_mm=0.0, margin_mm=0.0):
    """How far the carriage's screw must turn before the work begins, so that all play is on one side.

    Formula
    -------
    take_up_mm = backlash_mm + spring_mm + margin_mm

    Parameters
    ----------
    backlash_mm : float or array [mm]
        Lost motion of nut, thrust bearing, belt and coupling together, as read at the carriage.
    spring_mm : float or array [mm]
        What screw and bearing give under the cut: force over stiffness.
    margin_mm : float or array [mm]
        Added for doubt; one lead of the thread is common practice, no source.

    Returns
    -------
    float or array [mm]
        Least distance between where the pass starts and where the thread begins.

    Range
    -----
    No part is negative; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a part is negative.

    Examples
    --------
    >>> round(take_up_mm(0.12, spring_mm=0.01, margin_mm=1.0), 2)
    1.13

    Source
    ------
    Derived here: the parts add, since each must be taken up before the next can carry.
    """
    return (
        not_negative("backlash_mm", backlash_mm)
        + not_negative("spring_mm", spring_mm)
        + not_negative("margin_mm", margin_mm)
    )


def take_up_turns(backlash_mm, thread_lead_mm):
    """How many turns of the spindle pass before the carriage follows.

    Formula
    -------
    take_up_turns = backlash_mm / thread_lead_mm

    Parameters
    ----------
    backlash_mm : float or array [mm]
        Lost motion at the carriage.
    thread_lead_mm : float or array [mm]
        Travel for one turn of the spindle.

    Returns
    -------
    float or array [turn]
        Turns without travel after each change of direction.

    Range
    -----
    The lead is above zero, the backlash not negative; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the lead is not above zero or the backlash is negative.

    Examples
    --------
    >>> take_up_turns(0.12, 1.0)
    0.12

    Source
    ------
    Derived here: travel over travel a turn.
    """
    return not_negative("backlash_mm", backlash_mm) / positive("thread_lead_mm", thread_lead_mm)


def trimmed_lead_mm(screw_lead_mm, lead_error_ppm) -> Fraction:
    """The lead to enter for a screw whose measured error is known, so that turning feeds come out right.

    A screw that moves the carriage too far (positive error) has the longer lead; the steps become fewer.

    Formula
    -------
    trimmed_lead_mm = screw_lead_mm * (1 + lead_error_ppm / 1000000)

    Parameters
    ----------
    screw_lead_mm : Fraction or int [mm]
        Lead as cut.
    lead_error_ppm : Fraction or int [ppm]
        Measured less wanted travel; positive when the carriage goes too far.

    Returns
    -------
    Fraction [mm]
        Lead as measured, exactly.

    Range
    -----
    Positive leads; errors up to a hundredth either way.

    Raises
    ------
    RangeError
        If the lead is not exact or not positive, or the error is larger than a screw's can be.

    Examples
    --------
    >>> trimmed_lead_mm(3, 73)
    Fraction(3000219, 1000000)

    Source
    ------
    Derived here: the definition of parts in a million.
    """
    lead = exact_positive("screw_lead_mm", screw_lead_mm)
    error = Fraction(lead_error_ppm)
    if abs(error) > 10_000:
        raise RangeError(
            f"lead_error_ppm is {float(error):g}; no screw is a hundredth out. "
            "Look at the unit and at where the targets were."
        )
    return lead * (1 + error / 1_000_000)
