"""How a spindle runs down with a resistor across its motor: speed and turns, moment by moment.

The motor's own voltage drives a current through armature, resistor and brushes, and that current brakes.
The brushes keep back a voltage of their own, so below one speed, the brush speed, no current flows and the
spindle coasts on friction alone. Above it the law is that of the coast-down once more, counted from the
brush speed up; that is why both pieces come from `machinelab.spindle.coast_law`.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from machinelab.ranges import not_negative
from machinelab.spindle.coast_law import (
    TURN_RAD,
    coast_deceleration_rad_s2,
    coast_speed_rad_s,
    coast_turns,
    coast_turns_made,
    speed_before_stop,
    stop_time_and_turns,
)

__all__ = ["braked_deceleration_rad_s2", "braked_speed_rad_s", "braked_turns_made"]


def braked_deceleration_rad_s2(
    speed_rad_s,
    *,
    brake_drag_per_s,
    brush_speed_rad_s=0.0,
    coulomb_rad_s2,
    viscous_per_s=0.0,
    windage_per_rad=0.0,
):
    """How quickly the spindle slows at a speed with the resistor across its motor.

    Formula
    -------
    electric = brake_drag_per_s*max(speed_rad_s - brush_speed_rad_s, 0)
    friction = coulomb_rad_s2 + viscous_per_s*speed_rad_s + windage_per_rad*speed_rad_s**2
    braked_deceleration_rad_s2 = electric + friction

    Parameters
    ----------
    speed_rad_s : float or array [rad/s]
        Spindle speed, not negative.
    brake_drag_per_s : float or array [1/s]
        What the resistor adds to the viscous drag over inertia; 0 for no brake.
    brush_speed_rad_s : float or array [rad/s]
        Below this speed the motor's voltage no longer passes the brushes.
    coulomb_rad_s2, viscous_per_s, windage_per_rad : float or array [rad/s2, 1/s, 1/rad]
        The three drags over inertia of the free spindle, from a coast-down.

    Returns
    -------
    float or array [rad/s2]
        Deceleration. It is greatest at the moment the brake comes in.

    Range
    -----
    Any finite speed; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the brake's drag or the brush speed is negative.

    Examples
    --------
    >>> float(braked_deceleration_rad_s2(100.0, brake_drag_per_s=1.2, coulomb_rad_s2=3.0))
    123.0

    Source
    ------
    Textbook equation of a permanent-magnet motor, V = E + I R + brush drop with E = K w, torque K I.
    """
    drag = not_negative("brake_drag_per_s", brake_drag_per_s)
    electric = drag * np.maximum(speed_rad_s - not_negative("brush_speed_rad_s", brush_speed_rad_s), 0.0)
    return electric + coast_deceleration_rad_s2(
        speed_rad_s,
        coulomb_rad_s2=coulomb_rad_s2,
        viscous_per_s=viscous_per_s,
        windage_per_rad=windage_per_rad,
    )


def braked_speed_rad_s(
    time_s,
    *,
    start_speed_rad_s,
    brake_drag_per_s,
    brush_speed_rad_s=0.0,
    coulomb_rad_s2,
    viscous_per_s=0.0,
    windage_per_rad=0.0,
):
    """Speed of the braked spindle some time after the brake came in.

    Formula
    -------
    none: the speed of a coast-down counted from the brush speed up, then that of the free spindle

    Parameters
    ----------
    time_s : float or array [s]
        Time since the brake came in; before that the start speed holds.
    start_speed_rad_s : float or array [rad/s]
        Speed at which the brake came in, not negative.
    brake_drag_per_s, brush_speed_rad_s : float or array [1/s, rad/s]
        The brake, see `braked_deceleration_rad_s2`.
    coulomb_rad_s2, viscous_per_s, windage_per_rad : float or array [rad/s2, 1/s, 1/rad]
        The three drags over inertia of the free spindle.

    Returns
    -------
    float or array [rad/s]
        Spindle speed; exactly zero from standstill on.

    Range
    -----
    The free spindle must slow at every speed up to the start speed. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the drags would speed the spindle up somewhere on the way down, or the brake is negative.

    Examples
    --------
    >>> brake = {"brake_drag_per_s": 1.2, "brush_speed_rad_s": 2.0}
    >>> round(float(braked_speed_rad_s(1.0, start_speed_rad_s=100.0, coulomb_rad_s2=3.0, **brake)), 4)
    29.77

    Source
    ------
    Derived here; the tests integrate the law numerically.
    """
    brake = (brake_drag_per_s, brush_speed_rad_s)
    run = two_pieces(start_speed_rad_s, *brake, coulomb_rad_s2, viscous_per_s, windage_per_rad)
    excess = coast_speed_rad_s(time_s, start_speed_rad_s=run.above_rad_s, **run.braked)
    below = coast_speed_rad_s(time_s - run.braked_s, start_speed_rad_s=run.below_rad_s, **run.free)
    return excess + below


def braked_turns_made(
    time_s,
    *,
    start_speed_rad_s,
    brake_drag_per_s,
    brush_speed_rad_s=0.0,
    coulomb_rad_s2,
    viscous_per_s=0.0,
    windage_per_rad=0.0,
):
    """Turns that the braked spindle has made some time after the brake came in.

    Formula
    -------
    none: the turns of a coast-down counted from the brush speed up, then those of the free spindle

    Parameters
    ----------
    time_s : float or array [s]
        Time since the brake came in, not negative.
    start_speed_rad_s : float or array [rad/s]
        Speed at which the brake came in, not negative.
    brake_drag_per_s, brush_speed_rad_s : float or array [1/s, rad/s]
        The brake, see `braked_deceleration_rad_s2`.
    coulomb_rad_s2, viscous_per_s, windage_per_rad : float or array [rad/s2, 1/s, 1/rad]
        The three drags over inertia of the free spindle.

    Returns
    -------
    float or array [turn]
        Turns made; from standstill on it no longer grows.

    Range
    -----
    The free spindle must slow at every speed up to the start speed, and stop. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the drags would speed the spindle up somewhere on the way down, or the brake is negative.

    Examples
    --------
    >>> brake = {"brake_drag_per_s": 1.2, "brush_speed_rad_s": 2.0}
    >>> round(float(braked_turns_made(1.0, start_speed_rad_s=100.0, coulomb_rad_s2=3.0, **brake)), 4)
    9.235

    Source
    ------
    Derived here; the tests integrate the law numerically.
    """
    brake = (brake_drag_per_s, brush_speed_rad_s)
    run = two_pieces(start_speed_rad_s, *brake, coulomb_rad_s2, viscous_per_s, windage_per_rad)
    braking_s = np.clip(time_s, 0.0, run.braked_s)
    excess = coast_turns_made(braking_s, start_speed_rad_s=run.above_rad_s, **run.braked)
    below = coast_turns_made(time_s - run.braked_s, start_speed_rad_s=run.below_rad_s, **run.free)
    return excess + run.below_rad_s * braking_s / TURN_RAD + below


@dataclass(frozen=True)
class TwoPieces:
    """A braked run: the excess over the brush speed runs down first, then what is below coasts on.

    ``braked`` holds the drags that act on the excess, ``free`` those of the free spindle, both named as the
    coast law takes them; none of them can be negative where the free spindle slows at every speed.
    """

    above_rad_s: np.ndarray
    below_rad_s: np.ndarray
    braked: dict
    free: dict

    @property
    def braked_s(self):
        """Time from the start speed to the brush speed."""
        return self._excess[0]

    @property
    def excess_turns(self):
        """Turns that the excess alone would make; the current's sum over time goes with them."""
        return self._excess[1]

    @property
    def tail_s(self):
        """Time from the brush speed to standstill."""
        return self._tail[0]

    @property
    def tail_turns(self):
        """Turns from the brush speed to standstill."""
        return self._tail[1]

    @property
    def braked_turns(self):
        """Turns while current flows."""
        # Without friction the excess never quite runs out, and zero speed for ever is still no turn.
        with np.errstate(invalid="ignore"):
            below = np.where(self.below_rad_s == 0, 0.0, self.below_rad_s * self.braked_s)
        return self.excess_turns + below / TURN_RAD

    @cached_property
    def _excess(self):
        return stop_time_and_turns(self.above_rad_s, **self.braked)

    @cached_property
    def _tail(self):
        return stop_time_and_turns(self.below_rad_s, **self.free)


def two_pieces(start_rad_s, brake_drag, brush_speed, coulomb, viscous, windage) -> TwoPieces:
    """Cut a braked run at the brush speed.

    With w = brush speed + u the law dw/dt = -(a + b w + c w^2 + d u) becomes
    du/dt = -(A + B u + c u^2), A = a + b w_b + c w_b^2, B = b + 2 c w_b + d. The textbook's own form,
    a' = a - d w_b and b' = b + d, is the same law; its a' can be negative, A cannot.
    """
    start = np.asarray(not_negative("start speed", start_rad_s), float)
    drag = not_negative("brake_drag_per_s", brake_drag)
    brush = not_negative("brush_speed_rad_s", brush_speed)
    free = {"coulomb_rad_s2": coulomb, "viscous_per_s": viscous, "windage_per_rad": windage}
    braked = {
        "coulomb_rad_s2": coast_deceleration_rad_s2(brush, **free),
        "viscous_per_s": viscous + 2 * windage * brush + drag,
        "windage_per_rad": windage,
    }
    return TwoPieces(np.maximum(start - brush, 0.0), np.minimum(start, brush), braked, free)


def late_speed(after_s, start, delay_s, drag, brush_speed, drags):
    """Speed [rad/s] some time after the drive let go, the brake coming in after a delay."""
    free = coast_speed_rad_s(np.minimum(after_s, delay_s), start_speed_rad_s=start, **drags)
    left = coast_speed_rad_s(delay_s, start_speed_rad_s=start, **drags)
    brake = {"brake_drag_per_s": drag, "brush_speed_rad_s": brush_speed}
    braked = braked_speed_rad_s(after_s - delay_s, start_speed_rad_s=left, **brake, **drags)
    return free - left + braked


def late_time_and_turns(start, delay_s, drag, brush_speed, drags):
    """Time [s] and turns from the drive's letting go to standstill, the brake coming in after a delay."""
    names = ("coulomb_rad_s2", "viscous_per_s", "windage_per_rad")
    law = [drags[name] for name in names]
    free_s, free_turns = stop_time_and_turns(start, **drags)
    left = speed_before_stop(delay_s, free_s, start, *law)
    waited_turns = free_turns - coast_turns(left, **drags)
    run = two_pieces(left, drag, brush_speed, *law)
    time_s = np.minimum(delay_s, free_s) + run.braked_s + run.tail_s
    return np.asarray(time_s), np.asarray(waited_turns + run.braked_turns + run.tail_turns)
