"""Limits of ISO metric threads, from the standard's tables.

The tables rule: their figures are those of the standard's formulas rounded to preferred numbers, but for
eighteen of them (the formulas alone are wrong for M10x1.5-6H). Grades other than the sixth stand four
preferred numbers away for each grade.
"""

import re
from functools import cache

from machinelab import tables
from machinelab.errors import RangeError
from machinelab.threads.basic_sizes import basic_sizes
from machinelab.threads.limit_sizes import OPEN, Limits, micrometres, rounded
from machinelab.threads.pitch_tolerance import preferred_number_on
from machinelab.threads.thread import Thread

__all__ = ["METRIC_CLASSES", "crest_row", "diameter_step", "metric_limits", "pitch_row"]

METRIC_CLASSES = (
    *("3h4h", "4h", "5h4h", "5g6g", "6e", "6f", "6g", "6h", "7g6g", "8e", "8g"),
    *("4H", "4H5H", "5H", "6G", "6H", "7G", "7H", "8H"),
)
STEPS_A_GRADE = 4
# The finest pitch that a grade goes with, ISO 965-1, from memory.
FINEST_OF_GRADE = {7: 0.5, 8: 0.8, 9: 0.8}
FINEST_OF_NUT_GRADE = {5: 0.25, 6: 0.3, **FINEST_OF_GRADE}
# Smallest root of a screw below its smallest pitch diameter, in pitches, for a radius of P/8: derived here.
ROOT_BELOW_PITCH_LINE = 0.61603
_SCREW = re.compile(r"(?P<pitch>[3-9])(?P<letter>[efgh])(?:(?P<crest>[468])(?P=letter))?")
_NUT = re.compile(r"(?P<pitch>[4-8])(?P<letter>[GH])(?:(?P<crest>[4-8])(?P=letter))?")


def metric_limits(thread: Thread, tolerance_class: str) -> Limits:
    """Limits of an ISO metric screw or nut.

    Formula
    -------
    none: figures from the standard's tables, taken from the basic sizes rounded to 0.001 mm

    Parameters
    ----------
    thread : Thread
        An ISO metric thread.
    tolerance_class : str
        Grade and position, small letters for the screw: 6g, 4h, 5g6g (pitch diameter first), 6H, 4H5H.

    Returns
    -------
    Limits
        To 0.001 mm, for a normal length of engagement.

    Raises
    ------
    RangeError
        If the standard has no figure for the pitch, the diameter or the grade.

    Examples
    --------
    >>> from machinelab.threads.form import parse
    >>> metric_limits(parse("M10"), "6H").pitch_mm
    (9.026, 9.206)

    Source
    ------
    ISO 965-1: tables as their own source columns say; steps between grades derived here from the factors 0.5,
    0.63, 0.8, 1.25, 1.6 and 2, which are whole steps of R40.
    """
    if found := _SCREW.fullmatch(tolerance_class):
        return _screw(thread, tolerance_class, found)
    if found := _NUT.fullmatch(tolerance_class):
        return _nut(thread, tolerance_class, found)
    raise RangeError(
        f"{tolerance_class} is no class of ISO metric threads that is known here. "
        f"There are {', '.join(METRIC_CLASSES)}, and others of the grades 3 to 9 with e, f, g, h, G or H."
    )


def _screw(thread: Thread, tolerance_class: str, found) -> Limits:
    crests, pitch = crest_row(thread, "metric"), pitch_row(thread, "metric")
    deviation = crests[f"{found['letter']}_um"] if found["letter"] != "h" else "0"
    if not deviation:
        raise RangeError(
            f"{thread.designation}: ISO 965-1 has no position {found['letter']} for so fine a pitch."
        )
    below = micrometres(float(deviation))
    crest_grade = int(found["crest"] or found["pitch"])
    if crest_grade not in (4, 6, 8):
        raise RangeError(
            f"{tolerance_class}: the outside diameter of a screw has the grades 4, 6 and 8 only. "
            f"Type its grade behind, such as {found['pitch']}{found['letter']}6{found['letter']}."
        )
    basic, step = basic_sizes(thread), float(thread.pitch_mm)
    major = rounded(basic.major_diameter_mm, 3) - below
    effective = rounded(basic.pitch_diameter_mm, 3) - below
    lowest = effective - _graded(thread, pitch["screw_um"], int(found["pitch"]), FINEST_OF_GRADE)
    root = (lowest - rounded(ROOT_BELOW_PITCH_LINE * step, 6), rounded(basic.minor_diameter_mm, 3) - below)
    major_tolerance = _graded(thread, crests["screw_major_um"], crest_grade, FINEST_OF_GRADE)
    return Limits(
        designation=thread.designation,
        tolerance_class=tolerance_class,
        side="screw",
        major_mm=(float(major - major_tolerance), float(major)),
        pitch_mm=(float(lowest), float(effective)),
        minor_mm=(float(rounded(root[0], 3)), float(root[1])),
        source=pitch["source"],
    )


def _nut(thread: Thread, tolerance_class: str, found) -> Limits:
    crests, pitch = crest_row(thread, "metric"), pitch_row(thread, "metric")
    above = micrometres(float(crests["g_um"])) if found["letter"] == "G" else micrometres(0)
    basic = basic_sizes(thread)
    minor, effective = (
        rounded(size, 3) + above for size in (basic.minor_diameter_mm, basic.pitch_diameter_mm)
    )
    crest_grade = int(found["crest"] or found["pitch"])
    highest_minor = minor + _graded(thread, crests["nut_minor_um"], crest_grade, FINEST_OF_NUT_GRADE)
    highest = effective + _graded(thread, pitch["nut_um"], int(found["pitch"]), FINEST_OF_GRADE)
    return Limits(
        designation=thread.designation,
        tolerance_class=tolerance_class,
        side="nut",
        major_mm=(float(rounded(basic.major_diameter_mm, 3) + above), OPEN),
        pitch_mm=(float(effective), float(highest)),
        minor_mm=(float(minor), float(highest_minor)),
        source=pitch["source"],
    )


def _graded(thread: Thread, grade_six_um: str, grade: int, finest: dict[int, float]):
    least = finest.get(grade, 0.0)
    if float(thread.pitch_mm) < least:
        raise RangeError(
            f"{thread.designation}: ISO 965-1 has no grade {grade} below a pitch of {least:g} mm. "
            "Take a finer grade, a smaller figure."
        )
    return micrometres(preferred_number_on(float(grade_six_um), STEPS_A_GRADE * (grade - 6)))


def crest_row(thread: Thread, form: str) -> dict[str, str]:
    """Deviations and tolerances that go by the pitch alone.

    Formula
    -------
    none: a look-up in the table thread_crest_tolerances

    Parameters
    ----------
    thread : Thread
        The thread.
    form : str
        "metric" or "trapezoidal".

    Returns
    -------
    dict of str
        The row of the table.

    Raises
    ------
    RangeError
        If the table has no such pitch.

    Examples
    --------
    >>> from machinelab.threads.form import parse
    >>> crest_row(parse("M10"), "metric")["g_um"]
    '32'

    Source
    ------
    The table's own source column.
    """
    row = _crests(form).get(float(thread.pitch_mm))
    if row is None:
        pitches = ", ".join(f"{pitch:g}" for pitch in _crests(form))
        raise RangeError(
            f"{thread.designation}: there is no tolerance for a pitch of {float(thread.pitch_mm):g} mm. "
            f"The pitches with one are {pitches} mm."
        )
    return row


def pitch_row(thread: Thread, form: str) -> dict[str, str]:
    """Tolerances of the pitch diameter, which go by pitch and step of diameters.

    Formula
    -------
    none: a look-up in the table thread_pitch_tolerances

    Parameters
    ----------
    thread : Thread
        The thread.
    form : str
        "metric" or "trapezoidal".

    Returns
    -------
    dict of str
        The row of the table.

    Raises
    ------
    RangeError
        If the standard has no such pitch at this diameter.

    Examples
    --------
    >>> from machinelab.threads.form import parse
    >>> pitch_row(parse("M10"), "metric")["nut_um"]
    '180'

    Source
    ------
    The table's own source column.
    """
    low, high = diameter_step(thread, form)
    here = {pitch: row for (start, pitch), row in _pitches(form).items() if start == low}
    row = here.get(float(thread.pitch_mm))
    if row is None:
        pitches = ", ".join(f"{pitch:g}" for pitch in here)
        raise RangeError(
            f"{thread.designation}: the standard has no tolerance for a pitch of "
            f"{float(thread.pitch_mm):g} mm on diameters over {low:g} up to {high:g} mm. "
            f"It has the pitches {pitches} mm there."
        )
    return row


def diameter_step(thread: Thread, form: str = "metric") -> tuple[float, float]:
    """The standard's step of diameters that a thread falls into, its upper end included.

    Formula
    -------
    none: a look-up in the table thread_pitch_tolerances

    Parameters
    ----------
    thread : Thread
        The thread.
    form : str
        "metric" or "trapezoidal".

    Returns
    -------
    tuple of (float, float) [mm]
        Over the first, up to and including the second.

    Raises
    ------
    RangeError
        If the diameter is unknown or beyond the table.

    Examples
    --------
    11 mm still lies in the step of 10 mm:

    >>> from machinelab.threads.form import parse
    >>> diameter_step(parse("M11x1"))
    (5.6, 11.2)

    Source
    ------
    ISO 965-1, from memory.
    """
    diameter = basic_sizes(thread).major_diameter_mm
    rows = _pitches(form).values()
    steps = dict.fromkeys((float(row["step_from_mm"]), float(row["step_to_mm"])) for row in rows)
    for low, high in steps:
        if low < diameter <= high:
            return low, high
    first, last = next(iter(steps))[0], max(high for _, high in steps)
    raise RangeError(f"{thread.designation}: the tolerances go from {first:g} to {last:g} mm.")


@cache
def _crests(form: str) -> dict[float, dict[str, str]]:
    rows = (row for row in tables.read("thread_crest_tolerances") if row["form"] == form)
    return {float(row["pitch_mm"]): row for row in rows}


@cache
def _pitches(form: str) -> dict[tuple[float, float], dict[str, str]]:
    rows = (row for row in tables.read("thread_pitch_tolerances") if row["form"] == form)
    return {(float(row["step_from_mm"]), float(row["pitch_mm"])): row for row in rows}
