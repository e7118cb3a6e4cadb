"""Fit the run-down law to the readings of a speed meter that lags behind the spindle."""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import nnls

from machinelab.errors import LogError, RangeError
from machinelab.spindle.coast_model import shown_speed_rad_s
from machinelab.spindle.coast_readings import CoastReadings
from machinelab.spindle.robust_fit import RobustFit, robust_fit

# A part of the coast-down fit: what the room offers is `machinelab.spindle.coastdown`.
__all__: list[str] = []

RPM = 2 * np.pi / 60
# Places in the list of all that a run can tell, and in the columns of the model's derivatives.
START_SPEED, COULOMB, VISCOUS, WINDAGE, START_TIME, LAG = range(6)
DRAGS = slice(COULOMB, WINDAGE + 1)

_LAG_GUESSES_S = (0.4, 1.2)
_SHORTEST_LAG_S, _LONGEST_LAG_S = 1e-5, 1e3


@dataclass(frozen=True)
class CoastSolution:
    """What a fit found, in rad/s and s: start speed, the three drags, start time and lag, in this order.

    ``told`` says which of them the log itself tells; the others were held fixed. ``residuals_rpm`` is
    reading less fit, ``weights`` runs from 0 for a wild reading to 1.
    """

    values: np.ndarray
    covariance: np.ndarray
    told: np.ndarray
    residuals_rpm: np.ndarray
    weights: np.ndarray
    quantile: float


def solve_speeds(readings: CoastReadings, drags: tuple[int, ...], lag_s: float | None) -> CoastSolution:
    """Fit the named drags, with the lag free where none is given and the log can tell it.

    A display that shows few numbers while it catches up can lose them as wild readings; a second start
    from a slow meter then finds the lag that fits them.
    """
    if lag_s is not None:
        return _Problem(readings, drags, lag_s).solved()
    for guess_s in _LAG_GUESSES_S:
        problem = _Problem(readings, drags, None, guess_s)
        try:
            fitted = problem.solve()
        except LogError:
            # A display that does not lag at all leads the search ever nearer to nothing.
            continue
        if problem.tells_lag(fitted):
            return problem.solution(fitted)
    return _without_lag(_Problem(readings, drags, 0.0).solved(), readings)


def _without_lag(solution, readings):
    # A lag too short to be told shifts the moment of letting go by as much; up to two readings can hide it.
    covariance = solution.covariance.copy()
    covariance[START_TIME, START_TIME] += np.median(np.diff(readings.time_s)) ** 2
    return CoastSolution(
        solution.values,
        covariance,
        solution.told,
        solution.residuals_rpm,
        solution.weights,
        solution.quantile,
    )


class _Problem:
    """The fit in numbers near one: each drag as its share of the deceleration at the start speed."""

    def __init__(self, readings, drags, lag_s, lag_guess_s=0.0):
        self.readings = readings
        self.observed = readings.speed_rpm * RPM
        self.told = np.zeros(6, bool)
        self.told[[START_SPEED, *(COULOMB + drag for drag in drags)]] = True
        self.told[[START_TIME, LAG]] = readings.plateau, lag_s is None

        top = readings.top_rpm * RPM
        powers = top ** np.arange(3)
        guess = first_guess(readings.time_s, self.observed, readings.let_go_s, top)
        total = float(guess @ powers)
        origin_s = readings.let_go_s if readings.plateau else float(readings.time_s[0])
        lag = lag_guess_s if lag_s is None else lag_s
        # A lagging meter starts to fall about one lag after the drive lets go.
        self.base = np.array([0.0, 0.0, 0.0, 0.0, origin_s - (lag if readings.plateau else 0.0), lag])
        self.scale = np.array([top, *(total / powers), 1.0, 1.0])
        self.start = np.array([1.0, *(guess * powers / total), 0.0, 0.0])[self.told]

    def values(self, parameters):
        """Physical values; the lag goes by its logarithm, so that it cannot be negative."""
        numbers = np.zeros(6)
        numbers[self.told] = parameters
        values = self.base + numbers * self.scale
        values[LAG] = self.base[LAG] * np.exp(np.clip(numbers[LAG], -30, 30))
        return values

    def stretch(self, values):
        """Change of each free value with its fitted number."""
        return np.array([*self.scale[:LAG], values[LAG]])[self.told]

    def predict(self, parameters):
        values = self.values(parameters)
        start_speed, coulomb, viscous, windage, start_s, lag_s = values
        if start_speed <= 0 or (self.told[LAG] and not _SHORTEST_LAG_S < lag_s < _LONGEST_LAG_S):
            return None, None
        try:
            shown, derivatives = shown_speed_rad_s(
                self.readings.time_s,
                start_s=start_s,
                start_speed_rad_s=start_speed,
                coulomb_rad_s2=coulomb,
                viscous_per_s=viscous,
                windage_per_rad=windage,
                lag_s=lag_s,
            )
        except RangeError:
            return None, None
        return shown, derivatives[:, self.told] * self.stretch(values)

    def solve(self) -> RobustFit:
        # A rounded reading is anywhere within one step, evenly: its standard deviation is step/sqrt(12).
        rounding = max(self.readings.resolution_rpm * RPM / np.sqrt(12), 1e-9 * self.scale[START_SPEED])
        return robust_fit(self.predict, self.start, self.observed, smallest_scale=rounding)

    def tells_lag(self, fitted: RobustFit) -> bool:
        share = np.sqrt(fitted.covariance[-1, -1])
        # What happens between two readings cannot be told.
        shortest = 0.5 * np.median(np.diff(self.readings.time_s))
        return share < 0.5 and self.values(fitted.parameters)[LAG] > shortest

    def solution(self, fitted: RobustFit) -> CoastSolution:
        values = self.values(fitted.parameters)
        covariance, stretch = np.zeros((6, 6)), self.stretch(values)
        covariance[np.ix_(self.told, self.told)] = fitted.covariance * np.outer(stretch, stretch)
        # A time base that runs fast by a share makes every drag look stronger by that share.
        covariance[DRAGS, DRAGS] += np.outer(values[DRAGS], values[DRAGS]) * self.readings.time_doubt**2
        residuals_rpm = -fitted.residuals / RPM
        return CoastSolution(values, covariance, self.told, residuals_rpm, fitted.weights, fitted.quantile)

    def solved(self) -> CoastSolution:
        return self.solution(self.solve())


def first_guess(time, speed, let_go_s, top):
    """Drags from the integrated law, without differentiating: y(t) - y(0) = -(a t + b int y + c int y^2)."""
    coasting = (time >= let_go_s) & (speed > 0.08 * top) & (speed < 1.02 * top)
    t, y = time[coasting], speed[coasting]
    steps = np.diff(t)
    once = np.concatenate([[0], np.cumsum(steps * (y[1:] + y[:-1]) / 2)])
    twice = np.concatenate([[0], np.cumsum(steps * (y[1:] ** 2 + y[:-1] ** 2) / 2)])
    scale = top ** np.arange(3)
    design = np.column_stack([t - t[0], once, twice]) / scale
    weights = np.ones_like(t)
    for _ in range(5):
        shares, miss = _positive_shares(design, y[0] - y, weights)
        weights = 1 / np.sqrt(np.maximum(np.abs(miss), 1e-3 * top))
    return shares / scale


def _positive_shares(design, fall, weights):
    shares, _ = nnls(design * weights[:, None], fall * weights)
    shares[0] = max(shares[0], 0.05 * shares.sum())
    return shares, design @ shares - fall
