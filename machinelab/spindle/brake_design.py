"""What a resistor brake is made of beside its resistor: a contact that closes late, a second stage."""

from dataclasses import dataclass, fields

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import not_negative, positive
from machinelab.spindle.brake import Stop, stop
from machinelab.spindle.brake_circuit import RPM, loop_ohm
from machinelab.spindle.coast_law import TURN_RAD, coast_speed_rad_s, coast_stop_time_s, coast_turns_made

__all__ = ["TwoStageStop", "late_stop", "resistor_for_current_ohm", "two_stage_stop"]


@dataclass(frozen=True)
class TwoStageStop:
    """A stop with a large resistor first and a smaller one from the speed at which it draws the same current.

    Parameters
    ----------
    time_s : float or array [s]
        Time to standstill.
    turns : float or array [turn]
        Turns to standstill.
    peak_current_a : float or array [A]
        Current at the first moment, and again at the switch.
    switch_speed_rpm : float or array [rpm]
        Spindle speed at which the smaller resistor takes over.
    switch_s : float or array [s]
        When that is, after the brake came in.
    ideal_turns : float or array [turn]
        Turns if the deceleration stayed at its peak all the way: no brake of that current does better.

    Source
    ------
    See `two_stage_stop`.
    """

    time_s: float
    turns: float
    peak_current_a: float
    switch_speed_rpm: float
    switch_s: float
    ideal_turns: float


def late_stop(
    start_speed_rpm,
    *,
    contact_delay_s,
    spindle_emf_v_s_per_rad,
    armature_resistance_ohm,
    resistor_ohm,
    brush_drop_v=0.0,
    inertia_kg_m2,
    coulomb_rad_s2,
    viscous_per_s=0.0,
    windage_per_rad=0.0,
) -> Stop:
    """How the spindle stops when it coasts freely until the brake contact closes.

    Formula
    -------
    none: a free run for the contact's delay, then `stop` from the speed that is left

    Parameters
    ----------
    start_speed_rpm : float or array [rpm]
        Spindle speed when the drive lets go.
    contact_delay_s : float or array [s]
        From the drive's letting go to the resistor being connected.
    spindle_emf_v_s_per_rad : float or array [V s/rad]
        Voltage constant at the spindle.
    armature_resistance_ohm, resistor_ohm : float or array [ohm]
        Armature and brake resistor.
    brush_drop_v : float or array [V]
        Voltage lost at both brushes together.
    inertia_kg_m2 : float or array [kg m2]
        All that turns, felt at the spindle.
    coulomb_rad_s2, viscous_per_s, windage_per_rad : float or array [rad/s2, 1/s, 1/rad]
        The three drags over inertia of the free spindle.

    Returns
    -------
    Stop
        Time and turns from the drive's letting go; current, deceleration and heat of the brake itself.

    Range
    -----
    Delay from zero up; otherwise as `stop`. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is out of range, or the drags would speed the spindle up somewhere on the way down.

    Examples
    --------
    >>> motor = {"spindle_emf_v_s_per_rad": 1.97, "armature_resistance_ohm": 1.6, "inertia_kg_m2": 0.05}
    >>> found = late_stop(600, contact_delay_s=0.1, resistor_ohm=12.4, coulomb_rad_s2=3.0, **motor)
    >>> round(float(found.turns - stop(600, resistor_ohm=12.4, coulomb_rad_s2=3.0, **motor).turns), 2)
    0.99

    Source
    ------
    Derived here; the tests integrate it numerically.
    """
    drags = {
        "coulomb_rad_s2": coulomb_rad_s2,
        "viscous_per_s": viscous_per_s,
        "windage_per_rad": windage_per_rad,
    }
    waited_s = not_negative("contact_delay_s", contact_delay_s)
    start = RPM * np.asarray(not_negative("start_speed_rpm", start_speed_rpm), float)
    free = {"start_speed_rad_s": start, **drags}
    braked = stop(
        coast_speed_rad_s(waited_s, **free) / RPM,
        spindle_emf_v_s_per_rad=spindle_emf_v_s_per_rad,
        armature_resistance_ohm=armature_resistance_ohm,
        resistor_ohm=resistor_ohm,
        brush_drop_v=brush_drop_v,
        inertia_kg_m2=inertia_kg_m2,
        **drags,
    )
    figures = {field.name: getattr(braked, field.name) for field in fields(braked)}
    figures["time_s"] = braked.time_s + np.minimum(waited_s, coast_stop_time_s(**free))
    figures["turns"] = braked.turns + coast_turns_made(waited_s, **free)
    return Stop(**figures)


def two_stage_stop(
    start_speed_rpm,
    *,
    spindle_emf_v_s_per_rad,
    armature_resistance_ohm,
    resistor_ohm,
    second_resistor_ohm,
    brush_drop_v=0.0,
    inertia_kg_m2,
    coulomb_rad_s2,
    viscous_per_s=0.0,
    windage_per_rad=0.0,
) -> TwoStageStop:
    """How the spindle stops when a smaller resistor takes over as soon as it draws no more than the peak.

    Formula
    -------
    none: the stop with the first resistor down to the switch, then the stop with the second

    Parameters
    ----------
    start_speed_rpm : float or array [rpm]
        Spindle speed at which the brake comes in.
    spindle_emf_v_s_per_rad : float or array [V s/rad]
        Voltage constant at the spindle.
    armature_resistance_ohm, resistor_ohm, second_resistor_ohm : float or array [ohm]
        Armature, the resistor of the first stage, and the smaller one that stays for the second.
    brush_drop_v : float or array [V]
        Voltage lost at both brushes together.
    inertia_kg_m2 : float or array [kg m2]
        All that turns, felt at the spindle.
    coulomb_rad_s2, viscous_per_s, windage_per_rad : float or array [rad/s2, 1/s, 1/rad]
        The three drags over inertia of the free spindle.

    Returns
    -------
    TwoStageStop
        Time, turns, current, where to switch, and the turns that no brake of that current can beat.

    Range
    -----
    Second resistor from zero up to the first, some dry friction; otherwise as `stop`. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the second resistor is the larger, or a number is out of range.

    Examples
    --------
    >>> motor = {"spindle_emf_v_s_per_rad": 1.97, "armature_resistance_ohm": 1.6, "inertia_kg_m2": 0.05}
    >>> found = two_stage_stop(1000, resistor_ohm=12.4, second_resistor_ohm=3.0, coulomb_rad_s2=3.0, **motor)
    >>> round(float(found.switch_speed_rpm), 1), round(float(found.turns), 3)
    (328.6, 2.317)

    Source
    ------
    Derived here; equal peak currents, as when resistors are cut out one by one (from memory).
    """
    emf = positive("spindle_emf_v_s_per_rad", spindle_emf_v_s_per_rad)
    first_loop = loop_ohm(armature_resistance_ohm, resistor_ohm)
    second_loop = armature_resistance_ohm + not_negative("second_resistor_ohm", second_resistor_ohm)
    if np.any(second_loop > first_loop):
        raise RangeError(
            f"The second resistor, {np.max(second_resistor_ohm):g} ohm, is larger than the first. Swap them: "
            "the larger one comes first, while the motor still makes many volts."
        )
    circuit = {
        "spindle_emf_v_s_per_rad": emf,
        "armature_resistance_ohm": armature_resistance_ohm,
        "brush_drop_v": brush_drop_v,
        "inertia_kg_m2": inertia_kg_m2,
        "coulomb_rad_s2": positive("coulomb_rad_s2", coulomb_rad_s2),
        "viscous_per_s": viscous_per_s,
        "windage_per_rad": windage_per_rad,
    }
    brush_rpm = brush_drop_v / emf / RPM
    above_rpm = np.maximum(np.asarray(start_speed_rpm, float) - brush_rpm, 0.0)
    switch_rpm = np.minimum(start_speed_rpm, brush_rpm + above_rpm * second_loop / first_loop)
    whole, rest = (stop(rpm, resistor_ohm=resistor_ohm, **circuit) for rpm in (start_speed_rpm, switch_rpm))
    second = stop(switch_rpm, resistor_ohm=second_resistor_ohm, **circuit)
    start_rad_s = RPM * np.asarray(start_speed_rpm, float)
    return TwoStageStop(
        time_s=whole.time_s - rest.time_s + second.time_s,
        turns=whole.turns - rest.turns + second.turns,
        peak_current_a=whole.peak_current_a,
        switch_speed_rpm=switch_rpm,
        switch_s=whole.time_s - rest.time_s,
        ideal_turns=start_rad_s**2 / (2 * whole.peak_deceleration_rad_s2) / TURN_RAD,
    )


def resistor_for_current_ohm(
    peak_brake_current_a,
    *,
    start_speed_rpm,
    spindle_emf_v_s_per_rad,
    armature_resistance_ohm,
    brush_drop_v=0.0,
):
    """The smallest brake resistor that keeps the peak current within a limit.

    Formula
    -------
    excess_v = spindle_emf_v_s_per_rad * pi/30 * start_speed_rpm - brush_drop_v
    resistor_for_current_ohm = max(excess_v / peak_brake_current_a - armature_resistance_ohm, 0)

    Parameters
    ----------
    peak_brake_current_a : float or array [A]
        The limit.
    start_speed_rpm : float or array [rpm]
        The highest spindle speed from which the brake will ever come in.
    spindle_emf_v_s_per_rad : float or array [V s/rad]
        Voltage constant at the spindle.
    armature_resistance_ohm : float or array [ohm]
        Armature, cold.
    brush_drop_v : float or array [V]
        Voltage lost at both brushes together.

    Returns
    -------
    float or array [ohm]
        Resistor outside the motor; 0 where a short circuit stays within the limit.

    Range
    -----
    Limit, constant and armature above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is out of range.

    Examples
    --------
    >>> circuit = {"spindle_emf_v_s_per_rad": 0.657, "armature_resistance_ohm": 1.6}
    >>> round(float(resistor_for_current_ohm(15.0, start_speed_rpm=2500, **circuit)), 2)
    9.87

    Source
    ------
    Inverse of `peak_brake_current_a`; published as R = V/I permissible (read as an excerpt).
    """
    emf_v = positive("spindle_emf_v_s_per_rad", spindle_emf_v_s_per_rad) * RPM * start_speed_rpm
    excess_v = emf_v - not_negative("brush_drop_v", brush_drop_v)
    loop = excess_v / positive("peak_brake_current_a", peak_brake_current_a)
    return np.maximum(loop - positive("armature_resistance_ohm", armature_resistance_ohm), 0.0)
