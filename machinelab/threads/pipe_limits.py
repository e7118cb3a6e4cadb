"""Limits of parallel pipe threads (G), from the standard's table."""

from machinelab import tables
from machinelab.errors import RangeError
from machinelab.threads.limit_sizes import OPEN, Limits, micrometres, rounded
from machinelab.threads.thread import Thread

__all__ = ["PIPE_CLASSES", "pipe_limits"]

PIPE_CLASSES = ("A", "B", "nut")


def pipe_limits(thread: Thread, tolerance_class: str) -> Limits:
    """Limits of a parallel pipe thread, outside or inside.

    Formula
    -------
    none: figures from the standard's table

    Parameters
    ----------
    thread : Thread
        A G thread.
    tolerance_class : str
        A or B outside; nut inside, which has one class only.

    Returns
    -------
    Limits
        To 0.001 mm.

    Raises
    ------
    RangeError
        If there is no such class, or the size is beyond the table.

    Examples
    --------
    >>> from machinelab.threads.form import parse
    >>> pipe_limits(parse("G1/2"), "A").pitch_mm
    (19.651, 19.793)

    Source
    ------
    ISO 228-1, as transcribed in a public CAD data set (read).
    """
    if tolerance_class not in PIPE_CLASSES:
        raise RangeError(
            f"{tolerance_class} is no class of G threads. There are A, B (outside) and nut (inside)."
        )
    row, major = _row(thread), rounded(thread.nominal_diameter_mm, 3)
    # The standard rounds the depth first and takes it off twice.
    depth = rounded(2 * thread.form.crest_height * float(thread.pitch_mm), 3)
    effective, minor = major - depth, major - 2 * depth
    if tolerance_class == "nut":
        bore = micrometres(float(row["nut_minor_um"]))
        pairs = (
            (major, OPEN),
            (effective, effective + micrometres(float(row["class_a_um"]))),
            (minor, minor + bore),
        )
    else:
        below = micrometres(float(row[f"class_{tolerance_class.lower()}_um"]))
        # The crests of an outside thread have the tolerance of class B in both classes.
        crest = micrometres(float(row["class_b_um"]))
        pairs = ((major - crest, major), (effective - below, effective), (0, minor))
    sizes = [(float(low), float(high)) for low, high in pairs]
    side = "nut" if tolerance_class == "nut" else "screw"
    return Limits(thread.designation, tolerance_class, side, *sizes, source=row["source"])


def _row(thread: Thread) -> dict[str, str]:
    diameter = float(thread.nominal_diameter_mm)
    rows = (row for row in tables.read("pipe_thread_tolerances") if float(row["tpi"]) == thread.tpi)
    for row in sorted(rows, key=lambda row: float(row["largest_mm"])):
        if diameter <= float(row["largest_mm"]):
            return row
    raise RangeError(f"{thread.designation}: the table of ISO 228-1 has no tolerance for it.")
