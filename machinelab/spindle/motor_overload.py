"""What more than its daily load the spindle's motor bears: how much for an instant, how long for minutes.

Magnets and brushes set what it bears for an instant. After that the copper warms within a minute or two, the
frame within half an hour.
"""

import numpy as np

from machinelab.ranges import not_negative, positive

# A motor of unknown magnets: no more than this often its rated current, from memory.
SALVAGED_PEAK_MULTIPLE = 3.0
# How often the rated product of current and speed the brushes bear; common practice, no source.
USUAL_PRODUCT_MULTIPLE = 2.0


def commutation_current_a(motor_speed_rpm, *, rated_current_a, rated_motor_speed_rpm, product_multiple):
    """What current the brushes still commutate without hard sparking at a speed.

    The sparking voltage under the brush grows with current and with speed, so their product is what counts.

    Formula
    -------
    commutation_current_a = product_multiple * rated_current_a * rated_motor_speed_rpm / motor_speed_rpm

    Parameters
    ----------
    motor_speed_rpm : float or array [rpm]
        Speed of the motor.
    rated_current_a : float or array [A]
        Current on the motor's plate.
    rated_motor_speed_rpm : float or array [rpm]
        Speed on the motor's plate.
    product_multiple : float or array [1]
        How often the rated product of current and speed may be reached; 2 to 3 is common (common practice, no
        source).

    Returns
    -------
    float or array [A]
        Largest current at that speed; no limit near standstill, where others bind.

    Range
    -----
    Speeds above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If an input is not above zero.

    Examples
    --------
    >>> commutation_current_a(4000, rated_current_a=6, rated_motor_speed_rpm=4000, product_multiple=2)
    12.0

    Source
    ------
    Common practice, no source: reactance voltage taken as proportional to current times speed.
    """
    rated = positive("rated_current_a", rated_current_a) * positive(
        "rated_motor_speed_rpm", rated_motor_speed_rpm
    )
    return (
        positive("product_multiple", product_multiple) * rated / positive("motor_speed_rpm", motor_speed_rpm)
    )


def magnet_limit_a(rated_current_a, *, peak_multiple):
    """The most current that magnets of unknown strength are asked to bear, even for an instant.

    Formula
    -------
    magnet_limit_a = peak_multiple * rated_current_a

    Parameters
    ----------
    rated_current_a : float or array [A]
        Current on the motor's plate.
    peak_multiple : float or array [1]
        What the data sheet allows; at most 3 for a salvaged motor. Ferrite is weakest against it when cold,
        neodymium when hot.

    Returns
    -------
    float or array [A]
        Peak current, braking included.

    Range
    -----
    Both above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If an input is not above zero.

    Examples
    --------
    >>> magnet_limit_a(6, peak_multiple=3)
    18

    Source
    ------
    From memory: the multiple for motors without a data sheet.
    """
    return positive("peak_multiple", peak_multiple) * positive("rated_current_a", rated_current_a)


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
