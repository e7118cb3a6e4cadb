"""Switches and relays on direct current, where an arc does not go out twice in every cycle by itself.

A contact marked for alternating current alone breaks hardly anything of a motor's current. Such a contact may
only change over while no current flows; what carries the current then is another matter. How a relay's data
sheet is read between its points stands in `machinelab.spindle.brake_contact`.
"""

from dataclasses import dataclass

import numpy as np

from machinelab import tables
from machinelab.errors import RangeError
from machinelab.ranges import not_negative, positive, whole

__all__ = ["SuppressedRelease", "may_open_a", "suppressed_release_s", "switches"]


@dataclass(frozen=True)
class SuppressedRelease:
    """How long a relay takes to let go with what quenches the spark of its coil.

    Parameters
    ----------
    shortest_s : float or array [s]
        At the least.
    longest_s : float or array [s]
        At the most; what the control box is checked with.
    source : str
        Where the factors come from.
    """

    shortest_s: float
    longest_s: float
    source: str


def switches() -> tuple[str, ...]:
    """Which contacts marked for alternating current the table knows.

    Formula
    -------
    none: the names in the table ``dc_switches``.

    Returns
    -------
    tuple of str
        Their names.

    Examples
    --------
    >>> switches()[0]
    'small relay marked 10 A 250 V AC'

    Source
    ------
    See the source of each row.
    """
    return tuple(dict.fromkeys(row["device"] for row in tables.read("dc_switches")))


def may_open_a(voltage_v, *, device, load, poles):
    """Which direct current a contact marked for alternating current may open.

    Formula
    -------
    none: the row of the table ``dc_switches`` whose voltage is the next at or above that of each pole.

    Parameters
    ----------
    voltage_v : float or array [V]
        Direct voltage across the open contact.
    device : str
        A name of the table.
    load : str
        Resistive, or inductive as a motor is.
    poles : int [1]
        Poles in series; they share the voltage (from memory).

    Returns
    -------
    float or array [A]
        Current; zero above the last voltage that its maker gives.

    Range
    -----
    NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the table has no figures for the device and the load.

    Examples
    --------
    >>> float(may_open_a(110, device="small relay marked 10 A 250 V AC", load="resistive", poles=1))
    0.5

    Source
    ------
    Makers' pages, read as excerpts: see each row.
    """
    rows = [row for row in tables.read("dc_switches") if (row["device"], row["load"]) == (device, load)]
    if not rows:
        known = ", ".join(f"{row['device']} ({row['load']})" for row in tables.read("dc_switches"))
        raise RangeError(
            f"The table has no {str(device)[:40]!r} for a load {str(load)[:20]!r}. It has: {known}."
        )
    each = positive("voltage_v", voltage_v) / whole("poles", poles)
    volts = np.array([float(row["voltage_v"]) for row in rows])
    amperes = np.array([*(float(row["current_a"]) for row in rows), 0.0])
    return np.where(np.isnan(each), np.nan, amperes[np.searchsorted(volts, each, side="left")])


def suppressed_release_s(release_s, *, suppressor) -> SuppressedRelease:
    """How long a relay takes to let go with a suppressor at its coil.

    Formula
    -------
    none: the relay's own time, times the factors of the table ``coil_suppressors``.

    Parameters
    ----------
    release_s : float or array [s]
        The relay's own release time.
    suppressor : str
        None, plain diode, diode and zener, or resistor and capacitor.

    Returns
    -------
    SuppressedRelease
        Shortest and longest.

    Range
    -----
    Put the longest into the control box's file as its dropout and check it again; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the time is less than zero or the table does not know the suppressor.

    Examples
    --------
    >>> found = suppressed_release_s(0.010, suppressor="plain diode")
    >>> round(found.shortest_s, 3), round(found.longest_s, 3)
    (0.05, 0.1)

    Source
    ------
    A comparison of suppressors, read as an excerpt: see each row.
    """
    rows = {row["suppressor"]: row for row in tables.read("coil_suppressors")}
    if suppressor not in rows:
        raise RangeError(f"There is no suppressor {str(suppressor)[:40]!r}. There are: {', '.join(rows)}.")
    own, row = not_negative("release_s", release_s), rows[suppressor]
    return SuppressedRelease(float(row["least_times"]) * own, float(row["most_times"]) * own, row["source"])
