"""The end of a threading pass: from the end of the thread to a spindle that stands.

Spindle, encoder and leadscrew stay locked to one another, so the tool goes on by the thread's lead for every
turn that the spindle still makes. The turns come in three parts: until the hand (or a counter) commands the
stop, until the brake has closed, and until the spindle stands.
"""

from dataclasses import dataclass, fields

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import not_negative
from machinelab.spindle.brake_circuit import RPM, brake_time_constant_s
from machinelab.spindle.brake_law import late_time_and_turns

__all__ = ["RunOn", "Stopping", "braked_by_resistor", "overtravel_turns", "run_on"]


@dataclass(frozen=True)
class Stopping:
    """What ends a pass once the stop is commanded; any figure may be an array, one for each pass.

    Parameters
    ----------
    drive_release_s : float or array [s]
        From the command until the drive lets go; so long the spindle keeps its speed.
    contact_delay_s : float or array [s]
        From the drive's letting go to the brake biting; so long the spindle coasts.
    brake_drag_per_s : float or array [1/s]
        What the resistor adds to the viscous drag over inertia; 0 for no brake.
    brush_speed_rad_s : float or array [rad/s]
        Below this speed the motor's voltage no longer passes the brushes.
    coulomb_rad_s2, viscous_per_s, windage_per_rad : float or array [rad/s2, 1/s, 1/rad]
        The three drags over inertia of the free spindle, from a coast-down.

    Source
    ------
    See `machinelab.spindle.brake_law`.
    """

    drive_release_s: float = 0.0
    contact_delay_s: float = 0.0
    brake_drag_per_s: float = 0.0
    brush_speed_rad_s: float = 0.0
    coulomb_rad_s2: float = 0.0
    viscous_per_s: float = 0.0
    windage_per_rad: float = 0.0

    @property
    def drags(self) -> dict[str, float]:
        """The free spindle's drags, as the run-down takes them."""
        names = ("coulomb_rad_s2", "viscous_per_s", "windage_per_rad")
        return {name: getattr(self, name) for name in names}

    @property
    def typical(self) -> "Stopping":
        """The mean of many passes' stops, as a single one."""
        return Stopping(**{field.name: float(np.mean(getattr(self, field.name))) for field in fields(self)})


@dataclass(frozen=True)
class RunOn:
    """From the stop command to standstill.

    Parameters
    ----------
    run_on_s : float or array [s]
        Time.
    run_on_turns : float or array [turn]
        Turns.

    Source
    ------
    See `run_on`.
    """

    run_on_s: float
    run_on_turns: float


def braked_by_resistor(
    *,
    spindle_emf_v_s_per_rad,
    armature_resistance_ohm,
    resistor_ohm,
    brush_drop_v=0.0,
    inertia_kg_m2,
    drive_release_s=0.0,
    contact_delay_s=0.0,
    coulomb_rad_s2,
    viscous_per_s=0.0,
    windage_per_rad=0.0,
) -> Stopping:
    """What ends a pass, from the circuit of the resistor brake.

    Formula
    -------
    loop_ohm = armature_resistance_ohm + resistor_ohm
    result.drive_release_s = drive_release_s
    result.contact_delay_s = contact_delay_s
    result.brake_drag_per_s = spindle_emf_v_s_per_rad**2/(loop_ohm*inertia_kg_m2)
    result.brush_speed_rad_s = brush_drop_v/spindle_emf_v_s_per_rad

    Parameters
    ----------
    spindle_emf_v_s_per_rad : float or array [V s/rad]
        Voltage constant at the spindle.
    armature_resistance_ohm, resistor_ohm : float or array [ohm]
        Armature and brake resistor.
    brush_drop_v : float or array [V]
        Voltage lost at both brushes together.
    inertia_kg_m2 : float or array [kg m2]
        All that turns, felt at the spindle; chuck and work too.
    drive_release_s, contact_delay_s : float or array [s, s]
        Until the drive lets go, and from there until the brake has closed.
    coulomb_rad_s2, viscous_per_s, windage_per_rad : float or array [rad/s2, 1/s, 1/rad]
        The three drags over inertia of the free spindle.

    Returns
    -------
    Stopping
        As the pass takes it.

    Range
    -----
    Resistor, brush drop and delays from zero up, constant, armature and inertia above zero.

    Raises
    ------
    RangeError
        If a number is out of range.

    Examples
    --------
    >>> motor = {"spindle_emf_v_s_per_rad": 1.97, "armature_resistance_ohm": 1.6, "inertia_kg_m2": 0.05}
    >>> round(float(braked_by_resistor(resistor_ohm=12.4, coulomb_rad_s2=3.0, **motor).brake_drag_per_s), 4)
    5.5441

    Source
    ------
    Textbook equation of a permanent-magnet motor, see `machinelab.spindle.brake_circuit`.
    """
    time_constant_s = brake_time_constant_s(
        spindle_emf_v_s_per_rad=spindle_emf_v_s_per_rad,
        armature_resistance_ohm=armature_resistance_ohm,
        resistor_ohm=resistor_ohm,
        inertia_kg_m2=inertia_kg_m2,
    )
    return Stopping(
        drive_release_s=not_negative("drive_release_s", drive_release_s),
        contact_delay_s=not_negative("contact_delay_s", contact_delay_s),
        brake_drag_per_s=1 / time_constant_s,
        brush_speed_rad_s=not_negative("brush_drop_v", brush_drop_v) / spindle_emf_v_s_per_rad,
        coulomb_rad_s2=coulomb_rad_s2,
        viscous_per_s=viscous_per_s,
        windage_per_rad=windage_per_rad,
    )


def run_on(speed_rpm, *, stopping) -> RunOn:
    """How long and how far the spindle runs on after the stop command.

    Formula
    -------
    none: steady until the drive lets go, free until the contact closes, braked down to standstill

    Parameters
    ----------
    speed_rpm : float or array [rpm]
        Spindle speed in the pass, not negative.
    stopping : Stopping
        What ends the pass.

    Returns
    -------
    RunOn
        Time and turns to standstill; the time is infinite where dry friction is missing.

    Range
    -----
    The free spindle must slow at every speed up to this one. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the speed, a delay or the brake is negative, there is no friction at all, or the drags would speed
        the spindle up.

    Examples
    --------
    >>> found = run_on(200, stopping=Stopping(brake_drag_per_s=2.5, coulomb_rad_s2=4.0))
    >>> round(float(found.run_on_s), 4), round(float(found.run_on_turns), 4)
    (1.0582, 1.0639)

    Source
    ------
    Pieces of `machinelab.spindle.brake_law`; the tests integrate the pass count by count.
    """
    speed = np.asarray(not_negative("speed_rpm", speed_rpm), float)
    steady_s = not_negative("drive_release_s", stopping.drive_release_s)
    if np.any((np.asarray(stopping.coulomb_rad_s2) <= 0) & (np.asarray(stopping.viscous_per_s) <= 0)):
        raise RangeError(
            "A spindle without any friction never stands: below the brush speed nothing else ends the stop. "
            "Give coulomb_rad_s2, from a coast-down; a few rad/s2 are usual."
        )
    time_s, turns = late_time_and_turns(
        speed * RPM,
        not_negative("contact_delay_s", stopping.contact_delay_s),
        not_negative("brake_drag_per_s", stopping.brake_drag_per_s),
        stopping.brush_speed_rad_s,
        stopping.drags,
    )
    return RunOn((time_s + steady_s * (speed > 0))[()], (turns + speed / 60 * steady_s)[()])


def overtravel_turns(speed_rpm, *, reaction_s, run_on_turns):
    """Turns past the end of the thread when the spindle stands.

    Formula
    -------
    overtravel_turns = speed_rpm/60*reaction_s + run_on_turns

    Parameters
    ----------
    speed_rpm : float or array [rpm]
        Spindle speed in the pass.
    reaction_s : float or array [s]
        From the end of the thread to the stop command; below zero for a hand that was early.
    run_on_turns : float or array [turn]
        Turns from the command to standstill, from `run_on`.

    Returns
    -------
    float or array [turn]
        Turns; below zero where the spindle stands before the end of the thread.

    Range
    -----
    Speed not negative; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the speed is negative.

    Examples
    --------
    >>> round(overtravel_turns(200, reaction_s=0.3, run_on_turns=1.0639), 3)
    2.064

    Source
    ------
    Derived here: turns a second times seconds, and the run-on.
    """
    return not_negative("speed_rpm", speed_rpm) / 60 * reaction_s + run_on_turns
