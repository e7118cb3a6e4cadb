"""How a spindle runs down on its own friction: speed, time and turns to standstill in closed form.

The law is ``dw/dt = -(a + b w + c w^2)`` with the spindle speed ``w`` in rad/s. ``a`` is dry (Coulomb)
friction, ``b`` viscous drag and ``c`` windage, each divided by the moment of inertia. It is the force law
of vehicle coast-down testing (40 CFR 1066.310; SAE J1263), read there from excerpts.
"""

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import not_negative

__all__ = [
    "coast_deceleration_rad_s2",
    "coast_speed_rad_s",
    "coast_stop_time_s",
    "coast_turns",
    "coast_turns_made",
]

TURN_RAD = 2 * np.pi

# Where windage matters less than this share of the other drags, the closed form for the turns would
# subtract nearly equal numbers; the law without windage and a first-order term then hold 1e-10.
_SMALL_WINDAGE = 1e-5

_GAUSS_NODES, _GAUSS_WEIGHTS = np.polynomial.legendre.leggauss(40)


def coast_deceleration_rad_s2(speed_rad_s, *, coulomb_rad_s2, viscous_per_s=0.0, windage_per_rad=0.0):
    """How quickly the free spindle slows at a speed.

    Formula
    -------
    coast_deceleration_rad_s2 = coulomb_rad_s2 + viscous_per_s*speed_rad_s + windage_per_rad*speed_rad_s**2

    Parameters
    ----------
    speed_rad_s : float or array [rad/s]
        Spindle speed, not negative.
    coulomb_rad_s2 : float or array [rad/s2]
        Dry friction over inertia: the deceleration just before standstill.
    viscous_per_s : float or array [1/s]
        Viscous drag over inertia.
    windage_per_rad : float or array [1/rad]
        Windage over inertia.

    Returns
    -------
    float or array [rad/s2]
        Deceleration, positive while the spindle slows.

    Range
    -----
    Any finite speed; NaN in gives NaN out.

    Examples
    --------
    >>> coast_deceleration_rad_s2(100.0, coulomb_rad_s2=3.0, viscous_per_s=0.02, windage_per_rad=1e-4)
    6.0

    Source
    ------
    Road-load force law of vehicle coast-down testing, 40 CFR 1066.310 (read as an excerpt).
    """
    return coulomb_rad_s2 + (viscous_per_s + windage_per_rad * speed_rad_s) * speed_rad_s


def coast_speed_rad_s(time_s, *, start_speed_rad_s, coulomb_rad_s2, viscous_per_s=0.0, windage_per_rad=0.0):
    """Speed of the free spindle some time after the drive lets go.

    Formula
    -------
    balance = viscous_per_s**2/4 - coulomb_rad_s2*windage_per_rad
    q = sqrt(abs(balance))
    slowness = tanh(q*time_s)/q if balance > 0 else tan(q*time_s)/q
    lost = (coulomb_rad_s2 + start_speed_rad_s*viscous_per_s/2)*slowness
    held_up = 1 + (viscous_per_s/2 + windage_per_rad*start_speed_rad_s)*slowness
    half_way = coulomb_rad_s2 + viscous_per_s*start_speed_rad_s/2
    x = q*start_speed_rad_s/half_way
    time_s < (atanh(x)/q if balance > 0 else atan(x)/q)
    coast_speed_rad_s = (start_speed_rad_s - lost)/held_up

    Parameters
    ----------
    time_s : float or array [s]
        Time since the drive let go; before that the start speed holds.
    start_speed_rad_s : float or array [rad/s]
        Speed at which the drive let go.
    coulomb_rad_s2, viscous_per_s, windage_per_rad : float or array [rad/s2, 1/s, 1/rad]
        The three drags over inertia, see `coast_deceleration_rad_s2`.

    Returns
    -------
    float or array [rad/s]
        Spindle speed; exactly zero from standstill on.

    Range
    -----
    The spindle must slow at every speed up to the start speed. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the drags would speed the spindle up somewhere on the way down.

    Examples
    --------
    >>> round(float(coast_speed_rad_s(10.0, start_speed_rad_s=125.0, coulomb_rad_s2=3.0)), 6)
    95.0

    Source
    ------
    Closed solution of the law by separation of variables, derived here; the tests integrate it numerically.
    """
    drags = {
        "coulomb_rad_s2": coulomb_rad_s2,
        "viscous_per_s": viscous_per_s,
        "windage_per_rad": windage_per_rad,
    }
    stop = coast_stop_time_s(start_speed_rad_s, **drags)
    return speed_before_stop(time_s, stop, start_speed_rad_s, *drags.values())


def coast_stop_time_s(start_speed_rad_s, *, coulomb_rad_s2, viscous_per_s=0.0, windage_per_rad=0.0):
    """Time from the drive letting go to standstill.

    Formula
    -------
    balance = viscous_per_s**2/4 - coulomb_rad_s2*windage_per_rad
    q = sqrt(abs(balance))
    x = q*start_speed_rad_s/(coulomb_rad_s2 + viscous_per_s*start_speed_rad_s/2)
    coast_stop_time_s = atanh(x)/q if balance > 0 else atan(x)/q

    Parameters
    ----------
    start_speed_rad_s : float or array [rad/s]
        Speed at which the drive let go, not negative.
    coulomb_rad_s2, viscous_per_s, windage_per_rad : float or array [rad/s2, 1/s, 1/rad]
        The three drags over inertia, see `coast_deceleration_rad_s2`.

    Returns
    -------
    float or array [s]
        Time to standstill; infinite without dry friction.

    Range
    -----
    The spindle must slow at every speed up to the start speed. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the drags would speed the spindle up somewhere on the way down.

    Examples
    --------
    >>> round(
    ...     float(coast_stop_time_s(125.0, coulomb_rad_s2=3.0, viscous_per_s=0.02, windage_per_rad=1e-4)), 6
    ... )
    27.872466

    Source
    ------
    Closed solution of the law by separation of variables, derived here; the tests integrate it numerically.
    """
    a, b, c, start = np.broadcast_arrays(coulomb_rad_s2, viscous_per_s, windage_per_rad, start_speed_rad_s)
    _refuse_speeding_up(start, a, b, c)
    with np.errstate(divide="ignore", invalid="ignore"):
        time = moving_time(start, a, b, c)
    time = np.where((a == 0) & (start > 0), np.inf, time)
    return np.where(start == 0, 0.0, np.where(np.isnan(start + a + b + c), np.nan, time))[()]


def coast_turns(start_speed_rad_s, *, coulomb_rad_s2, viscous_per_s=0.0, windage_per_rad=0.0):
    """Turns that the free spindle makes from a speed to standstill.

    Formula
    -------
    balance = viscous_per_s**2/4 - coulomb_rad_s2*windage_per_rad
    q = sqrt(abs(balance))
    x = q*start_speed_rad_s/(coulomb_rad_s2 + viscous_per_s*start_speed_rad_s/2)
    stop_time = atanh(x)/q if balance > 0 else atan(x)/q
    drop = ln(1 + (viscous_per_s*start_speed_rad_s + windage_per_rad*start_speed_rad_s**2)/coulomb_rad_s2)
    coast_turns = (drop - viscous_per_s*stop_time)/(2*windage_per_rad)/(2*pi)

    Parameters
    ----------
    start_speed_rad_s : float or array [rad/s]
        Speed at which the drive let go, not negative.
    coulomb_rad_s2, viscous_per_s, windage_per_rad : float or array [rad/s2, 1/s, 1/rad]
        The three drags over inertia, see `coast_deceleration_rad_s2`.

    Returns
    -------
    float or array [turn]
        Turns to standstill; infinite where windage alone acts.

    Range
    -----
    The spindle must slow at every speed up to the start speed. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the drags would speed the spindle up somewhere on the way down.

    Examples
    --------
    >>> round(float(coast_turns(125.0, coulomb_rad_s2=3.0)), 6)
    414.465998

    Source
    ------
    Integral of w/(a + b w + c w^2) over the speed, derived here; the tests integrate it numerically.
    """
    drags = {
        "coulomb_rad_s2": coulomb_rad_s2,
        "viscous_per_s": viscous_per_s,
        "windage_per_rad": windage_per_rad,
    }
    return stop_time_and_turns(start_speed_rad_s, **drags)[1]


def coast_turns_made(time_s, *, start_speed_rad_s, coulomb_rad_s2, viscous_per_s=0.0, windage_per_rad=0.0):
    """Turns that the free spindle has made some time after the drive let go.

    Formula
    -------
    none: the turns from the start speed to standstill less those still to come, both by `coast_turns`

    Parameters
    ----------
    time_s : float or array [s]
        Time since the drive let go, not negative.
    start_speed_rad_s : float or array [rad/s]
        Speed at which the drive let go.
    coulomb_rad_s2, viscous_per_s, windage_per_rad : float or array [rad/s2, 1/s, 1/rad]
        The three drags over inertia, see `coast_deceleration_rad_s2`.

    Returns
    -------
    float or array [turn]
        Turns made; from standstill on it stays at `coast_turns`.

    Range
    -----
    The spindle must slow at every speed up to the start speed, and stop. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the drags would speed the spindle up somewhere on the way down.

    Examples
    --------
    >>> round(float(coast_turns_made(10.0, start_speed_rad_s=125.0, coulomb_rad_s2=3.0)), 4)
    175.0704

    Source
    ------
    Difference of two closed forms, derived here; the tests integrate it numerically.
    """
    drags = {
        "coulomb_rad_s2": coulomb_rad_s2,
        "viscous_per_s": viscous_per_s,
        "windage_per_rad": windage_per_rad,
    }
    speed = coast_speed_rad_s(time_s, start_speed_rad_s=start_speed_rad_s, **drags)
    ever, left = coast_turns(start_speed_rad_s, **drags), coast_turns(speed, **drags)
    # Without dry and viscous friction it turns for ever, and both of these are infinite.
    with np.errstate(invalid="ignore"):
        made = ever - left
    in_air = _turns_in_air(time_s, start_speed_rad_s, windage_per_rad)
    return np.where(np.isinf(left), in_air, made)[()]


def stop_time_and_turns(start_speed_rad_s, *, coulomb_rad_s2, viscous_per_s=0.0, windage_per_rad=0.0):
    """Both `coast_stop_time_s` and `coast_turns`: the turns need the time, so that it costs nothing more."""
    a, b, c, start = np.broadcast_arrays(coulomb_rad_s2, viscous_per_s, windage_per_rad, start_speed_rad_s)
    stop = coast_stop_time_s(start, coulomb_rad_s2=a, viscous_per_s=b, windage_per_rad=c)
    with np.errstate(divide="ignore", invalid="ignore"):
        angle = np.array((np.log1p((b * start + c * start * start) / a) - b * stop) / (2 * c))
        slight = np.abs(c) * start <= _SMALL_WINDAGE * np.maximum(np.abs(b), a / start)
        angle[slight] = _angle_in_slight_windage(start[slight], a[slight], b[slight], c[slight])
        endless = a == 0
        angle[endless] = _angle_without_dry_friction(start[endless], b[endless], c[endless])
    return stop, np.where(start == 0, 0.0, angle / TURN_RAD)[()]


def speed_before_stop(time, stop, start, a, b, c):
    """The speed of `coast_speed_rad_s` where the time to standstill is known already."""
    elapsed = np.maximum(time, 0.0)
    speed = moving_speed(np.minimum(elapsed, stop), start, a, b, c)
    return np.where(elapsed < stop, speed, np.where(np.isnan(elapsed + stop), np.nan, 0.0))[()]


def moving_speed(time, start, a, b, c):
    """The closed form of `coast_speed_rad_s` while the spindle turns; nothing is checked."""
    s = _tangent(b * b / 4 - a * c, time)
    return (start * (1 - b * s / 2) - a * s) / (1 + (b / 2 + c * start) * s)


def moving_time(start, a, b, c):
    """The closed form of `coast_stop_time_s` for a moving spindle; nothing is checked."""
    k = b * b / 4 - a * c
    q = np.sqrt(np.abs(k))
    half_way = a + b * start / 2
    ratio = start / half_way
    x = k * ratio * ratio
    nearly_straight = ratio * (1 + x / 3 + x * x / 5)
    # Where viscous drag rules, atanh(q ratio) would lose digits near one; its logarithm does not.
    end = np.sqrt(np.maximum(a * (a + (b + c * start) * start), 0.0))
    gentle = np.arctanh(np.minimum(q * ratio, 0.5))
    hyperbolic = np.where(q * ratio < 0.5, gentle, np.log((half_way + q * start) / end))
    curved = np.where(k > 0, hyperbolic, np.arctan2(q * start, half_way)) / q
    return np.where(np.abs(x) < 1e-6, nearly_straight, curved)


def _tangent(k, time):
    """Return tanh(q t)/q for k = q^2 > 0, tan(q t)/q for k = -q^2 < 0, and their common limit t."""
    q = np.sqrt(np.abs(k))
    x = k * time * time
    with np.errstate(divide="ignore", invalid="ignore"):
        curved = np.where(k > 0, np.tanh(q * time), np.tan(q * time)) / q
    return np.where(np.abs(x) < 1e-6, time * (1 - x / 3 + 2 * x * x / 15), curved)


def _log_remainder(x):
    """Return (x - ln(1 + x))/x^2 without losing digits where x is small."""
    small = np.abs(x) < 1e-2
    safe = np.where(small, 1.0, x)
    # Horner's scheme for 1/2 - x/3 + x^2/4 - ...
    series = np.zeros_like(x)
    for power in range(10, 1, -1):
        series = 1 / power - x * series
    return np.where(small, series, (safe - np.log1p(safe)) / safe**2)


def _windage_slope(start, a, b):
    """Return d(angle)/dc at c = 0: minus the integral of w^3/(a + b w)^2 from 0 to the start speed."""
    speed = start[..., None] * (1 + _GAUSS_NODES) / 2
    integrand = speed**3 / (a[..., None] + b[..., None] * speed) ** 2
    return -(integrand @ _GAUSS_WEIGHTS) * start / 2


def _angle_in_slight_windage(start, a, b, c):
    """The law without windage and what little windage there is to first order."""
    angle = start * start / a * _log_remainder(b * start / a)
    # The slope is an integral for each member of an array, taken only where there is a windage.
    asking = (c != 0) & (start > 0)
    angle[asking] += c[asking] * _windage_slope(start[asking], a[asking], b[asking])
    return angle


def _turns_in_air(time, start, c):
    """Turns made some time after the drive let go where windage alone slows the spindle, or nothing."""
    steady = np.asarray(start * np.maximum(time, 0.0) / TURN_RAD, float)
    slowed = np.asarray(c * steady * TURN_RAD)
    return steady * np.divide(np.log1p(slowed), slowed, out=np.ones_like(slowed), where=slowed > 0)


def _angle_without_dry_friction(start, b, c):
    return np.where(c * start > _SMALL_WINDAGE * b, np.log1p(c * start / b) / c, start / b)


def least_deceleration(start, a, b, c):
    """Lowest deceleration anywhere between standstill and the start speed."""
    lowest = np.where(c > 0, np.clip(-b / np.where(c > 0, 2 * c, 1.0), 0.0, start), 0.0)
    return np.minimum(a, np.minimum(a + (b + c * start) * start, a + (b + c * lowest) * lowest))


def _refuse_speeding_up(start, a, b, c):
    not_negative("start_speed_rad_s", start)
    if np.any(least_deceleration(start, a, b, c) < 0):
        raise RangeError(
            "coast-down: these drags would speed the spindle up at some speed between standstill and "
            f"{np.max(start):.4g} rad/s; dry friction must be above 0 and so must the sum of all three."
        )
