"""Kinds of stop, the time that a stop takes, and how far a hand goes meanwhile.

The kind of stop is not the "category" of ISO 13849, a common mix-up. Cutting the drive and letting a relay
fall that puts a resistor across the motor is a stop of category 0 with an added brake: the brake needs no
mains, since the magnets make the field. No rating of a home-built panel is given here: that takes figures of
its parts and a trained person.
"""

from dataclasses import dataclass

import numpy as np

from machinelab import tables
from machinelab.errors import RangeError
from machinelab.ranges import not_negative, positive, whole

__all__ = [
    "StopCategory",
    "StoppingTimes",
    "performance_level",
    "reach_distance_mm",
    "stop_category",
    "stopping_times",
]

# ISO 13855, read as excerpts that disagree which is for hand and which for body.
APPROACH_MM_S = (1600.0, 2000.0)
# Runs that a stopping time is taken from; common practice, no source.
WANTED_RUNS = 10


@dataclass(frozen=True)
class StopCategory:
    """What a kind of stop does.

    Parameters
    ----------
    category_number : int [1]
        0, 1 or 2.
    meaning : str
        What happens.
    for_emergency : bool
        Whether an emergency stop may be of this kind.
    source : str
        Where it was read.
    """

    category_number: int
    meaning: str
    for_emergency: bool
    source: str


@dataclass(frozen=True)
class StoppingTimes:
    """Stopping times of several runs.

    Parameters
    ----------
    mean_stop_s : float [s]
        Their mean.
    worst_stop_s : float [s]
        The longest, which is the one that counts.
    stop_runs : int [1]
        How many there were.
    enough_runs : bool
        Whether there were ten or more.
    """

    mean_stop_s: float
    worst_stop_s: float
    stop_runs: int
    enough_runs: bool


def stop_category(category_number) -> StopCategory:
    """What a kind of stop does, by its number.

    Formula
    -------
    none: a row of the table ``stop_categories``.

    Parameters
    ----------
    category_number : int [1]
        0, 1 or 2.

    Returns
    -------
    StopCategory
        Meaning, and whether it may serve as emergency stop.

    Raises
    ------
    RangeError
        If there is no such category.

    Examples
    --------
    >>> [stop_category(number).for_emergency for number in (0, 1, 2)]
    [True, True, False]

    Source
    ------
    IEC 60204-1, 9.2: excerpt read on a third-party page.
    """
    wanted = whole("category_number", category_number, at_least=0)
    for row in tables.read("stop_categories"):
        if int(row["stop_category"]) == wanted:
            return StopCategory(wanted, row["meaning"], row["for_emergency"] == "yes", row["source"])
    raise RangeError(f"category_number is {wanted}; stops are of category 0, 1 or 2.")


def performance_level(failures_per_h) -> str:
    """Which letter of ISO 13849-1 belongs to a rate of dangerous failures, for orientation only.

    Formula
    -------
    none: a row of the table ``performance_levels``.

    Parameters
    ----------
    failures_per_h : float [1/h]
        Dangerous failures each hour.

    Returns
    -------
    str
        From a to e; empty where the rate is outside the table.

    Raises
    ------
    RangeError
        If the rate is less than zero.

    Examples
    --------
    >>> performance_level(2e-6), performance_level(1e-3)
    ('c', '')

    Source
    ------
    ISO 13849-1, table 2, as reprinted: excerpt read on a third-party page.
    """
    rate = not_negative("failures_per_h", failures_per_h)
    for row in tables.read("performance_levels"):
        if float(row["least_per_h"]) <= rate < float(row["below_per_h"]):
            return row["performance_level"]
    return ""


def stopping_times(stop_times_s) -> StoppingTimes:
    """What several timed stops come to.

    Formula
    -------
    none: mean and longest of the runs.

    Parameters
    ----------
    stop_times_s : array [s]
        From the contact that opens to the last edge of the encoder; the rpm meter lags and does not serve.

    Returns
    -------
    StoppingTimes
        Mean, worst, how many.

    Range
    -----
    With the heaviest chuck from the highest speed, ten runs; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If there is no time, or one is not above zero.

    Examples
    --------
    >>> found = stopping_times([1.9, 2.1, 2.0])
    >>> round(found.mean_stop_s, 2), found.worst_stop_s, found.enough_runs
    (2.0, 2.1, False)

    Source
    ------
    Common practice, no source.
    """
    times = np.atleast_1d(positive("stop_times_s", stop_times_s))
    if not times.size:
        raise RangeError("stop_times_s is empty; time at least one stop, better ten.")
    return StoppingTimes(
        float(times.mean()), float(times.max()), int(times.size), bool(times.size >= WANTED_RUNS)
    )


def reach_distance_mm(stop_time_s, *, approach_mm_s):
    """How far a hand or a body comes while the machine still stops.

    Formula
    -------
    reach_distance_mm = approach_mm_s * stop_time_s

    Parameters
    ----------
    stop_time_s : float or array [s]
        Whole time to standstill, from the moment that the hand starts the stop.
    approach_mm_s : float or array [mm/s]
        1600 or 2000 mm/s.

    Returns
    -------
    float or array [mm]
        Distance; at a lathe nobody stands so far off, which is why a stop does not replace a guard.

    Range
    -----
    For comparison only: the standard adds a distance for what reaches through. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is less than zero.

    Examples
    --------
    >>> float(reach_distance_mm(0.8, approach_mm_s=1600))
    1280.0

    Source
    ------
    ISO 13855, excerpts read on third-party pages, which disagree on the two speeds; from memory 2000 mm/s up
    to half a metre, then 1600.
    """
    return not_negative("approach_mm_s", approach_mm_s) * not_negative("stop_time_s", stop_time_s)
