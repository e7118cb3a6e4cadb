"""What a meter or a pulse pickup shows during a coast-down, and how that changes with each parameter.

A lagging meter does not show the spindle's speed but a smoothed copy of it, so the copy is what a fit
must compare with the readings. Every function returns the prediction and its derivatives, in this order:
start speed, the three drags, the moment the drive let go, and (speeds only) the lag.
"""

from dataclasses import dataclass

import numpy as np
from scipy.signal import lfilter

from machinelab.errors import RangeError
from machinelab.spindle.coast_law import (
    coast_deceleration_rad_s2,
    least_deceleration,
    moving_speed,
    moving_time,
)

# A part of the coast-down fit: what the room offers is `machinelab.spindle.coastdown`.
__all__: list[str] = []

# Nodes between letting go and standstill: enough that the lag filter, exact for straight pieces,
# follows a run-down to a few parts in a million.
_NODES = 257
_SHARES = np.linspace(0.0, 1.0, _NODES)


def shown_speed_rad_s(
    time_s, *, start_s, start_speed_rad_s, coulomb_rad_s2, viscous_per_s, windage_per_rad, lag_s
):
    """Speed that a meter with a first-order lag shows, and its derivatives.

    Formula
    -------
    none: the lag equation lag_s * dy/dt = w - y, solved exactly over straight pieces of the run-down

    Parameters
    ----------
    time_s : array of shape (readings,) [s]
        When the display took each reading.
    start_s : float [s]
        When the drive let go; before that the meter had settled at the start speed.
    start_speed_rad_s : float [rad/s]
        Speed before the drive let go.
    coulomb_rad_s2, viscous_per_s, windage_per_rad : float [rad/s2, 1/s, 1/rad]
        The three drags over inertia.
    lag_s : float [s]
        Time constant of the meter; 0 for a meter without lag.

    Returns
    -------
    speed_rad_s : array of shape (readings,) [rad/s]
        What the meter shows.
    derivatives : array of shape (readings, 6) [per unit of each parameter]
        Change of the shown speed with start speed, the three drags, start time and lag.

    Range
    -----
    The spindle must slow at every speed up to the start speed, and stop; at the start speed not more than
    some 60 times as quickly as just before standstill, or the nodes lie too far apart.

    Raises
    ------
    RangeError
        If the drags would speed the spindle up somewhere on the way down.

    Source
    ------
    First-order lag of an instrument; sensitivities of the closed run-down, derived here.
    """
    down = _run_down(start_speed_rad_s, coulomb_rad_s2, viscous_per_s, windage_per_rad)
    after = np.asarray(time_s) - start_s
    coasting = np.clip(after, 0.0, down.stop_s)
    if lag_s == 0:
        shown = np.where(after < down.stop_s, down.between(down.rate, down.slope, coasting), 0.0)
        falling = np.where(after < down.stop_s, np.interp(after, down.node_s, down.slope[0], left=0.0), 0.0)
        return shown[0], np.column_stack([shown[1:].T, -falling, np.zeros_like(after)])

    copy = down.lagged(down.rate, lag_s, first=down.rate[:, 0])
    chase = (down.rate - copy) / lag_s
    lag_change = down.lagged(-chase[:1], lag_s, first=np.zeros(1))
    rows = np.vstack([copy, lag_change])
    slopes = np.vstack([chase, (-chase[:1] - lag_change) / lag_s])
    shown = down.between(rows, slopes, coasting)
    # After standstill the true speed and all its changes are zero, and the copy fades away.
    faded = np.maximum(after - down.stop_s, 0.0)
    shown[-1] += shown[0] * faded / lag_s**2
    shown *= np.exp(-faded / lag_s)
    falling = np.where(faded > 0, -shown[0] / lag_s, np.interp(after, down.node_s, chase[0], left=0.0))
    return shown[0], np.column_stack([shown[1:5].T, -falling, shown[5]])


def turned_angle_rad(time_s, *, start_s, start_speed_rad_s, coulomb_rad_s2, viscous_per_s, windage_per_rad):
    """Angle the spindle has turned since the drive let go, and its derivatives; negative before that.

    Formula
    -------
    none: the run-down's speed integrated over time, node by node

    Parameters
    ----------
    time_s : array of shape (readings,) [s]
        When each pulse came.
    start_s : float [s]
        When the drive let go.
    start_speed_rad_s : float [rad/s]
        Steady speed before the drive let go.
    coulomb_rad_s2, viscous_per_s, windage_per_rad : float [rad/s2, 1/s, 1/rad]
        The three drags over inertia.

    Returns
    -------
    angle_rad : array of shape (readings,) [rad]
        Angle since the drive let go.
    derivatives : array of shape (readings, 5) [per unit of each parameter]
        Change of the angle with start speed, the three drags and start time.
    speed_rad_s : array of shape (readings,) [rad/s]
        Spindle speed at each pulse.

    Range
    -----
    The spindle must slow at every speed up to the start speed, and stop; at the start speed not more than
    some 60 times as quickly as just before standstill, or the nodes lie too far apart.

    Raises
    ------
    RangeError
        If the drags would speed the spindle up somewhere on the way down.

    Source
    ------
    Hermite quadrature of the closed run-down and its sensitivities, derived here.
    """
    down = _run_down(start_speed_rad_s, coulomb_rad_s2, viscous_per_s, windage_per_rad)
    after = np.asarray(time_s) - start_s
    coasting = np.clip(after, 0.0, down.stop_s)
    angle = down.integrated(down.rate, down.slope)
    turned = down.between(angle, down.rate, coasting)
    speed = np.where(after < down.stop_s, down.between(down.rate[:1], down.slope[:1], coasting)[0], 0.0)
    waiting = np.minimum(after, 0.0)
    turned[0] += waiting * start_speed_rad_s
    turned[1] += waiting
    return turned[0], np.column_stack([turned[1:].T, -speed]), speed


@dataclass(frozen=True)
class _RunDown:
    """Speed and its four sensitivities (rows) at even nodes from letting go to standstill."""

    node_s: np.ndarray
    rate: np.ndarray
    slope: np.ndarray

    @property
    def stop_s(self) -> float:
        return self.node_s[-1]

    def between(self, rows, slopes, time_s):
        """Cubic Hermite interpolation on the even nodes; SciPy's would take longer than all the rest."""
        step = self.node_s[1]
        steps = time_s / step
        place = np.minimum(steps.astype(int), _NODES - 2)
        s = steps - place
        left, climb = rows.take(place, axis=1), np.diff(rows, axis=1).take(place, axis=1)
        bend = (1 - s) * slopes.take(place, axis=1) - s * slopes.take(place + 1, axis=1)
        return left + s * (climb + (1 - s) * (step * bend - (1 - 2 * s) * climb))

    def integrated(self, rows, slopes):
        return _integrated(self.node_s, rows, slopes)

    def lagged(self, rows, lag_s, *, first):
        """Pass rows through y' = (row - y)/lag, exactly for straight pieces, from the given first values."""
        ratio = self.node_s[1] / lag_s
        gone = -np.expm1(-ratio)
        newer = 1 - gone / ratio
        taps = [newer, gone - newer]
        state = (first - newer * rows[:, 0])[:, None]
        return lfilter(taps, [1.0, gone - 1.0], rows, axis=1, zi=state)[0]


def _run_down(start_speed, a, b, c):
    if not (a > 0 and least_deceleration(start_speed, a, b, c) > 0):
        raise RangeError("coast-down: the drags must slow the spindle at every speed, down to standstill.")
    drags = {"coulomb_rad_s2": a, "viscous_per_s": b, "windage_per_rad": c}
    with np.errstate(divide="ignore", invalid="ignore"):
        node_s = _SHARES * float(moving_time(start_speed, a, b, c))
    speed = moving_speed(node_s, start_speed, a, b, c)
    speed[-1] = 0.0
    deceleration = coast_deceleration_rad_s2(speed, **drags)
    stiffness = b + 2 * c * speed
    powers, climbs = np.empty((3, _NODES)), np.empty((3, _NODES))
    powers[0], powers[1], powers[2] = 1.0, speed, speed * speed
    climbs[0], climbs[1], climbs[2] = 0.0, 1.0, 2 * speed
    # A drag's effect is -f(w) times the integral of w^n/f(w): the law differentiated along the run.
    gathered = _integrated(node_s, powers / deceleration, powers * (stiffness / deceleration) - climbs)
    rate, slope = np.empty((5, _NODES)), np.empty((5, _NODES))
    rate[0], rate[1], rate[2:] = speed, deceleration / deceleration[0], -deceleration * gathered
    slope[0], slope[1:] = -deceleration, -stiffness * rate[1:]
    slope[2:] -= powers
    return _RunDown(node_s, rate, slope)


def _integrated(node_s, rows, slopes):
    """Running integral of rows with known slopes: the trapezium rule with its end correction."""
    step = node_s[1]
    whole = np.zeros_like(rows)
    np.cumsum(step / 2 * (rows[:, 1:] + rows[:, :-1]), axis=1, out=whole[:, 1:])
    whole -= step * step / 12 * (slopes - slopes[:, :1])
    return whole
