"""Straight laws fitted to a handful of readings, with intervals; too few readings are refused in words."""

import numpy as np

from machinelab.errors import RangeError
from machinelab.estimate import Estimate

NORMAL_95 = 1.959963985


def linear_fit(design, observed) -> tuple[list[Estimate], np.ndarray]:
    """The constants of a straight law with 95 % intervals, and what is left over.

    Formula
    -------
    none: linear least squares; intervals by Student's t with the degrees of freedom that are left.

    Parameters
    ----------
    design : array [1]
        One column for each constant.
    observed : array [1]
        What was read.

    Returns
    -------
    list of Estimate, array
        Constants in the order of the columns; observed less fitted.

    Range
    -----
    More readings than constants.

    Raises
    ------
    RangeError
        If there are not.

    Examples
    --------
    >>> (slope,), _ = linear_fit([[1.0], [2.0], [3.0]], [2.0, 4.0, 6.0])
    >>> round(slope.value, 6)
    2.0

    Source
    ------
    Textbook: linear regression.
    """
    columns, readings = np.asarray(design, dtype=float), np.asarray(observed, dtype=float)
    freedom = len(readings) - columns.shape[1]
    if freedom < 1:
        raise RangeError(f"{len(readings)} readings are too few; take at least {columns.shape[1] + 1}.")
    constants, *_ = np.linalg.lstsq(columns, readings, rcond=None)
    residuals = readings - columns @ constants
    covariance = np.linalg.pinv(columns.T @ columns) * (residuals @ residuals) / freedom
    reach = t95(freedom) * np.sqrt(np.diag(covariance))
    pairs = zip(constants.tolist(), reach.tolist(), strict=True)
    return [Estimate.symmetric(*pair) for pair in pairs], residuals


def fit_with_known_sd(design, observed, reading_sd) -> tuple[list[Estimate], np.ndarray]:
    """The constants of a straight law when the instrument's own uncertainty is known.

    A handful of readings may agree by luck, so the intervals rest on the instrument; where the readings
    scatter more than it should, they are widened by as much.

    Formula
    -------
    none: linear least squares; intervals by the reading's standard uncertainty, times the Birge ratio where
    that is above 1.

    Parameters
    ----------
    design : array [1]
        One column for each constant.
    observed : array [1]
        What was read.
    reading_sd : float [1]
        Standard uncertainty of a reading, in its unit.

    Returns
    -------
    list of Estimate, array
        Constants in the order of the columns; observed less fitted.

    Range
    -----
    At least as many readings as constants.

    Raises
    ------
    RangeError
        If there are fewer.

    Examples
    --------
    >>> (slope,), _ = fit_with_known_sd([[1.0], [1.0]], [2.0, 2.2], 0.1)
    >>> round(slope.value, 6), round(slope.expanded_uncertainty, 3)
    (2.1, 0.196)

    Source
    ------
    Textbook: linear regression with known variance; Birge ratio, from memory.
    """
    columns, readings = np.asarray(design, dtype=float), np.asarray(observed, dtype=float)
    freedom = len(readings) - columns.shape[1]
    if freedom < 0:
        raise RangeError(f"{len(readings)} readings are too few; take at least {columns.shape[1]}.")
    constants, *_ = np.linalg.lstsq(columns, readings, rcond=None)
    residuals = readings - columns @ constants
    birge = np.sqrt(residuals @ residuals / freedom) / reading_sd if freedom else 1.0
    spread = np.sqrt(np.diag(np.linalg.pinv(columns.T @ columns)))
    reach = NORMAL_95 * reading_sd * max(1.0, birge) * spread
    return [
        Estimate.symmetric(*pair) for pair in zip(constants.tolist(), reach.tolist(), strict=True)
    ], residuals


def t95(freedom: int) -> float:
    """Student's t for a 95 % interval."""
    from scipy.special import stdtrit

    return float(stdtrit(freedom, 0.975))


def columns_of(**columns) -> list[np.ndarray]:
    """Readings as columns of numbers; a reading that lacks a figure is left out."""
    arrays = {name: np.asarray(column, dtype=float).ravel() for name, column in columns.items()}
    if len({array.size for array in arrays.values()}) != 1:
        told = ", ".join(f"{name} {array.size}" for name, array in arrays.items())
        raise RangeError(f"Each reading needs all its figures; there are {told}.")
    whole = ~np.any([np.isnan(array) for array in arrays.values()], axis=0)
    return [array[whole] for array in arrays.values()]


def enough(found: int, least: int, of_what: str) -> None:
    """Refuse a test with too few readings, in words."""
    if found < least:
        raise RangeError(f"There are {found} {of_what}; the test needs at least {least}.")
