"""The lag of a meter, found from a sudden change of what it is shown.

The change must be sudden: the pickup moved from a spinning wheel to a standing one, a signal generator
switched over. The run-up of the spindle will not do, it has a time constant of its own.
"""

from dataclasses import dataclass

import numpy as np

from machinelab.errors import LogError
from machinelab.estimate import Estimate
from machinelab.spindle.meter_readings import fitted, fresh_readings, of_logarithm, roughly_fitted

__all__ = ["MeterStep", "fit_step"]

_LEVEL, _CHANGE, _BEGINS, _LAG = range(4)
_SMALLEST_STEP = 20
_FEWEST_MOVING = 4
_FURTHEST_LOG = 8.0


@dataclass(frozen=True)
class MeterStep:
    """How a meter follows a sudden change.

    Parameters
    ----------
    lag_s : Estimate [s]
        Time constant: after it 63 % of the change is shown.
    begins_s : Estimate [s]
        When the reading begins to move, on the log's clock.
    dead_time_s : Estimate or None [s]
        From the change to the reading's beginning to move; None where the moment of the change is not known.
    before_rpm, after_rpm : Estimate [rpm, rpm]
        What it showed before, and what it came to.
    time_s : array of shape (readings,) [s]
        When the readings used were fresh.
    residuals_rpm : array of shape (readings,) [rpm]
        Reading less fit.
    weights : array of shape (readings,) [1]
        1 for a reading that fits, 0 for a wild one that was set aside.
    notes : tuple of str
        What was gathered.

    Source
    ------
    See `fit_step`.
    """

    lag_s: Estimate
    begins_s: Estimate
    dead_time_s: Estimate | None
    before_rpm: Estimate
    after_rpm: Estimate
    time_s: np.ndarray
    residuals_rpm: np.ndarray
    weights: np.ndarray
    notes: tuple[str, ...]

    def shown_rpm(self, time_s) -> np.ndarray:
        """What the fitted meter shows at times on the log's clock."""
        gone = np.maximum(np.asarray(time_s, float) - self.begins_s.value, 0) / self.lag_s.value
        change = self.after_rpm.value - self.before_rpm.value
        return self.before_rpm.value - change * np.expm1(-gone)


def fit_step(log, *, switched_s=None) -> MeterStep:
    """Fit lag and dead time to a log of a sudden change.

    Formula
    -------
    none: robust least squares of y = y0 + (y1 - y0) (1 - exp(-(t - t_begin)/lag)) on the readings

    Parameters
    ----------
    log : object with time_s and speed_rpm
        Rising times [s] and readings [rpm]: some seconds steady, the change, and until it is steady again.
    switched_s : float or None [s]
        When the change was made, on the log's clock; None if not known.

    Returns
    -------
    MeterStep
        Lag, dead time and levels with 95 % intervals.

    Range
    -----
    A change of at least twenty steps of the display, with four fresh readings on the way.

    Raises
    ------
    LogError
        If the log holds no such change; the message says what is missing.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> time_s = np.arange(0, 12, 0.1)
    >>> shown = np.where(time_s < 4, 1000, 1000 * np.exp(-np.maximum(time_s - 4, 0) / 0.8))
    >>> log = SimpleNamespace(time_s=time_s, speed_rpm=np.round(shown))
    >>> round(float(fit_step(log).lag_s.value), 2)
    0.8

    Source
    ------
    Step response of a first-order lag with dead time, textbook.
    """
    readings = fresh_readings(log)
    start = _first_guess(readings)
    size = abs(start[_CHANGE])
    rough = roughly_fitted(_step_response, start, readings, size=size)
    found = fitted(_step_response, rough.parameters, readings, size=size)
    level, change, begins_s, log_lag = (float(number) for number in found.parameters)
    half = found.quantile * np.sqrt(np.diag(found.covariance))
    end = found.quantile * np.sqrt(np.sum(found.covariance[:2, :2]))
    dead = None if switched_s is None else Estimate.symmetric(begins_s - switched_s, float(half[_BEGINS]))
    return MeterStep(
        lag_s=of_logarithm(log_lag, half[_LAG]),
        begins_s=Estimate.symmetric(begins_s, float(half[_BEGINS])),
        dead_time_s=dead,
        before_rpm=Estimate.symmetric(level, float(half[_LEVEL])),
        after_rpm=Estimate.symmetric(level + change, float(end)),
        time_s=readings.time_s,
        residuals_rpm=-found.residuals,
        weights=found.weights,
        notes=readings.notes,
    )


def _step_response(time_s, numbers):
    """Shown speed and its change with level, size of the step, beginning and logarithm of the lag."""
    level, change, begins_s, log_lag = numbers
    if abs(log_lag) > _FURTHEST_LOG:
        return None, None
    gone = np.maximum(time_s - begins_s, 0.0) / np.exp(log_lag)
    left = np.exp(-gone)
    begun = np.where(gone > 0, -change * left / np.exp(log_lag), 0.0)
    slopes = (np.ones_like(gone), 1 - left, begun, -change * gone * left)
    return level + change * (1 - left), np.column_stack(slopes)


def _first_guess(readings):
    time_s, shown = readings.time_s, readings.shown_rpm
    before, after = float(np.median(shown[: shown.size // 4])), float(np.median(shown[-3:]))
    change = after - before
    if abs(change) <= _SMALLEST_STEP * readings.step_rpm:
        raise LogError(
            f"The readings change from {before:.4g} to {after:.4g} rpm, too little to tell a lag. Let the "
            "meter see a sudden change of hundreds of rpm, and log until it is steady again."
        )
    share = (shown - before) / change
    moving = int(np.sum((share > 0.05) & (share < 0.95)))
    if moving < _FEWEST_MOVING:
        raise LogError(
            f"Only {moving} fresh readings on the way from {before:.4g} to {after:.4g} rpm; at least "
            f"{_FEWEST_MOVING} are needed. Log ten times a second; if the meter itself shows no more, it is "
            "too quick for its lag to matter."
        )
    begun_s = float(time_s[np.argmax(share > 0.05)])
    lag_s = max(float(time_s[np.argmax(share > 0.63)]) - begun_s, 1e-3)
    return [before, change, begun_s, np.log(lag_s)]
