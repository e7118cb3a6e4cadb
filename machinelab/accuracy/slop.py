"""Lost motion and spring, taken apart by pushing and pulling with more than one force."""

from dataclasses import dataclass

import numpy as np

from machinelab.errors import RangeError
from machinelab.estimate import Estimate
from machinelab.least_squares import columns_of, fit_with_known_sd
from machinelab.ranges import not_negative, positive

__all__ = ["Slop", "encoder_slip_um", "own_shares_mm", "rotary_lost_motion_deg", "slop"]

FEWEST_FORCES = 2
_SAME = 0.2


@dataclass(frozen=True)
class Slop:
    """A joint's free play and its stiffness.

    Parameters
    ----------
    gap_mm : Estimate [mm]
        Free play: motion that no force is needed for.
    stiffness_n_um : Estimate [N/um]
        Force for each micrometre of spring; its interval may be open upwards.
    spread_mm : float [mm]
        Standard deviation of what the straight line leaves.
    """

    gap_mm: Estimate
    stiffness_n_um: Estimate
    spread_mm: float


def slop(force_n, span_mm, *, reading_sd_mm) -> Slop:
    """Free play and stiffness of a joint from pushing and pulling with several forces.

    Formula
    -------
    none: linear least squares of span = gap + 2 * force / stiffness

    Parameters
    ----------
    force_n : array of shape (readings,) [N]
        Pushed and pulled with the same force, by a luggage scale.
    span_mm : array of shape (readings,) [mm]
        Dial when pulled less dial when pushed.
    reading_sd_mm : float [mm]
        Standard uncertainty of one span.

    Returns
    -------
    Slop
        Free play and stiffness with 95 % intervals.

    Range
    -----
    At least two forces, the largest at least a fifth above the smallest; missing readings are left out.

    Raises
    ------
    RangeError
        If one force alone was used: it gives a sum, which cannot be taken apart.

    Examples
    --------
    >>> found = slop([20, 40, 60], [0.024, 0.028, 0.032], reading_sd_mm=0.001)
    >>> round(found.gap_mm.value, 6), round(found.stiffness_n_um.value, 6)
    (0.02, 10.0)

    Source
    ------
    Derived here: a gap is crossed by any force, a spring gives with the force, from either side.
    """
    force, span = columns_of(force_n=force_n, span_mm=span_mm)
    if force.size < FEWEST_FORCES or np.ptp(force) < _SAME * np.max(np.abs(force)):
        told = ", ".join(f"{one:g}" for one in np.unique(force)) or "none"
        raise RangeError(
            f"Forces of {told} N give only the sum of play and spring. Push and pull with at least two "
            "forces that differ, such as 20, 40 and 60 N."
        )
    if np.any(force <= 0):
        raise RangeError("A force is zero or less; give the size of push and pull, both the same.")
    design = np.column_stack([np.ones_like(force), 2 * force])
    sd = float(positive("reading_sd_mm", reading_sd_mm))
    (gap, give), left_over = fit_with_known_sd(design, span, sd)
    low, high = give.interval
    return Slop(
        gap_mm=gap,
        stiffness_n_um=Estimate(_stiffness(give.value), (_stiffness(high), _stiffness(low))),
        spread_mm=float(np.std(left_over)),
    )


def own_shares_mm(reading_mm):
    """What each joint adds to the motion, from dial readings one behind the other outward from the bed.

    Formula
    -------
    none: each reading less the one before it; the first is its own

    Parameters
    ----------
    reading_mm : array of shape (stations,) [mm]
        Motion at saddle, cross slide, top slide, post, tool, each against the bed.

    Returns
    -------
    array of shape (stations,) [mm]
        Share of each joint; its uncertainty is 1.41 of a reading's.

    Range
    -----
    One station or more; a missing reading leaves its own and the next share missing.

    Examples
    --------
    >>> own_shares_mm([0.002, 0.006, 0.031]).round(6)
    array([0.002, 0.004, 0.025])

    Source
    ------
    Derived here: joints one behind the other add.
    """
    return np.diff(np.asarray(reading_mm, dtype=float), prepend=0.0)


def rotary_lost_motion_deg(arc_mm, arm_mm):
    """Lost motion between motor and chuck as an angle, from a dial on an arm.

    Formula
    -------
    rotary_lost_motion_deg = arc_mm / arm_mm * 180 / pi

    Parameters
    ----------
    arc_mm : float or array [mm]
        Motion of the arm's end, with the motor's pulley held.
    arm_mm : float or array [mm]
        From the spindle's axis to the dial.

    Returns
    -------
    float or array [deg]
        Lost motion of the spindle.

    Range
    -----
    Small arcs, an arm above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the arm is zero or negative.

    Examples
    --------
    >>> round(float(rotary_lost_motion_deg(1.0, 100)), 4)
    0.573

    Source
    ------
    Derived here: an arc over its radius.
    """
    return arc_mm / positive("arm_mm", arm_mm) * 180 / np.pi


def encoder_slip_um(rotary_lost_motion_deg, thread_lead_mm):
    """How far a thread is shifted by lost motion between the encoder and the work.

    With the encoder on the spindle itself there is none: the screw follows the work, however loose the drive.

    Formula
    -------
    encoder_slip_um = 1000 * rotary_lost_motion_deg / 360 * thread_lead_mm

    Parameters
    ----------
    rotary_lost_motion_deg : float or array [deg]
        Between the shaft that drives the encoder and the spindle.
    thread_lead_mm : float or array [mm]
        Lead of the thread.

    Returns
    -------
    float or array [um]
        Shift along the work.

    Range
    -----
    From no lost motion up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the lost motion is negative.

    Examples
    --------
    >>> round(encoder_slip_um(2, 1.5), 2)
    8.33

    Source
    ------
    Derived here: a lead for each turn.
    """
    return 1000 * not_negative("rotary_lost_motion_deg", rotary_lost_motion_deg) / 360 * thread_lead_mm


def _stiffness(give_mm_n: float) -> float:
    """Newtons a micrometre; a joint that gives nothing measurable is as stiff as one likes."""
    return 1e-3 / give_mm_n if give_mm_n > 0 else float("inf")
