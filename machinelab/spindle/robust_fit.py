"""Least squares that a few wild readings cannot pull, with the covariance that goes with it.

The minimiser is SciPy's; here stand only the two loss functions, the scale of the residuals, and the
covariance of an M-estimate.
"""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares
from scipy.stats import t as student_t

# A part of the coast-down fit: what the room offers is `machinelab.spindle.coastdown`.
__all__: list[str] = []

# Tuning constants that give 95 % of the efficiency of plain least squares on clean readings.
HUBER = 1.345
TUKEY = 4.685
_MAD_TO_SIGMA = 1.482602218505602
_COARSE, _FINE = 1e-3, 1e-8
_ROUNDS = 5
_SETTLED = 0.9


@dataclass(frozen=True)
class RobustFit:
    """Parameters of a robust fit with their covariance and what each reading counted for."""

    parameters: np.ndarray
    covariance: np.ndarray
    residuals: np.ndarray
    weights: np.ndarray
    scale: float
    quantile: float


def robust_fit(predict, start, observed, *, smallest_scale):
    """Fit ``predict`` to ``observed`` so that wild readings count for little or nothing.

    Formula
    -------
    none: minimum of the sum of Tukey's loss of residual over scale, reached from Huber's

    Parameters
    ----------
    predict : callable
        From a parameter array to (prediction, derivatives); derivatives have one column a parameter.
        Returns (None, None) where the parameters mean nothing.
    start : array of shape (parameters,)
        First guess.
    observed : array of shape (readings,)
        The readings.
    smallest_scale : float
        The scale of the residuals is never taken smaller, so that rounded readings are not over-trusted.

    Returns
    -------
    RobustFit
        ``quantile`` is Student's t for a 95 % interval with the degrees of freedom left.

    Range
    -----
    More readings than parameters.

    Source
    ------
    P. J. Huber, Robust Statistics (1981), covariance of an M-estimate; tuning constants of Huber and Tukey
    (from memory). The scale is the median absolute deviation over 0.6745.
    """
    memory = {}

    def evaluate(parameters):
        key = parameters.tobytes()
        if key not in memory:
            memory.clear()
            memory[key] = predict(parameters)
        return memory[key]

    def misses(parameters):
        prediction, _ = evaluate(parameters)
        return np.full(observed.size, _FAR_OFF) if prediction is None else prediction - observed

    def improved(parameters, tamed, scale, tolerance):
        # The loss's square root takes the residual's place, so that plain least squares minimises the loss.
        def residuals(trial):
            return tamed(misses(trial) / scale)[0]

        def derivatives(trial):
            return tamed(misses(trial) / scale)[1][:, None] * (evaluate(trial)[1] / scale)

        options = {"ftol": tolerance, "xtol": tolerance, "gtol": tolerance}
        return least_squares(residuals, parameters, derivatives, method="lm", x_scale="jac", **options).x

    parameters = np.asarray(start, float)
    scale = _scale(misses(parameters), smallest_scale)
    parameters = improved(parameters, _huber, scale, _COARSE)
    for _ in range(_ROUNDS):
        scale = _scale(misses(parameters), smallest_scale)
        parameters = improved(parameters, _tukey, scale, _FINE)
        # A scale that still shrinks lets readings back in that looked wild, or wild ones out.
        if _scale(misses(parameters), smallest_scale) > _SETTLED * scale:
            break
    return _with_covariance(parameters, misses(parameters), evaluate(parameters)[1], scale)


_FAR_OFF = 1e6


def _scale(residuals, smallest):
    return max(_MAD_TO_SIGMA * float(np.median(np.abs(residuals - np.median(residuals)))), smallest)


def _huber(x):
    """Signed square root of twice Huber's loss, and its slope."""
    size = np.maximum(np.abs(x), HUBER)
    root = np.sqrt(HUBER * (2 * size - HUBER))
    inside = np.abs(x) <= HUBER
    return np.where(inside, x, np.sign(x) * root), np.where(inside, 1.0, HUBER / root)


def _tukey(x):
    """Signed square root of twice Tukey's loss, and its slope; flat where a reading is wild."""
    share = np.minimum((x / TUKEY) ** 2, 1.0)
    # The loss is c^2/3 (1 - (1 - u)^3) with u = (x/c)^2; its root is x times a smooth factor.
    factor = np.sqrt((3 - 3 * share + share**2) / 3)
    root = x * factor
    wild = share >= 1.0
    return np.where(wild, np.sign(x) * TUKEY / np.sqrt(3), root), np.where(
        wild, 0.0, (1 - share) ** 2 / factor
    )


def _with_covariance(parameters, residuals, jacobian, scale):
    share = np.minimum((residuals / (TUKEY * scale)) ** 2, 1.0)
    weights = (1 - share) ** 2
    pull = residuals * weights
    stiffness = np.mean((1 - share) * (1 - 5 * share))
    freedom = residuals.size - parameters.size
    variance = np.sum(pull**2) / freedom / stiffness**2
    variance *= _correlation_factor(residuals[weights > 0])
    covariance = variance * np.linalg.pinv(jacobian.T @ jacobian)
    return RobustFit(parameters, covariance, residuals, weights, scale, float(student_t.ppf(0.975, freedom)))


def _correlation_factor(residuals):
    """How much neighbouring readings that err alike widen the intervals; 1 for independent readings."""
    neighbours = float(np.sum(residuals[1:] * residuals[:-1]) / np.sum(residuals**2))
    noise = 2 / np.sqrt(residuals.size)
    return (1 + neighbours) / (1 - neighbours) if neighbours > noise else 1.0
