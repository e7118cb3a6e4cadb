"""The moment of inertia from coast-downs: with and without a disc whose own inertia is known.

A disc on the spindle leaves the friction as it is and slows every drag by one and the same ratio. That
ratio, and nothing in a single run, tells the inertia.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares
from scipy.stats import chi2
from scipy.stats import t as student_t

from machinelab.errors import RangeError
from machinelab.estimate import Estimate
from machinelab.ranges import positive
from machinelab.spindle.inertia import friction_doubt_share, inertia_from_drag_ratio_kg_m2

__all__ = ["DiscTest", "disc_inertia_kg_m2", "inertia_from_disc"]

_LEAST_RATIO = 1.02
_DOUBTFUL = 0.05
# How far friction differs from run to run on an ordinary spindle; common practice, no source.
_USUAL_SCATTER_SHARE = 0.03
# No real spindle repeats itself more finely, whatever one pair of runs says.
_FINEST_SHARE = 1e-3


@dataclass(frozen=True)
class DiscTest:
    """What runs with and without a disc say about the inertia.

    Parameters
    ----------
    inertia_kg_m2 : Estimate [kg m2]
        Moment of inertia of everything that turns, without the disc.
    drag_ratio : Estimate [1]
        How many times quicker the spindle slows without the disc.
    one_ratio_chance : float [1]
        Chance that three drags with one common ratio differ as much as these; below 0.05 the disc has
        changed the friction itself.
    warnings : tuple of str
        What to know before the figure is used.

    Source
    ------
    See `inertia_from_disc`.
    """

    inertia_kg_m2: Estimate
    drag_ratio: Estimate
    one_ratio_chance: float
    warnings: tuple[str, ...]


def disc_inertia_kg_m2(diameter_mm, thickness_mm, *, density_kg_m3=7850.0):
    """Moment of inertia of a plain disc about its own axis.

    Formula
    -------
    mass = pi/4 * (diameter_mm/1000)**2 * (thickness_mm/1000) * density_kg_m3
    disc_inertia_kg_m2 = mass * (diameter_mm/1000)**2 / 8

    Parameters
    ----------
    diameter_mm : float or array [mm]
        Outside diameter.
    thickness_mm : float or array [mm]
        Thickness.
    density_kg_m3 : float or array [kg/m3]
        Density; 7850 is ordinary steel (handbook value, from memory).

    Returns
    -------
    float or array [kg m2]
        Moment of inertia; a bore takes its own share away: subtract a disc of its size.

    Range
    -----
    Sizes and density above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a size or the density is not above zero.

    Examples
    --------
    >>> round(float(disc_inertia_kg_m2(150.0, 30.0)), 6)
    0.011705

    Source
    ------
    Solid cylinder about its axis, textbook of mechanics.
    """
    across = np.asarray(positive("diameter_mm", diameter_mm)) / 1000
    thick = np.asarray(positive("thickness_mm", thickness_mm)) / 1000
    mass = np.pi / 4 * across**2 * thick * positive("density_kg_m3", density_kg_m3)
    return mass * across**2 / 8


def inertia_from_disc(free_runs: Sequence, disc_runs: Sequence, *, added_inertia_kg_m2) -> DiscTest:
    """Moment of inertia of the spindle from runs without and with a disc of known inertia.

    Formula
    -------
    none: inertia = added / (ratio - 1), the ratio common to all three drags by generalised least squares

    Parameters
    ----------
    free_runs : sequence of CoastdownFit
        Fitted runs without the disc.
    disc_runs : sequence of CoastdownFit
        Fitted runs with it, taken in turn with the others (A-B-A-B) so that warming does not favour one.
    added_inertia_kg_m2 : float [kg m2]
        Moment of inertia of the disc and all that holds it.

    Returns
    -------
    DiscTest
        The inertia; with two pairs of runs or more its interval includes how far they scatter.

    Range
    -----
    The disc must slow the run-down by a fiftieth at least; one as heavy as the spindle's own inertia is best.

    Raises
    ------
    RangeError
        If a group of runs is empty, the disc's inertia is not above zero, or the runs do not differ enough.

    Examples
    --------
    A spindle of 0.03 kg m2 that dry friction alone stops at 3 rad/s2, logged by a meter without lag:

    >>> from types import SimpleNamespace
    >>> from machinelab.spindle.coastdown import fit
    >>> def log(slowing_rad_s2):
    ...     time_s = np.arange(0, 100 / slowing_rad_s2, 0.25)
    ...     return SimpleNamespace(
    ...         time_s=time_s, speed_rpm=(100 - slowing_rad_s2 * time_s) * 60 / (2 * np.pi)
    ...     )
    >>> runs = [fit(log(3.0))], [fit(log(3.0 * 0.03 / 0.05))]
    >>> round(float(inertia_from_disc(*runs, added_inertia_kg_m2=0.02).inertia_kg_m2.value), 4)
    0.03

    Source
    ------
    Common ratio of the drags, derived here. In practice the scatter between runs outweighs the fit's doubt.
    """
    positive("added_inertia_kg_m2", added_inertia_kg_m2)
    pairs = [_ratio(free, disc) for free, disc in zip(free_runs, disc_runs, strict=False)]
    if not pairs:
        raise RangeError("inertia: at least one run without the disc and one with it are needed.")
    ratios, spreads, chances = (np.array(column) for column in zip(*pairs, strict=True))
    weights = 1 / spreads**2
    ratio = float(np.sum(weights * ratios) / np.sum(weights))
    half_width = _half_width(ratios, spreads)
    if ratio - 1 < max(_LEAST_RATIO - 1, half_width):
        raise RangeError(
            f"inertia: with the disc the spindle slows only {ratio:.3f} times more gently than without, "
            f"which does not stand out from {half_width:.2g} of doubt. Use a heavier disc, with as much "
            "inertia as the spindle's own if you can."
        )
    value, *interval = (
        inertia_from_drag_ratio_kg_m2(one, added_inertia_kg_m2=added_inertia_kg_m2)
        for one in (ratio, ratio + half_width, ratio - half_width)
    )
    chance = float(np.min(chances))
    return DiscTest(
        Estimate(value, tuple(interval)),
        Estimate.symmetric(ratio, half_width),
        chance,
        tuple(_doubts(len(pairs), chance, ratio)),
    )


def _ratio(free, disc):
    """Ratio common to the drags of two runs, its standard uncertainty, and how well one ratio fits."""
    # A drag that one of the fits left out is no measurement of anything.
    told = (np.diag(free.drag_covariance) > 0) & (np.diag(disc.drag_covariance) > 0)
    if not np.any(told):
        raise RangeError("inertia: the two runs have no drag in common; fit both with the same model.")
    covariances = [run.drag_covariance[np.ix_(told, told)] for run in (free, disc)]
    scale = 1 / np.sqrt(np.diag(covariances[0]) + np.diag(covariances[1]))
    first, second = (np.array(list(run.drags.values()))[told] * scale for run in (free, disc))
    roots = [_root(covariance * np.outer(scale, scale)) for covariance in covariances]

    def misses(parameters):
        ratio, *drags = parameters
        return np.concatenate([roots[0] @ (first - ratio * np.array(drags)), roots[1] @ (second - drags)])

    start = [float(np.sum(first * second) / np.sum(second**2)), *second]
    found = least_squares(misses, start, x_scale="jac")
    spread = np.sqrt(np.linalg.pinv(found.jac.T @ found.jac)[0, 0])
    freedom = int(np.sum(told)) - 1
    return found.x[0], spread, chi2.sf(2 * found.cost, df=freedom) if freedom else 1.0


def _root(covariance):
    """A matrix whose square is the inverse of a covariance."""
    values, vectors = np.linalg.eigh(covariance)
    return (vectors / np.sqrt(np.maximum(values, 1e-14 * values[-1]))).T


def _half_width(ratios, spreads):
    formal = max(1.96 / np.sqrt(np.sum(1 / spreads**2)), _FINEST_SHARE * float(np.mean(ratios)))
    if ratios.size == 1:
        return float(formal)
    scatter = student_t.ppf(0.975, ratios.size - 1) * np.std(ratios, ddof=1) / np.sqrt(ratios.size)
    return float(max(formal, scatter))


def _doubts(pairs, chance, ratio):
    if pairs == 1:
        out_by = friction_doubt_share(ratio, friction_scatter_share=_USUAL_SCATTER_SHARE)
        yield (
            "One pair of runs says nothing of how friction repeats. If it differs by "
            f"{_USUAL_SCATTER_SHARE:.0%} from run to run, the inertia is out by about {out_by:.0%}: take "
            "three pairs, in turn."
        )
    if chance < _DOUBTFUL:
        yield (
            "The three drags do not share one ratio: the disc has changed the friction itself, by its own "
            "windage or its weight on the bearings. Use a plain disc without spokes, and warm bearings."
        )
