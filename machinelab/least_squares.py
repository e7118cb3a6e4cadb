"""Straight laws fitted to a handful of readings, with intervals; too few readings are refused in words."""

import numpy as np

from machinelab.errors import RangeError
from machinelab.estimate import Estimate


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
