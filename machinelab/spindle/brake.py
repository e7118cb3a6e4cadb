"""The resistor brake: how long and how far the spindle runs on, where the energy goes, which resistor.

All figures stand at the spindle: the inertia of everything that turns, the voltage constant from
`machinelab.spindle.brake_circuit.spindle_emf_v_s_per_rad`, the drags from a coast-down.
"""

from dataclasses import dataclass

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import not_negative, positive
from machinelab.spindle.brake_circuit import RPM, loop_ohm
from machinelab.spindle.brake_law import TwoPieces, two_pieces
from machinelab.spindle.coast_law import TURN_RAD, coast_deceleration_rad_s2, coast_turns

__all__ = ["Stop", "resistor_for_turns", "stop"]

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(40)
_FURTHEST_OHM = 1e9


@dataclass(frozen=True)
class Stop:
    """A braked stop, from the moment the brake comes in to standstill.

    Parameters
    ----------
    time_s : float or array [s]
        Time to standstill.
    turns : float or array [turn]
        Turns to standstill.
    peak_current_a : float or array [A]
        Current at the first moment.
    resistor_energy_j, armature_energy_j : float or array [J, J]
        Heat in the brake resistor and in the motor's winding.
    brush_energy_j, friction_energy_j : float or array [J, J]
        Heat at the brushes, and in bearings, belt and air.
    braked_s : float or array [s]
        Time while current flows; the rest is the tail, in which friction alone slows the spindle.
    braked_turns : float or array [turn]
        Turns while current flows.
    peak_deceleration_rad_s2 : float or array [rad/s2]
        Deceleration at the first moment: what belt and chuck have to bear.

    Source
    ------
    See `stop`.
    """

    time_s: float
    turns: float
    peak_current_a: float
    resistor_energy_j: float
    armature_energy_j: float
    brush_energy_j: float
    friction_energy_j: float
    braked_s: float
    braked_turns: float
    peak_deceleration_rad_s2: float


def stop(
    start_speed_rpm,
    *,
    spindle_emf_v_s_per_rad,
    armature_resistance_ohm,
    resistor_ohm,
    brush_drop_v=0.0,
    inertia_kg_m2,
    coulomb_rad_s2,
    viscous_per_s=0.0,
    windage_per_rad=0.0,
) -> Stop:
    """How the spindle stops with a resistor across its motor.

    While the motor makes more volts than the brushes keep back, current brakes; below that speed friction
    alone has to end it. Without friction the spindle never quite stops.

    Formula
    -------
    loop_ohm = armature_resistance_ohm + resistor_ohm
    brush_speed = brush_drop_v/spindle_emf_v_s_per_rad
    excess = pi/30*start_speed_rpm - brush_speed
    excess > 0
    held = coulomb_rad_s2 + viscous_per_s*brush_speed + windage_per_rad*brush_speed**2
    brake_drag = spindle_emf_v_s_per_rad**2/(loop_ohm*inertia_kg_m2)
    drag = brake_drag + viscous_per_s + 2*windage_per_rad*brush_speed
    drag**2/4 > held*windage_per_rad
    q = sqrt(drag**2/4 - held*windage_per_rad)
    braked = atanh(q*excess/(held + drag*excess/2))/q
    passed = (ln(1 + (drag*excess + windage_per_rad*excess**2)/held) - drag*braked)/(2*windage_per_rad)
    balance = viscous_per_s**2/4 - coulomb_rad_s2*windage_per_rad
    p = sqrt(abs(balance))
    x = p*brush_speed/(coulomb_rad_s2 + viscous_per_s*brush_speed/2)
    tail = atanh(x)/p if balance > 0 else atan(x)/p
    drop = ln(1 + (viscous_per_s*brush_speed + windage_per_rad*brush_speed**2)/coulomb_rad_s2)
    slid = (drop - viscous_per_s*tail)/(2*windage_per_rad)
    heat = spindle_emf_v_s_per_rad**2/loop_ohm*(excess - held*braked - drag*passed)/windage_per_rad
    result.time_s = braked + tail
    result.turns = (passed + brush_speed*braked + slid)/(2*pi)
    result.peak_current_a = spindle_emf_v_s_per_rad*excess/loop_ohm
    result.resistor_energy_j = heat*resistor_ohm/loop_ohm
    result.armature_energy_j = heat*armature_resistance_ohm/loop_ohm
    result.brush_energy_j = brush_drop_v*spindle_emf_v_s_per_rad*passed/loop_ohm
    result.braked_s = braked
    result.braked_turns = (passed + brush_speed*braked)/(2*pi)
    result.peak_deceleration_rad_s2 = held + (drag + windage_per_rad*excess)*excess

    Parameters
    ----------
    start_speed_rpm : float or array [rpm]
        Spindle speed at which the brake comes in, not negative.
    spindle_emf_v_s_per_rad : float or array [V s/rad]
        Voltage constant at the spindle.
    armature_resistance_ohm, resistor_ohm : float or array [ohm]
        Armature and brake resistor, as warm as they are; an infinite resistor is no brake.
    brush_drop_v : float or array [V]
        Voltage lost at both brushes together, about 2 V for carbon (from memory).
    inertia_kg_m2 : float or array [kg m2]
        All that turns, felt at the spindle: the motor's armature counts with the ratio squared.
    coulomb_rad_s2, viscous_per_s, windage_per_rad : float or array [rad/s2, 1/s, 1/rad]
        The three drags over inertia of the free spindle, from a coast-down.

    Returns
    -------
    Stop
        Time, turns, peak current and where the energy went, with what belongs to the braked piece.

    Range
    -----
    Resistor and brush drop from zero up. The printed lines hold above the brush speed and while the brake
    outweighs windage; below the brush speed the spindle coasts. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is out of range, or the drags would speed the spindle up somewhere on the way down.

    Examples
    --------
    >>> motor = {"spindle_emf_v_s_per_rad": 1.97, "armature_resistance_ohm": 1.6, "inertia_kg_m2": 0.05}
    >>> drags = {"coulomb_rad_s2": 3.0, "viscous_per_s": 0.02, "windage_per_rad": 1e-4}
    >>> found = stop(1000, resistor_ohm=12.4, **motor, **drags)
    >>> round(float(found.time_s), 5), round(float(found.turns), 5), round(float(found.resistor_energy_j), 1)
    (0.94756, 2.91127, 239.2)

    Source
    ------
    Textbook equations of a permanent-magnet motor; closed forms derived here, and integrated in the tests.
    """
    emf = positive("spindle_emf_v_s_per_rad", spindle_emf_v_s_per_rad)
    loop = loop_ohm(armature_resistance_ohm, resistor_ohm)
    inertia = positive("inertia_kg_m2", inertia_kg_m2)
    drop = not_negative("brush_drop_v", brush_drop_v)
    start = RPM * np.asarray(not_negative("start_speed_rpm", start_speed_rpm), float)
    run = two_pieces(
        start, emf**2 / (loop * inertia), drop / emf, coulomb_rad_s2, viscous_per_s, windage_per_rad
    )
    excess_squared, rubbed = _gathered(run)
    heat_j = emf**2 / loop * excess_squared
    armature_share = armature_resistance_ohm / loop
    return Stop(
        time_s=run.braked_s + run.tail_s,
        turns=run.braked_turns + run.tail_turns,
        peak_current_a=emf * run.above_rad_s / loop,
        resistor_energy_j=heat_j * (1 - armature_share),
        armature_energy_j=heat_j * armature_share,
        brush_energy_j=drop * emf / loop * TURN_RAD * run.excess_turns,
        friction_energy_j=inertia * (rubbed + run.below_rad_s**2 / 2),
        braked_s=run.braked_s,
        braked_turns=run.braked_turns,
        peak_deceleration_rad_s2=coast_deceleration_rad_s2(run.above_rad_s, **run.braked),
    )


def resistor_for_turns(
    turns,
    start_speed_rpm,
    *,
    spindle_emf_v_s_per_rad,
    armature_resistance_ohm,
    brush_drop_v=0.0,
    inertia_kg_m2,
    coulomb_rad_s2,
    viscous_per_s=0.0,
    windage_per_rad=0.0,
):
    """The brake resistor with which the spindle stops within so many turns.

    Formula
    -------
    none: the one resistance at which the turns of `stop` are those wanted, found by SciPy's root finder

    Parameters
    ----------
    turns : float [turn]
        Turns that the stop may take from the moment the brake comes in; take off those of a late contact.
    start_speed_rpm : float [rpm]
        Spindle speed at which the brake comes in.
    spindle_emf_v_s_per_rad : float [V s/rad]
        Voltage constant at the spindle.
    armature_resistance_ohm : float [ohm]
        Resistance of the armature; it brakes too.
    brush_drop_v : float [V]
        Voltage lost at both brushes together.
    inertia_kg_m2 : float [kg m2]
        All that turns, felt at the spindle.
    coulomb_rad_s2, viscous_per_s, windage_per_rad : float [rad/s2, 1/s, 1/rad]
        The three drags over inertia of the free spindle.

    Returns
    -------
    float [ohm]
        The resistor outside the motor. A smaller one stops within fewer turns, at a higher current.

    Range
    -----
    From the turns with a short circuit to those of the free spindle; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If no resistor stops it within so few turns, or none is needed; the message names the figure.

    Examples
    --------
    >>> motor = {"spindle_emf_v_s_per_rad": 1.97, "armature_resistance_ohm": 1.6, "inertia_kg_m2": 0.05}
    >>> drags = {"coulomb_rad_s2": 3.0, "viscous_per_s": 0.02, "windage_per_rad": 1e-4}
    >>> round(resistor_for_turns(5, 1000, **motor, **drags), 2)
    22.91

    Source
    ------
    Inverse of `stop`.
    """
    from scipy.optimize import brentq

    wanted = float(positive("turns", turns))
    circuit = {
        "spindle_emf_v_s_per_rad": spindle_emf_v_s_per_rad,
        "armature_resistance_ohm": armature_resistance_ohm,
        "brush_drop_v": brush_drop_v,
        "inertia_kg_m2": inertia_kg_m2,
    }
    drags = {
        "coulomb_rad_s2": coulomb_rad_s2,
        "viscous_per_s": viscous_per_s,
        "windage_per_rad": windage_per_rad,
    }

    def too_many(resistor_ohm):
        made = stop(start_speed_rpm, resistor_ohm=resistor_ohm, **circuit, **drags).turns
        return float(made) - wanted

    least, free = wanted + too_many(0.0), float(coast_turns(RPM * start_speed_rpm, **drags))
    if np.isnan(least) or np.isnan(wanted):
        return float("nan")
    if wanted < least:
        raise RangeError(_IMPOSSIBLE.format(wanted=wanted, least=least, speed=start_speed_rpm))
    if wanted >= free:
        raise RangeError(_NOT_NEEDED.format(wanted=wanted, free=free, speed=start_speed_rpm))
    return float(brentq(too_many, 0.0, _furthest(too_many), xtol=1e-9, rtol=1e-12))


_IMPOSSIBLE = (
    "No resistor stops it within {wanted:.3g} turns from {speed:.4g} rpm: even with the motor "
    "short-circuited it makes {least:.3g}. Allow at least so many, brake from a lower speed, "
    "or take a lighter chuck."
)
_NOT_NEEDED = (
    "No brake is needed for {wanted:.3g} turns from {speed:.4g} rpm: the free spindle makes only {free:.3g}."
)


def _furthest(too_many) -> float:
    """A resistance that is certainly too large."""
    resistor_ohm = 1.0
    while too_many(resistor_ohm) < 0 and resistor_ohm < _FURTHEST_OHM:
        resistor_ohm *= 4
    return resistor_ohm


def _gathered(run: TwoPieces):
    """Integrals over the braked time of the square of the excess speed, and of speed times free deceleration.

    Taken over the speed, with nodes gathered at its low end, where little friction makes a sharp corner.
    """
    root = (1 + _NODES) / 2
    excess = np.asarray(run.above_rad_s)[..., None] * root**3
    speed = np.asarray(run.below_rad_s)[..., None] + excess
    braked, free = (
        {name: np.asarray(drag)[..., None] for name, drag in drags.items()}
        for drags in (run.braked, run.free)
    )
    powers = (excess**2, speed * coast_deceleration_rad_s2(speed, **free))
    slowing = coast_deceleration_rad_s2(excess, **braked)
    with np.errstate(invalid="ignore", divide="ignore"):
        means = ((power * 1.5 * root**2 / slowing) @ _WEIGHTS for power in powers)
        return tuple(np.where(run.above_rad_s == 0, 0.0, mean * run.above_rad_s) for mean in means)
