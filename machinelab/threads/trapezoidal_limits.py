"""Limits of trapezoidal threads of the classes 7e and 7H.

They are for threads that carry and move a load. A screw that must place a tool to hundredths has its own, by
its lead and its play.
"""

from machinelab.errors import RangeError
from machinelab.threads.basic_sizes import basic_sizes
from machinelab.threads.limit_sizes import OPEN, Limits, micrometres, rounded
from machinelab.threads.metric_limits import crest_row, pitch_row
from machinelab.threads.thread import Thread

__all__ = ["TRAPEZOIDAL_CLASSES", "trapezoidal_limits"]

TRAPEZOIDAL_CLASSES = ("7e", "7H")
# Tolerance of the screw's root in tolerances of its pitch diameter, its deviation added: seen in the table.
ROOT_SHARE = 1.25


def trapezoidal_limits(thread: Thread, tolerance_class: str) -> Limits:
    """Limits of a trapezoidal screw or nut.

    Formula
    -------
    none: figures from tables, taken from the basic sizes

    Parameters
    ----------
    thread : Thread
        A trapezoidal thread; of several starts the pitch counts, and the pitch diameter may have more by the
        standard, which is not added here.
    tolerance_class : str
        7e for the screw, 7H for the nut.

    Returns
    -------
    Limits
        To 0.001 mm, for a normal length of engagement.

    Raises
    ------
    RangeError
        If the class is another, or no figure is known for the pitch and diameter.

    Examples
    --------
    >>> from machinelab.threads.form import parse
    >>> trapezoidal_limits(parse("Tr20x4"), "7e").pitch_mm
    (17.64, 17.905)

    Source
    ------
    DIN 103 limits as transcribed in a public CAD data set (read). Its pitch of 6 mm stands in the row of 7
    and is mended here by the metric tables; its roots for 12 mm are 10 um above what its pitch diameters say.
    """
    if tolerance_class not in TRAPEZOIDAL_CLASSES:
        raise RangeError(
            f"{tolerance_class}: for trapezoidal threads figures are known for 7e (screw) and 7H (nut) only."
        )
    crests, pitch = crest_row(thread, "trapezoidal"), pitch_row(thread, "trapezoidal")
    make = _screw if tolerance_class == "7e" else _nut
    return make(thread, tolerance_class, crests, pitch)


def _screw(thread: Thread, tolerance_class: str, crests: dict, pitch: dict) -> Limits:
    basic = basic_sizes(thread)
    below, tolerance = float(crests["e_um"]), float(pitch["screw_um"])
    major, root = rounded(basic.major_diameter_mm, 3), rounded(basic.root_diameter_mm, 3)
    effective = rounded(basic.pitch_diameter_mm, 3) - micrometres(below)
    lowest_root = rounded(float(root) - (ROOT_SHARE * tolerance + below) / 1000, 3)
    return Limits(
        designation=thread.designation,
        tolerance_class=tolerance_class,
        side="screw",
        major_mm=(float(major - micrometres(float(crests["screw_major_um"]))), float(major)),
        pitch_mm=(float(effective - micrometres(tolerance)), float(effective)),
        minor_mm=(float(lowest_root), float(root)),
        source=pitch["source"],
    )


def _nut(thread: Thread, tolerance_class: str, crests: dict, pitch: dict) -> Limits:
    basic = basic_sizes(thread)
    minor, effective = rounded(basic.minor_diameter_mm, 3), rounded(basic.pitch_diameter_mm, 3)
    return Limits(
        designation=thread.designation,
        tolerance_class=tolerance_class,
        side="nut",
        major_mm=(float(rounded(basic.nut_major_diameter_mm, 3)), OPEN),
        pitch_mm=(float(effective), float(effective + micrometres(float(pitch["nut_um"])))),
        minor_mm=(float(minor), float(minor + micrometres(float(crests["nut_minor_um"])))),
        source=pitch["source"],
    )
