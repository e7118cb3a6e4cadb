"""The brake's contact: how late it closes, what it can break, and when it may open again.

Making the current is easy, breaking it is not: an arc of direct current does not go out by itself. The order
is: drive off and its output disconnected, a wait, brake in; and the brake out only at standstill.
"""

import numpy as np

from machinelab import tables
from machinelab.errors import RangeError
from machinelab.ranges import not_negative, positive, whole
from machinelab.spindle.brake_circuit import RPM, loop_ohm

__all__ = [
    "contact_wait_s",
    "dc_breaking_current_a",
    "opening_speed_rpm",
    "overlap_current_a",
    "turns_while_waiting",
]


def contact_wait_s(*, release_s, arc_s, drive_decay_s, closing_s):
    """The longest time from the stop command to the resistor being connected.

    Formula
    -------
    contact_wait_s = release_s + arc_s + drive_decay_s + closing_s

    Parameters
    ----------
    release_s : float or array [s]
        Until the run contactor has let go; a plain diode across its coil makes it 3 to 10 times as long
        (from memory; see the table ``release_times``).
    arc_s : float or array [s]
        Until its arc is out.
    drive_decay_s : float or array [s]
        Until the drive's output has died away.
    closing_s : float or array [s]
        Until the brake contact has closed.

    Returns
    -------
    float or array [s]
        The sum. Closed before the drive is off, the brake would short-circuit the drive, see
        `overlap_current_a`.

    Range
    -----
    All from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a time is negative.

    Examples
    --------
    >>> round(contact_wait_s(release_s=0.1, arc_s=0.01, drive_decay_s=0.02, closing_s=0.02), 3)
    0.15

    Source
    ------
    Derived here: the steps follow one another, and each may be at its worst.
    """
    steps = {"release_s": release_s, "arc_s": arc_s, "drive_decay_s": drive_decay_s, "closing_s": closing_s}
    return sum(not_negative(name, time_s) for name, time_s in steps.items())


def turns_while_waiting(start_speed_rpm, *, contact_delay_s):
    """Turns that the spindle makes before the brake contact has closed.

    Formula
    -------
    turns_while_waiting = start_speed_rpm / 60 * contact_delay_s

    Parameters
    ----------
    start_speed_rpm : float or array [rpm]
        Spindle speed when the drive lets go.
    contact_delay_s : float or array [s]
        From the drive's letting go to the resistor being connected.

    Returns
    -------
    float or array [turn]
        Turns, the little that friction takes off meanwhile left out.

    Range
    -----
    Delay from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the delay is negative.

    Examples
    --------
    >>> turns_while_waiting(600, contact_delay_s=0.1)
    1.0

    Source
    ------
    Derived here: turns a second times seconds.
    """
    return start_speed_rpm / 60 * not_negative("contact_delay_s", contact_delay_s)


def overlap_current_a(bus_voltage_v, *, resistor_ohm):
    """Current through drive and brake resistor if the brake comes in while the drive is still on.

    Formula
    -------
    overlap_current_a = bus_voltage_v / resistor_ohm

    Parameters
    ----------
    bus_voltage_v : float or array [V]
        What the drive puts out at most.
    resistor_ohm : float or array [ohm]
        The brake resistor.

    Returns
    -------
    float or array [A]
        What destroys a drive. The order of the contacts must make it impossible.

    Range
    -----
    Resistor above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the resistor is not above zero.

    Examples
    --------
    >>> round(overlap_current_a(170, resistor_ohm=12), 2)
    14.17

    Source
    ------
    Ohm's law.
    """
    return bus_voltage_v / positive("resistor_ohm", resistor_ohm)


def dc_breaking_current_a(voltage_v, *, relay, poles=1):
    """Direct current that a relay of the usual kind can break at a voltage, its load a plain resistor.

    Formula
    -------
    none: interpolated between the points of a data sheet, both scales logarithmic

    Parameters
    ----------
    voltage_v : float or array [V]
        Voltage that would stand across the open contact.
    relay : str
        A relay of the table ``dc_breaking``, such as "10 A relay of one maker". The 10 A in its name is for
        alternating current.
    poles : int [1]
        Poles in series, each taking its part of the voltage (common practice, no source).

    Returns
    -------
    float or array [A]
        Current it can break. A motor is an inductive load, for which it is less again.

    Range
    -----
    30 to 220 V for each pole, as far as the data sheets go; beyond it is refused, not guessed. NaN in
    gives NaN out.

    Raises
    ------
    RangeError
        If the voltage is outside the data sheet's points, or the relay is not in the table.

    Examples
    --------
    >>> float(dc_breaking_current_a(110, relay="10 A relay of one maker"))
    0.4

    Source
    ------
    Relay data sheets, read as excerpts: table ``dc_breaking``.
    """
    points_v, points_a = _points(relay)
    per_pole = np.asarray(voltage_v, float) / whole("poles", poles)
    if np.any(per_pole < points_v[0]) or np.any(per_pole > points_v[-1]):
        raise RangeError(
            f"{np.nanmax(per_pole):.4g} V for each pole is asked for; the data sheet of the {relay} goes "
            f"from {points_v[0]:g} to {points_v[-1]:g} V. Below that the figure at {points_v[0]:g} V holds "
            "at least; above it take a contactor made for direct current."
        )
    return np.exp(np.interp(np.log(per_pole), np.log(points_v), np.log(points_a)))


def opening_speed_rpm(
    *,
    spindle_emf_v_s_per_rad,
    armature_resistance_ohm,
    resistor_ohm,
    brush_drop_v=0.0,
    relay,
    poles=1,
):
    """The highest spindle speed at which the brake contact may still open.

    Whoever presses start while the spindle is coasting down braked opens it under current: lock that out
    by a delay or by waiting for standstill.

    Formula
    -------
    none: the speed at which the brake current equals what the contact can break, found by SciPy

    Parameters
    ----------
    spindle_emf_v_s_per_rad : float [V s/rad]
        Voltage constant at the spindle.
    armature_resistance_ohm, resistor_ohm : float [ohm]
        Armature and brake resistor.
    brush_drop_v : float [V]
        Voltage lost at both brushes together.
    relay : str
        A relay of the table ``dc_breaking``.
    poles : int [1]
        Poles in series.

    Returns
    -------
    float [rpm]
        Spindle speed; the end of the data sheet where even there the contact breaks the current.

    Range
    -----
    Resistor and brush drop from zero up, the others above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the contact cannot even break the current at the lowest voltage of its data sheet.

    Examples
    --------
    >>> circuit = {"spindle_emf_v_s_per_rad": 0.864, "armature_resistance_ohm": 1.2, "resistor_ohm": 12}
    >>> round(opening_speed_rpm(**circuit, brush_drop_v=2, relay="10 A relay of one maker"))
    514

    Source
    ------
    Derived here from `dc_breaking_current_a`; the voltage across the open contact is the motor's own.
    """
    from scipy.optimize import brentq

    emf = positive("spindle_emf_v_s_per_rad", spindle_emf_v_s_per_rad)
    loop = loop_ohm(armature_resistance_ohm, resistor_ohm)
    drop = not_negative("brush_drop_v", brush_drop_v)
    if np.isnan(emf + loop + drop):
        return float("nan")
    points_v, _ = _points(relay)
    lowest_v, highest_v = points_v[0] * poles, points_v[-1] * poles

    def too_much(voltage_v):
        breakable_a = dc_breaking_current_a(voltage_v, relay=relay, poles=poles)
        return float((voltage_v - drop) / loop - breakable_a)

    if too_much(lowest_v) > 0:
        raise RangeError(
            f"The {relay} cannot break this brake current: at {lowest_v:g} V it is "
            f"{(lowest_v - drop) / loop:.3g} A. Open it only at standstill, or take a contactor made for "
            "direct current."
        )
    voltage_v = highest_v if too_much(highest_v) < 0 else brentq(too_much, lowest_v, highest_v)
    return float(voltage_v / emf / RPM)


def _points(relay):
    rows = [row for row in tables.read("dc_breaking") if row["relay"] == relay]
    if not rows:
        known = ", ".join(dict.fromkeys(row["relay"] for row in tables.read("dc_breaking")))
        raise RangeError(f"There is no relay {relay!r} in the table; there are: {known}.")
    return tuple(np.array([float(row[column]) for row in rows]) for column in ("voltage_v", "current_a"))
