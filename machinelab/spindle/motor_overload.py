"""How long the spindle's motor carries more than its daily load.

The copper warms within a minute or two, the frame within half an hour. What magnets and brushes bear for an
instant stands in `machinelab.spindle.brake_limits`.
"""

import numpy as np

from machinelab.ranges import not_negative, positive


def heated_share(time_min, *, winding_share, winding_time_min, frame_time_min):
    """How far a motor has warmed, of what a steady loss makes of it in the end.

    The copper follows a change of current within a minute or two, the frame within half an hour: two time
    constants. A stalled motor burns its winding while the frame is still cold.

    Formula
    -------
    winding = winding_share * (1 - exp(-time_min / winding_time_min))
    heated_share = winding + (1 - winding_share) * (1 - exp(-time_min / frame_time_min))

    Parameters
    ----------
    time_min : float or array [min]
        Time since the load came on.
    winding_share : float or array [1]
        Share of the final rise that lies between winding and frame; a third is common (from memory).
    winding_time_min : float or array [min]
        Time constant of the winding: 1 to 3 minutes (from memory).
    frame_time_min : float or array [min]
        Time constant of the frame: 15 to 45 minutes (from memory).

    Returns
    -------
    float or array [1]
        From 0 towards 1.

    Range
    -----
    Times from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a time constant is not above zero, or the time is negative.

    Examples
    --------
    >>> float(round(heated_share(2, winding_share=0.35, winding_time_min=2, frame_time_min=30), 3))
    0.263

    Source
    ------
    Textbook: warming of two bodies in a row, as the sum of two exponentials.
    """
    time = np.asarray(not_negative("time_min", time_min))
    winding = -np.expm1(-time / positive("winding_time_min", winding_time_min))
    frame = -np.expm1(-time / positive("frame_time_min", frame_time_min))
    return winding_share * winding + (1 - winding_share) * frame


def minutes_to_limit(
    current_a, *, continuous_current_a, winding_share=0.35, winding_time_min=2.0, frame_time_min=30.0
) -> float:
    """How many minutes a cold motor carries a current before it is as hot as it may be.

    Formula
    -------
    none: the time at which `heated_share` reaches the square of continuous over actual current.

    Parameters
    ----------
    current_a : float [A]
        Average current, form factor as for the continuous one.
    continuous_current_a : float [A]
        What the motor carries without end at that speed, see `continuous_current_a`.
    winding_share : float [1]
        Share of the final rise that lies between winding and frame; the default is from memory.
    winding_time_min : float [min]
        Time constant of the winding; the default is from memory.
    frame_time_min : float [min]
        Time constant of the frame; the default is from memory.

    Returns
    -------
    float [min]
        Minutes from cold; infinite up to the continuous current.

    Range
    -----
    Currents from zero up. Growing resistance of the warm winding is left out, so stop well before; NaN in
    gives NaN out.

    Raises
    ------
    RangeError
        If the current is negative, or the continuous current or a time constant is not above zero.

    Examples
    --------
    >>> round(minutes_to_limit(9, continuous_current_a=4.0), 1)
    1.3
    >>> minutes_to_limit(3.9, continuous_current_a=4.0)
    inf

    Source
    ------
    Derived here from the two time constants; their usual values from memory.
    """
    from scipy.optimize import brentq

    positive("continuous_current_a", continuous_current_a)
    if np.isnan(current_a) or np.isnan(continuous_current_a):
        return float("nan")
    if not_negative("current_a", current_a) <= continuous_current_a:
        return float("inf")
    wanted = (continuous_current_a / current_a) ** 2

    def short_of_it(minutes: float) -> float:
        share = heated_share(
            minutes,
            winding_share=winding_share,
            winding_time_min=winding_time_min,
            frame_time_min=frame_time_min,
        )
        return float(share) - wanted

    longest = 40 * max(winding_time_min, frame_time_min)
    return float(brentq(short_of_it, 0.0, longest)) if short_of_it(longest) > 0 else float("inf")
