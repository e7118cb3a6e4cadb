"""The lag of a meter, found from a run that the encoder was logged beside."""

from dataclasses import dataclass
from functools import partial

import numpy as np

from machinelab.errors import LogError
from machinelab.estimate import Estimate
from machinelab.spindle.meter_lag import shown_by_a_lagging_meter
from machinelab.spindle.meter_readings import fitted, fresh_readings, of_logarithm, roughly_fitted

__all__ = ["LagBeside", "fit_lag_beside"]

_FIRST_LAG_S = 0.3
_FEWEST_SHARED = 10
_FURTHEST_LOG = 8.0
_STEP = 1e-5


@dataclass(frozen=True)
class LagBeside:
    """How a meter follows a speed that was logged beside it.

    Parameters
    ----------
    lag_s : Estimate [s]
        Time constant of the meter.
    dead_time_s : Estimate [s]
        Pure delay on top of the lag; half the meter's gate is in it.
    meter_scale : Estimate [1]
        Reading over true speed.
    residuals_rpm : array of shape (readings,) [rpm]
        Reading less fit.
    weights : array of shape (readings,) [1]
        1 for a reading that fits, 0 for a wild one that was set aside.

    Source
    ------
    See `fit_lag_beside`.
    """

    lag_s: Estimate
    dead_time_s: Estimate
    meter_scale: Estimate
    residuals_rpm: np.ndarray
    weights: np.ndarray


def fit_lag_beside(log, encoder_log) -> LagBeside:
    """Fit the lag of a meter to a run that the encoder was logged beside, both on one clock.

    Formula
    -------
    none: robust least squares of the encoder's speed, delayed, lagged and scaled, on the readings

    Parameters
    ----------
    log : object with time_s and speed_rpm
        The meter's readings.
    encoder_log : object with time_s and speed_rpm
        The encoder's speeds over the same time, several a second; steady at first.

    Returns
    -------
    LagBeside
        Lag, dead time and scale with 95 % intervals.

    Range
    -----
    A run whose speed changes quicker than the meter follows, such as a coast-down from full speed.

    Raises
    ------
    LogError
        If the two logs do not overlap.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> time_s = np.arange(0, 20, 0.05)
    >>> true = np.where(time_s < 5, 1000.0, np.maximum(1000 - 100 * (time_s - 5), 0))
    >>> encoder = SimpleNamespace(time_s=time_s, speed_rpm=true)
    >>> slow = true + np.where(time_s < 5, 0, 80 * (1 - np.exp(-(time_s - 5) / 0.8)))
    >>> log = SimpleNamespace(time_s=time_s[:280:5], speed_rpm=np.round(slow[:280:5]))
    >>> round(float(fit_lag_beside(log, encoder).lag_s.value), 1)
    0.8

    Source
    ------
    First-order lag with dead time, textbook; the forward model is compared, nothing is differentiated.
    """
    true_s, true = np.asarray(encoder_log.time_s, float), np.asarray(encoder_log.speed_rpm, float)
    readings = fresh_readings(log).turning_during(true_s[0], true_s[-1])
    if readings.time_s.size < _FEWEST_SHARED:
        raise LogError(
            "Meter and encoder were not logged over the same time, or hardly: their logs share "
            f"{readings.time_s.size} fresh readings. Log both at once, with one clock."
        )
    predict = partial(_lagging_copy, true_s, true)
    size = float(np.max(np.abs(true)))
    # On a steady slope lag and dead time look alike; begin with the lag alone.
    rough = roughly_fitted(_without_dead_time(predict), [1.0, np.log(_FIRST_LAG_S)], readings, size=size)
    found = fitted(predict, np.insert(rough.parameters, 1, 0.0), readings, size=size)
    scale, dead_s, log_lag = (float(number) for number in found.parameters)
    half = found.quantile * np.sqrt(np.diag(found.covariance))
    return LagBeside(
        lag_s=of_logarithm(log_lag, half[2]),
        dead_time_s=Estimate.symmetric(dead_s, float(half[1])),
        meter_scale=Estimate.symmetric(scale, float(half[0])),
        residuals_rpm=-found.residuals,
        weights=found.weights,
    )


def _lagging_copy(true_s, true, time_s, numbers):
    """The encoder's speed as the meter would show it, and its change with scale, dead time and lag."""
    if abs(numbers[2]) > _FURTHEST_LOG or abs(numbers[1]) > np.ptp(true_s):
        return None, None

    def speed(at):
        return np.interp(at, true_s, true)

    def shown(scale, dead_s, log_lag):
        first_s = float(true_s[0])
        return scale * shown_by_a_lagging_meter(time_s - dead_s, speed, np.exp(log_lag), first_s=first_s)

    now = shown(*numbers)
    ahead = np.stack([shown(*(numbers + step)) for step in _STEP * np.eye(3)])
    return now, (ahead - now).T / _STEP


def _without_dead_time(predict):
    def predict_two(time_s, numbers):
        prediction, slopes = predict(time_s, np.insert(numbers, 1, 0.0))
        return (None, None) if prediction is None else (prediction, slopes[:, [0, 2]])

    return predict_two
