"""Whether parts of a drive can sit at mains voltage, and whether noise can reach the encoder.

A board from another machine is taken as live until the opposite is known: every knob, switch, meter, tacho
lead and heat sink of it can sit at mains voltage.
"""

from collections.abc import Mapping

import numpy as np

from machinelab.controls.electrical_limits import CheckPoint, check_points
from machinelab.errors import RangeError
from machinelab.ranges import not_negative

__all__ = ["cable_separation_mm", "open_points", "taken_as_live"]

# The point that alone decides whether knob and switches are isolated.
ISOLATED = "i1"
FIXED_MM, PER_METRE_MM = 75.0, 25.0


def open_points(check_list, answers) -> tuple[CheckPoint, ...]:
    """Which points of a list are not fulfilled, or not known.

    Formula
    -------
    none: what is not answered by yes stays open.

    Parameters
    ----------
    check_list : str
        ``emergency_stop``, ``isolation`` or ``noise``.
    answers : mapping of str to bool or None
        Yes, no or not known by the number of the point; a point left out is not known.

    Returns
    -------
    tuple of CheckPoint
        The open points in their order.

    Raises
    ------
    RangeError
        If an answer belongs to no point of the list, or is neither yes, no nor not known.

    Examples
    --------
    >>> answers = {"i1": None, "i2": True, "i3": True, "i4": True, "i5": True, "i6": True, "i7": False}
    >>> [one.point for one in open_points("isolation", answers)]
    ['i1', 'i7']

    Source
    ------
    Derived here; the points have their sources.
    """
    points = check_points(check_list)
    _check(answers, {one.point for one in points})
    return tuple(one for one in points if answers.get(one.point) is not True)


def taken_as_live(answers) -> bool:
    """Whether knob, switches and meter of the board must be taken as live.

    Formula
    -------
    none: live unless it is known that a transformer or optocouplers stand between.

    Parameters
    ----------
    answers : mapping of str to bool or None
        Answers to the list ``isolation``.

    Returns
    -------
    bool
        Yes where it is not so, and where it is not known.

    Raises
    ------
    RangeError
        If an answer belongs to no point of the list.

    Examples
    --------
    >>> taken_as_live({"i1": None}), taken_as_live({"i1": True})
    (True, False)

    Source
    ------
    Common practice, no source.
    """
    _check(answers, {one.point for one in check_points("isolation")})
    return answers.get(ISOLATED) is not True


def cable_separation_mm(parallel_run_m):
    """How far an encoder's cable is kept from power where they run side by side.

    Formula
    -------
    cable_separation_mm = max(75, 25 * parallel_run_m)

    Parameters
    ----------
    parallel_run_m : float or array [m]
        Length over which they run side by side.

    Returns
    -------
    float or array [mm]
        The larger of what two manuals ask, which differ.

    Range
    -----
    NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the length is less than zero.

    Examples
    --------
    >>> float(cable_separation_mm(1.0)), float(cable_separation_mm(4.0))
    (75.0, 100.0)

    Source
    ------
    Two drive manuals, read as excerpts: 75 mm, and 25 mm for each metre.
    """
    return np.maximum(FIXED_MM, PER_METRE_MM * not_negative("parallel_run_m", parallel_run_m))


def _check(answers: Mapping, points: set[str]) -> None:
    unknown = sorted(str(name) for name in set(answers) - points)
    if unknown:
        raise RangeError(f"The list has no point {', '.join(unknown)}. It has: {', '.join(sorted(points))}.")
    wrong = [name for name, said in answers.items() if said not in (True, False, None)]
    if wrong:
        raise RangeError(f"Point {wrong[0]} is answered {answers[wrong[0]]!r}; answer yes, no or not known.")
