"""Speed and acceleration from pairs of count and time, and how finely the encoder's steps let them be known.

Log counts with their time stamps, never a speed that is already rounded: smoothing and differentiating a
rounded speed loses what the counts still hold.
"""

from dataclasses import dataclass
from math import pi, sqrt

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import exact_positive, not_negative, positive, whole

FEWEST_POINTS = 5


@dataclass(frozen=True)
class CountedSpeed:
    """Speed and acceleration at the middle of each window of count and time pairs.

    Parameters
    ----------
    time_s : array [s]
        Middle of each window.
    speed_rpm : array [rpm]
        Speed there; NaN where a pair of the window is missing.
    acceleration_rpm_s : array [rpm/s]
        Change of speed there.
    speed_sd_rpm : array [rpm]
        Standard deviation of the speed from whole counts alone.
    """

    time_s: np.ndarray
    speed_rpm: np.ndarray
    acceleration_rpm_s: np.ndarray
    speed_sd_rpm: np.ndarray


def speed_from_counts(time_s, count, *, counts_per_spindle_turn, points=9):
    """Spindle speed from pairs of count and time, by a parabola through each few neighbouring pairs.

    Formula
    -------
    none: a least-squares parabola of count against time in each window; its slope is the speed.

    Parameters
    ----------
    time_s : array [s]
        Time stamps, rising; the spacing need not be even.
    count : array [count]
        Encoder count at each time stamp.
    counts_per_spindle_turn : Fraction or int [count]
        Edges of both channels for one turn of the spindle.
    points : int [1]
        Pairs in a window, odd, five or more. More of them smooth more and blur more.

    Returns
    -------
    CountedSpeed
        One value for each full window; half a window is missing at either end.

    Range
    -----
    At least as many pairs as one window has. A missing pair (NaN) makes its windows NaN.

    Raises
    ------
    RangeError
        If the lengths differ, the times do not rise, there are too few pairs, or the window is even.

    Examples
    --------
    >>> time = np.linspace(0, 1, 41)
    >>> speed = speed_from_counts(time, np.floor(4000 * 10 * time), counts_per_spindle_turn=4000)
    >>> bool(np.allclose(speed.speed_rpm, 600))
    True

    Source
    ------
    Local polynomial regression, textbooks of statistics; numpy's pseudo-inverse does the least squares.
    """
    times, counts = np.asarray(time_s, dtype=float), np.asarray(count, dtype=float)
    counts_per_turn = float(exact_positive("counts_per_spindle_turn", counts_per_spindle_turn))
    _check_pairs(times, counts, whole("points", points, at_least=FEWEST_POINTS))
    middle = points // 2
    windows = np.lib.stride_tricks.sliding_window_view(np.stack([times, counts]), points, axis=1)
    away, turned = windows - windows[:, :, middle : middle + 1]
    reach = np.abs(away).max(axis=1, keepdims=True)
    known = np.isfinite(away + turned).all(axis=1)
    polynomials = np.stack([np.ones_like(away), away / reach, (away / reach) ** 2], axis=2)
    fits = np.linalg.pinv(polynomials[known])
    _, slope, curve = np.einsum("wcp,wp->cw", fits, turned[known])
    rpm = 60 / counts_per_turn / reach[known, 0]
    result = np.full((3, known.size), np.nan)
    result[:, known] = (
        slope * rpm,
        2 * curve * rpm / reach[known, 0],
        np.linalg.norm(fits[:, 1], axis=1) * rpm / sqrt(12),
    )
    return CountedSpeed(times[middle : middle + known.size], *result)


def angle_quantisation_rad(counts_per_spindle_turn):
    """Standard deviation of the spindle angle because counts are whole.

    Formula
    -------
    angle_quantisation_rad = 2 * pi / counts_per_spindle_turn / sqrt(12)

    Parameters
    ----------
    counts_per_spindle_turn : Fraction or int [count]
        Edges of both channels for one turn of the spindle.

    Returns
    -------
    float [rad]
        Standard deviation of one reading of the angle.

    Range
    -----
    An exact number above zero. It holds when readings fall anywhere between two edges.

    Raises
    ------
    RangeError
        If the counts are not an exact number above zero.

    Examples
    --------
    >>> round(angle_quantisation_rad(4000), 7)
    0.0004534

    Source
    ------
    Standard deviation of an even spread one step wide, any textbook of statistics.
    """
    return 2 * pi / float(exact_positive("counts_per_spindle_turn", counts_per_spindle_turn)) / sqrt(12)


def acceleration_noise_rad_s2(angle_sd_rad, spacing_s):
    """Standard deviation of an acceleration taken from three angles at even times.

    It falls with the square of the spacing: short spacings drown an acceleration in noise.

    Formula
    -------
    acceleration_noise_rad_s2 = sqrt(6) * angle_sd_rad / spacing_s**2

    Parameters
    ----------
    angle_sd_rad : float or array [rad]
        Standard deviation of one angle, see `angle_quantisation_rad`.
    spacing_s : float or array [s]
        Time from one angle to the next.

    Returns
    -------
    float or array [rad/s2]
        Standard deviation of the acceleration.

    Range
    -----
    Spacing above zero, deviation not negative; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the spacing is zero or negative, or the deviation negative.

    Examples
    --------
    >>> round(acceleration_noise_rad_s2(0.0004534, 0.1), 4)
    0.1111

    Source
    ------
    Derived here: the second difference weighs three independent angles 1, -2, 1.
    """
    return sqrt(6) * not_negative("angle_sd_rad", angle_sd_rad) / positive("spacing_s", spacing_s) ** 2


def _check_pairs(times, counts, points):
    if times.ndim != 1 or times.shape != counts.shape:
        raise RangeError(
            f"time_s has {times.size} values and count {counts.size}; each count needs its own time stamp."
        )
    if times.size < points:
        raise RangeError(
            f"There are {times.size} pairs; a window of {points} points needs at least {points}."
        )
    if points % 2 == 0:
        raise RangeError(f"points is {points}; type an odd number, so that a window has a middle.")
    known = times[np.isfinite(times)]
    if np.any(np.diff(known) <= 0):
        first = known[1:][np.diff(known) <= 0][0]
        raise RangeError(f"time_s does not rise at {first:g} s; sort the readings and drop repeated times.")
