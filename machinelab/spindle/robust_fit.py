"""Least squares that a few wild readings cannot pull, with the covariance that goes with it.

The minimiser is SciPy's; here stand only the two loss functions, the scale of the residuals, and the
covariance of an M-estimate.
"""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares
from scipy.special import stdtrit

from machinelab.errors import LogError

# A part of the coast-down fit: what the room offers is `machinelab.spindle.coastdown`.
__all__: list[str] = []

# Tuning constants that give 95 % of the efficiency of plain least squares on clean readings.
HUBER = 1.345
TUKEY = 4.685
_MAD_TO_SIGMA = 1.482602218505602
# A fit from afar needs no digits. The last one wants them in the parameters: where they are told poorly, the
# sum of squares no longer falls long before they stand still, so its own tolerance is next to nothing.
_COARSE = {"ftol": 1e-3, "xtol": 1e-3, "gtol": 1e-3}
_FINE = {"ftol": 1e-14, "xtol": 1e-9, "gtol": 1e-8}
_MOST_TRIALS = 5000
_ROUNDS = 5
_SETTLED = 0.9


@dataclass(frozen=True)
class RobustFit:
    """Parameters of a robust fit with their covariance and what each reading counted for.

    ``neighbours`` is how much wider the variances are because neighbouring readings err alike; 1 where they
    do not.
    """

    parameters: np.ndarray
    covariance: np.ndarray
    residuals: np.ndarray
    weights: np.ndarray
    scale: float
    quantile: float
    neighbours: float


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

    Raises
    ------
    LogError
        If the readings lead the search nowhere.

    Source
    ------
    P. J. Huber, Robust Statistics (1981), covariance of an M-estimate; tuning constants of Huber and Tukey
    (from memory). The scale is the median absolute deviation over 0.6745.
    """
    latest = {}

    def told(parameters):
        key = parameters.tobytes()
        if latest.get("key") != key:
            latest.update(key=key, told=predict(parameters))
        return latest["told"]

    def misses(parameters):
        prediction, _ = told(parameters)
        return np.full(observed.size, _FAR_OFF) if prediction is None else prediction - observed

    def improved(parameters, tamed, scale, tolerances):
        # The loss's square root takes the residual's place, so that plain least squares minimises the loss.
        tame = {}

        def residuals(trial):
            root, tame["slope"] = tamed(misses(trial) / scale)
            tame["key"] = trial.tobytes()
            return root

        def derivatives(trial):
            if tame.get("key") != trial.tobytes():
                residuals(trial)
            return (tame["slope"] / scale)[:, None] * told(trial)[1]

        found = least_squares(
            residuals,
            parameters,
            derivatives,
            method="lm",
            x_scale="jac",
            max_nfev=_MOST_TRIALS,
            **tolerances,
        )
        if not found.success:
            raise LogError(_NO_END)
        return found.x

    parameters = np.asarray(start, float)
    scale = _scale(misses(parameters), smallest_scale)
    parameters = improved(parameters, _huber, scale, _COARSE)
    for _ in range(_ROUNDS):
        scale = _scale(misses(parameters), smallest_scale)
        parameters = improved(parameters, _tukey, scale, _FINE)
        # A scale that still shrinks lets readings back in that looked wild, or wild ones out.
        if _scale(misses(parameters), smallest_scale) > _SETTLED * scale:
            break
    return _with_covariance(parameters, misses(parameters), told(parameters)[1], scale)


_FAR_OFF = 1e6
_NO_END = (
    f"The fit did not come to an end in {_MOST_TRIALS} trials: these readings do not tell what is asked of "
    "them. Look at the curve for stretches that do not belong to it, or log more readings over a wider range."
)


def _scale(residuals, smallest):
    middle = float(np.median(residuals))
    scale = max(_MAD_TO_SIGMA * float(np.median(np.abs(residuals - middle))), smallest)
    # A curve that lies beside all readings alike would take every one for wild, and no way would lead on.
    beside = abs(middle) >= TUKEY * scale
    return max(_MAD_TO_SIGMA * float(np.median(np.abs(residuals))), smallest) if beside else scale


def _huber(x):
    """Signed square root of twice Huber's loss, and its slope."""
    size = np.maximum(np.abs(x), HUBER)
    root = np.sqrt(HUBER * (2 * size - HUBER))
    inside = np.abs(x) <= HUBER
    return np.where(inside, x, np.sign(x) * root), np.where(inside, 1.0, HUBER / root)


def _tukey(x):
    """Signed square root of twice Tukey's loss, and its slope; flat where a reading is wild."""
    share = np.minimum(np.abs(x) / TUKEY, 1.0) ** 2
    # The loss is c^2/3 (1 - (1 - u)^3) with u = (x/c)^2; its root is x times a smooth factor.
    factor = np.sqrt((3 - 3 * share + share**2) / 3)
    root = x * factor
    wild = share >= 1.0
    return np.where(wild, np.sign(x) * TUKEY / np.sqrt(3), root), np.where(
        wild, 0.0, (1 - share) ** 2 / factor
    )


def _with_covariance(parameters, residuals, jacobian, scale):
    share = np.minimum(np.abs(residuals) / (TUKEY * scale), 1.0) ** 2
    weights = (1 - share) ** 2
    pull = residuals * weights
    stiffness = np.mean((1 - share) * (1 - 5 * share))
    freedom = residuals.size - parameters.size
    neighbours = _correlation_factor(residuals[weights > 0])
    variance = neighbours * np.sum(pull**2) / freedom / stiffness**2
    quantile = float(stdtrit(freedom, 0.975))
    covariance = variance * _inverse_square(jacobian)
    return RobustFit(parameters, covariance, residuals, weights, scale, quantile, neighbours)


def _inverse_square(jacobian):
    """Inverse of J'J, with the columns brought to one length first: parameters may differ by millions."""
    length = np.linalg.norm(jacobian, axis=0)
    length[length == 0] = 1.0
    columns = jacobian / length
    return np.linalg.pinv(columns.T @ columns, hermitian=True) / np.outer(length, length)


def _correlation_factor(residuals):
    """How much neighbouring readings that err alike widen the intervals; 1 for independent readings."""
    squares = float(np.sum(residuals**2))
    # Readings that lie on the curve to the last bit err in no way.
    neighbours = float(np.sum(residuals[1:] * residuals[:-1])) / squares if squares else 0.0
    noise = 2 / np.sqrt(residuals.size)
    return (1 + neighbours) / (1 - neighbours) if neighbours > noise else 1.0
