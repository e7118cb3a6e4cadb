"""Headstock, twisted bed or tailstock: which of them makes the taper, from several tests together.

One pair of collars gives one number for three causes. Each further test asks the causes in another
proportion, so that together they can be told apart; what they cannot tell is said, with the test that would.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from machinelab.errors import RangeError
from machinelab.estimate import Estimate
from machinelab.least_squares import NORMAL_95
from machinelab.ranges import positive

__all__ = ["Alignment", "AlignmentTest", "between_centres", "in_the_chuck", "level_across", "separate_causes"]

CAUSES = ("headstock", "twist", "tailstock")
_UNSEEN = 1e-6
ADVICE = {
    "headstock": "turn two collars on a bar held in the chuck alone",
    "twist": "lay a level across the bed at both ends, turned end for end each time",
    "tailstock": "turn two collars between centres",
}


@dataclass(frozen=True)
class AlignmentTest:
    """One test and how strongly each cause shows in it.

    Parameters
    ----------
    name : str
        What was tested.
    reading : float
        What was read: mm of diameter for collars, mm/m for a level.
    reading_sd : float
        Its standard uncertainty, in the same unit.
    shares : tuple of three floats
        Reading for one mm/m of headstock skew, one mm/m of bed twist a metre, one mm of tailstock offset.
    """

    name: str
    reading: float
    reading_sd: float
    shares: tuple[float, float, float]


@dataclass(frozen=True)
class Alignment:
    """Each cause of a taper with its 95 % interval; one that the tests cannot tell is missing.

    Parameters
    ----------
    headstock_mm_m : Estimate or None [mm/m]
        Skew of the spindle's axis seen from above; positive when its far end lies away from the tool.
    bed_twist_mm_m2 : Estimate or None [mm/m2]
        Change of level across the bed for each metre along it.
    tailstock_mm : Estimate or None [mm]
        Offset of the tailstock's centre; positive away from the tool.
    disagreement : float [1]
        Chance that tests which agree would look so different; below 0.05 something is wrong. NaN when there
        is no test to spare.
    ask_next : tuple of str
        Tests that would tell the causes which are still missing.
    """

    headstock_mm_m: Estimate | None
    bed_twist_mm_m2: Estimate | None
    tailstock_mm: Estimate | None
    disagreement: float
    ask_next: tuple[str, ...]


def in_the_chuck(taper_mm, taper_sd_mm, *, collar_distance_mm, centre_height_mm) -> AlignmentTest:
    """Two collars on a bar that only the chuck holds, or a test bar read with the dial on the carriage.

    Formula
    -------
    none: diameter = 2 * skew * length + 2 * centre height * twist a metre * length

    Parameters
    ----------
    taper_mm : float [mm]
        Diameter at the far collar less that at the near one, after the bar's bending has been taken off;
        for a test bar twice the change of the dial, mean of readings half a turn apart.
    taper_sd_mm : float [mm]
        Its standard uncertainty.
    collar_distance_mm : float [mm]
        From collar to collar.
    centre_height_mm : float [mm]
        Height of the centres above the ways.

    Returns
    -------
    AlignmentTest
        For `separate_causes`.

    Range
    -----
    Lengths and uncertainty above zero.

    Raises
    ------
    RangeError
        If one of them is not.

    Examples
    --------
    >>> in_the_chuck(0.03, 0.004, collar_distance_mm=150, centre_height_mm=100).shares
    (0.3, 0.03, 0.0)

    Source
    ------
    See `machinelab.accuracy.collars`.
    """
    length_m = float(positive("collar_distance_mm", collar_distance_mm)) / 1000
    height_m = float(positive("centre_height_mm", centre_height_mm)) / 1000
    shares = (2 * length_m, 2 * height_m * length_m, 0.0)
    return _test("collars in the chuck", taper_mm, taper_sd_mm, shares)


def between_centres(
    taper_mm, taper_sd_mm, *, collar_distance_mm, between_centres_mm, centre_height_mm
) -> AlignmentTest:
    """Two collars on a bar between centres: the headstock's skew does not show in them.

    Formula
    -------
    none: diameter = 2 * offset * length / distance of centres + 2 * centre height * twist a metre * length

    Parameters
    ----------
    taper_mm : float [mm]
        Diameter of the collar at the tailstock less that at the headstock.
    taper_sd_mm : float [mm]
        Its standard uncertainty.
    collar_distance_mm : float [mm]
        From collar to collar.
    between_centres_mm : float [mm]
        From centre to centre.
    centre_height_mm : float [mm]
        Height of the centres above the ways.

    Returns
    -------
    AlignmentTest
        For `separate_causes`.

    Range
    -----
    Lengths and uncertainty above zero.

    Raises
    ------
    RangeError
        If one of them is not.

    Examples
    --------
    >>> test = between_centres(
    ...     0.03, 0.004, collar_distance_mm=200, between_centres_mm=300, centre_height_mm=100
    ... )
    >>> [round(share, 4) for share in test.shares]
    [0.0, 0.04, 1.3333]

    Source
    ------
    See `machinelab.accuracy.collars`.
    """
    length = float(positive("collar_distance_mm", collar_distance_mm))
    height_m = float(positive("centre_height_mm", centre_height_mm)) / 1000
    centres = float(positive("between_centres_mm", between_centres_mm))
    shares = (0.0, 2 * height_m * length / 1000, 2 * length / centres)
    return _test("collars between centres", taper_mm, taper_sd_mm, shares)


def level_across(twist_mm_m, twist_sd_mm_m, *, station_distance_mm) -> AlignmentTest:
    """The level laid across the bed at two places: twist alone.

    Formula
    -------
    none: difference of levels = twist a metre * distance

    Parameters
    ----------
    twist_mm_m : float [mm/m]
        Level at the far station less that at the near one, each the mean of both ways round.
    twist_sd_mm_m : float [mm/m]
        Its standard uncertainty.
    station_distance_mm : float [mm]
        Along the bed.

    Returns
    -------
    AlignmentTest
        For `separate_causes`.

    Range
    -----
    Distance and uncertainty above zero.

    Raises
    ------
    RangeError
        If one of them is not.

    Examples
    --------
    >>> level_across(0.05, 0.01, station_distance_mm=500).shares
    (0.0, 0.5, 0.0)

    Source
    ------
    Derived here: the definition of a twist a metre.
    """
    distance_m = float(positive("station_distance_mm", station_distance_mm)) / 1000
    return _test("level across the bed", twist_mm_m, twist_sd_mm_m, (0.0, distance_m, 0.0))


def separate_causes(tests: Sequence[AlignmentTest]) -> Alignment:
    """Tell headstock skew, bed twist and tailstock offset apart.

    Formula
    -------
    none: least squares weighted by each test's own uncertainty; a cause that has no share of its own in the
    tests stays missing

    Parameters
    ----------
    tests : sequence of AlignmentTest
        From `in_the_chuck`, `between_centres` and `level_across`, each as often as it was done.

    Returns
    -------
    Alignment
        The causes, whether the tests agree, and what to test next.

    Range
    -----
    At least one test.

    Raises
    ------
    RangeError
        If there is none.

    Examples
    --------
    >>> bar = in_the_chuck(0.03, 0.004, collar_distance_mm=150, centre_height_mm=100)
    >>> separate_causes([bar]).headstock_mm_m is None
    True
    >>> level = level_across(0.0, 0.01, station_distance_mm=150)
    >>> round(separate_causes([bar, level]).headstock_mm_m.value, 6)
    0.1

    Source
    ------
    Weighted linear least squares and the chi-square test, textbook.
    """
    from scipy.stats import chi2

    if not tests:
        raise RangeError("There is no test yet. Begin: " + ADVICE["headstock"] + ".")
    sds = np.array([test.reading_sd for test in tests])
    design = np.array([test.shares for test in tests]) / sds[:, None]
    readings = np.array([test.reading for test in tests]) / sds
    _, sizes, directions = np.linalg.svd(design)
    rank = int(np.sum(sizes > _UNSEEN * sizes[0]))
    # A cause that leans into a direction in which no test looks can take any value there.
    told = np.all(np.abs(directions[rank:]) < _UNSEEN, axis=0)
    inverse = np.linalg.pinv(design, rcond=_UNSEEN)
    values, reach = inverse @ readings, NORMAL_95 * np.sqrt(np.diag(inverse @ inverse.T))
    freedom = len(tests) - rank
    # With as many unknowns as readings nothing is left over, and the chance of that is no number.
    left_over = float(np.sum((readings - design @ values) ** 2))
    found = [
        Estimate.symmetric(float(value), float(half)) if known else None
        for value, half, known in zip(values, reach, told, strict=True)
    ]
    return Alignment(
        *found,
        disagreement=float(chi2.sf(left_over, freedom)),
        ask_next=_ask_next(design, told),
    )


def _test(name: str, reading, reading_sd, shares: tuple[float, float, float]) -> AlignmentTest:
    return AlignmentTest(name, float(reading), float(positive("uncertainty of " + name, reading_sd)), shares)


def _ask_next(design: np.ndarray, told: np.ndarray) -> tuple[str, ...]:
    """The tests of causes that are still mixed; a cause that no test has seen comes last."""
    if np.all(told):
        return ()
    seen = np.any(design != 0, axis=0)
    missing = [cause for cause, known in zip(CAUSES, told, strict=True) if not known]
    # Twist is in every other test, so its own test unties the most.
    order = sorted(missing, key=lambda cause: (cause != "twist", seen[CAUSES.index(cause)]))
    return tuple(ADVICE[cause] for cause in order if cause == "twist" or not seen[CAUSES.index(cause)])
