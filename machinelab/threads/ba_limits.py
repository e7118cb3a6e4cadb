"""Limits of BA threads, from the formulas of the standard's annex."""

from decimal import Decimal

from machinelab.errors import RangeError
from machinelab.threads.limit_sizes import OPEN, Limits, rounded
from machinelab.threads.thread import Thread

__all__ = ["BA_CLASSES", "ba_limits"]

BA_CLASSES = ("close screw", "normal screw", "nut")
SOURCE = "BS 93: formulas of its annex, in a public technical note and partly on a public page (both read)"
# From 11 BA down a screw has one class, without play and with a wider tolerance of its crests.
SMALLEST_WITH_PLAY_MM = 1.7
PLAY_MM = Decimal("0.025")
# Depths are rounded to five micrometres before they are taken off.
DEPTH_STEP = Decimal("0.005")


def ba_limits(thread: Thread, tolerance_class: str) -> Limits:
    """Limits of a BA screw or nut.

    Formula
    -------
    none: tolerances that grow with the pitch, rounded to 0.001 mm, taken from the printed basic sizes

    Parameters
    ----------
    thread : Thread
        A BA thread.
    tolerance_class : str
        "close screw" down to 10 BA, "normal screw" for all, or "nut".

    Returns
    -------
    Limits
        To 0.001 mm.

    Raises
    ------
    RangeError
        If there is no such class for this size.

    Examples
    --------
    >>> from machinelab.threads.form import parse
    >>> ba_limits(parse("0 BA"), "nut").minor_mm
    (4.8, 5.175)

    Source
    ------
    BS 93: formulas of its annex, in a public technical note and partly on a public page (both read).
    """
    if tolerance_class not in BA_CLASSES:
        raise RangeError(f"{tolerance_class} is no class of BA threads. There are {', '.join(BA_CLASSES)}.")
    pitch, major = float(thread.pitch_mm), rounded(thread.nominal_diameter_mm, 3)
    depth = (rounded(0.6 * pitch, 4) / DEPTH_STEP).quantize(Decimal(1)) * DEPTH_STEP
    basic = (major, major - depth, major - 2 * depth)
    pairs = _nut(basic, pitch) if tolerance_class == "nut" else _screw(thread, tolerance_class, basic, pitch)
    sizes = [(float(low), float(high)) for low, high in pairs]
    side = "nut" if tolerance_class == "nut" else "screw"
    return Limits(thread.designation, tolerance_class, side, *sizes, source=SOURCE)


def _screw(thread: Thread, tolerance_class: str, basic: tuple[Decimal, ...], pitch: float):
    small = thread.nominal_diameter_mm < SMALLEST_WITH_PLAY_MM
    if tolerance_class == "close screw":
        if small:
            raise RangeError(f"{thread.designation}: the close class ends with 10 BA; take normal screw.")
        tolerances = (0.15 * pitch, 0.08 * pitch + 0.02, 0.16 * pitch + 0.04)
        play = Decimal(0)
    else:
        tolerances = ((0.25 if small else 0.20) * pitch, 0.10 * pitch + 0.025, 0.20 * pitch + 0.05)
        play = Decimal(0) if small else PLAY_MM
    return [
        (size - play - rounded(tolerance, 3), size - play)
        for size, tolerance in zip(basic, tolerances, strict=True)
    ]


def _nut(basic: tuple[Decimal, ...], pitch: float):
    major, effective, minor = basic
    return (
        (major, OPEN),
        (effective, effective + rounded(0.12 * pitch + 0.03, 3)),
        (minor, minor + rounded(0.375 * pitch, 3)),
    )
