"""Readings of a meter made ready for a fit, and the fit itself, begun from far off."""

from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from machinelab.errors import LogError
from machinelab.estimate import Estimate
from machinelab.spindle.coast_readings import resolution
from machinelab.spindle.robust_fit import RobustFit, robust_fit

# A part of the meter fits: what the room offers are those.
__all__: list[str] = []

_FEWEST_ROWS = 10
_HELD_SHARE = 0.3
_ROUGHLY = 0.05
_MOMENT_S = 1e-3
# No display is taken for finer than this share of what it is shown.
_FINEST_READING = 1e-4


@dataclass(frozen=True)
class FreshReadings:
    """Readings of which each counts once, with what their times and the display's steps leave open."""

    time_s: np.ndarray
    shown_rpm: np.ndarray
    time_doubt_s: np.ndarray
    step_rpm: float
    notes: tuple[str, ...]

    def turning_during(self, first_s, last_s) -> "FreshReadings":
        """Only the readings between two moments; a display of zero is no speed."""
        kept = (self.time_s > first_s) & (self.time_s < last_s) & (self.shown_rpm > 0)
        return FreshReadings(
            self.time_s[kept], self.shown_rpm[kept], self.time_doubt_s[kept], self.step_rpm, self.notes
        )


def roughly_fitted(predict, start, readings: FreshReadings, *, size) -> RobustFit:
    """A fit from far off, in which hardly a reading counts as wild."""
    predict_here = partial(predict, readings.time_s)
    return robust_fit(predict_here, start, readings.shown_rpm, smallest_scale=_ROUGHLY * size)


def fitted(predict, start, readings: FreshReadings, *, size) -> RobustFit:
    """A fit from near by, in which each reading counts by its own doubt.

    ``predict`` gives prediction and derivatives for times and parameters. A reading of which it is not
    known when it was taken is doubtful where the speed changes quickly.
    """
    doubt = _doubt(predict, start, readings, size)

    def in_doubts(numbers):
        prediction, slopes = predict(readings.time_s, numbers)
        return (None, None) if prediction is None else (prediction / doubt, slopes / doubt[:, None])

    found = robust_fit(in_doubts, start, readings.shown_rpm / doubt, smallest_scale=1.0)
    return replace(found, residuals=found.residuals * doubt)


def _doubt(predict, numbers, readings, size):
    later, earlier = (predict(readings.time_s + sign * _MOMENT_S, numbers)[0] for sign in (1, -1))
    change_rpm_s = (later - earlier) / (2 * _MOMENT_S)
    # A whole step more or less is common where a steady reading flickers between two numbers.
    finest = max(readings.step_rpm / 2, _FINEST_READING * size)
    return np.hypot(finest, change_rpm_s * readings.time_doubt_s)


def of_logarithm(value, half_width) -> Estimate:
    """An estimate from that of its logarithm."""
    low, best, high = np.exp(np.clip([value - half_width, value, value + half_width], -300, 300))
    return Estimate(float(best), (float(low), float(high)))


def fresh_readings(log) -> FreshReadings:
    """Take each reading of a log once: a number that is held is dated to when it first showed."""
    time_s, shown = np.asarray(log.time_s, float), np.asarray(log.speed_rpm, float)
    known = np.isfinite(time_s) & np.isfinite(shown)
    time_s, shown = time_s[known], shown[known]
    if time_s.size < _FEWEST_ROWS:
        raise LogError(f"This log has {time_s.size} readings; at least {_FEWEST_ROWS} are needed.")
    step = resolution(shown)
    new = np.concatenate([[True], np.diff(shown) != 0])
    low, high = np.min(shown), np.max(shown)
    moving = (shown > low + 0.1 * (high - low)) & (shown < high - 0.1 * (high - low))
    if np.sum(~new[moving]) <= _HELD_SHARE * np.sum(moving):
        written = np.full(time_s.size, _written_to(time_s) / np.sqrt(12))
        return FreshReadings(time_s, shown, written, step, ())
    changes = np.flatnonzero(new)
    # Before the first change and after the last the speed is steady, and every row counts.
    steady = (np.arange(shown.size) < changes[1]) | (np.arange(shown.size) >= changes[-1])
    kept, between = new | steady, np.diff(time_s, prepend=time_s[0])
    note = f"The display holds each number: {shown.size} rows hold {np.sum(kept)} readings that count."
    changed_s = time_s - between / 2
    return FreshReadings(changed_s[kept], shown[kept], between[kept] / np.sqrt(12), step, (note,))


def _written_to(time_s) -> float:
    """The decimal place that times are written to."""
    places = (10.0**-place for place in range(7))
    # Late in a log a share of the time itself would pass for a whole place.
    return next((one for one in places if np.all(np.abs(time_s / one - np.round(time_s / one)) < 1e-3)), 0.0)
