"""Fit a braked run: when the drive let go, how late the brake came in, and how hard it bites.

The free spindle's drags are known from a coast-down; left to find are two kinks and a curve.
"""

from dataclasses import dataclass, field

import numpy as np

from machinelab.errors import LogError, RangeError
from machinelab.estimate import Estimate
from machinelab.spindle.brake_circuit import RPM
from machinelab.spindle.brake_law import late_speed, late_time_and_turns
from machinelab.spindle.coast_readings import CoastReadings, coast_readings
from machinelab.spindle.log_speeds import speeds_of
from machinelab.spindle.meter_lag import shown_by_a_lagging_meter
from machinelab.spindle.meter_readings import of_logarithm
from machinelab.spindle.robust_fit import RobustFit, robust_fit

__all__ = ["BrakedFit", "fit_braked"]

# In the order of the fit's numbers; the drag goes by its logarithm.
_START, _LET_GO, _DELAY, _DRAG = range(4)
_FIRST_DELAYS_S = (0.02, 0.1, 0.3)
_STEP = 1e-5
# No stop of a real machine repeats more closely than this share.
_FINEST_SHARE = 1e-3
# No display or counter is taken for finer than this share of the start speed.
_FINEST_READING = 1e-4
_ROUGHLY = 0.02
_FURTHEST_EXTRAPOLATION = 1.5
_LONGEST_DELAY_S = 10.0


@dataclass(frozen=True)
class BrakedFit:
    """A fitted braked run that explains itself.

    Parameters
    ----------
    start_speed_rpm : Estimate [rpm]
        Steady speed before the drive let go.
    start_s : Estimate [s]
        When the drive let go, on the log's clock.
    contact_delay_s : Estimate [s]
        From the drive's letting go to the brake biting.
    brake_drag_per_s : Estimate [1/s]
        What the resistor adds to the viscous drag over inertia; its reciprocal is the time constant.
    brush_speed_rad_s, lag_s : float [rad/s, s]
        Brush speed and the meter's lag, as they were given.
    free_drags : dict
        The free spindle's drags, as they were given.
    readings : CoastReadings
        The readings that were used.
    residuals_rpm : array of shape (readings,) [rpm]
        Reading less fit.
    weights : array of shape (readings,) [1]
        1 for a reading that fits, 0 for a wild one that was set aside.
    notes, warnings : tuple of str
        What was gathered, repaired or left out; what to know before the figures are used.
    covariance : array of shape (2, 2)
        Covariance of the contact's delay and of the logarithm of the drag.
    quantile : float [1]
        Student's t for a 95 % interval.

    Source
    ------
    See `fit_braked`.
    """

    start_speed_rpm: Estimate
    start_s: Estimate
    contact_delay_s: Estimate
    brake_drag_per_s: Estimate
    brush_speed_rad_s: float
    lag_s: float
    free_drags: dict[str, float]
    readings: CoastReadings
    residuals_rpm: np.ndarray
    weights: np.ndarray
    notes: tuple[str, ...]
    warnings: tuple[str, ...]
    covariance: np.ndarray = field(repr=False)
    quantile: float = field(repr=False)

    @property
    def tested_rpm(self) -> float:
        """Speed that the run began with."""
        return self.start_speed_rpm.value

    @property
    def brake_time_constant_s(self) -> Estimate:
        """Time in which the resistor alone would bring the speed down to 37 %."""
        low, high = self.brake_drag_per_s.interval
        return Estimate(1 / self.brake_drag_per_s.value, (1 / high, 1 / low))

    def stop_time_s(self, speed_rpm) -> Estimate:
        """Time from the drive's letting go to standstill, in seconds."""
        return self._prediction(speed_rpm, place=0)

    def turns_to_stop(self, speed_rpm) -> Estimate:
        """Turns from the drive's letting go to standstill."""
        return self._prediction(speed_rpm, place=1)

    def speed_rpm(self, time_s) -> np.ndarray:
        """Speed of the spindle itself (not of the lagging meter) at times on the log's clock."""
        return self._true_speed(np.asarray(time_s, float) - self.start_s.value) / RPM

    def shown_rpm(self, time_s) -> np.ndarray:
        """What the lagging meter shows at times on the log's clock."""
        after = np.asarray(time_s, float) - self.start_s.value
        return shown_by_a_lagging_meter(after, self._true_speed, self.lag_s, first_s=0.0) / RPM

    def _true_speed(self, after_s):
        return late_speed(
            after_s,
            self.tested_rpm * RPM,
            self.contact_delay_s.value,
            self.brake_drag_per_s.value,
            self.brush_speed_rad_s,
            self.free_drags,
        )

    def _prediction(self, speed_rpm, *, place) -> Estimate:
        speed = np.asarray(speed_rpm, float)
        furthest = _FURTHEST_EXTRAPOLATION * self.tested_rpm
        if np.any(speed < 0) or np.any(speed > furthest):
            raise RangeError(
                f"braked run: {np.max(speed):.4g} rpm is asked for, but the run was logged from "
                f"{self.tested_rpm:.4g} rpm; ask for 0 to {furthest:.4g} rpm, or log a run from a higher "
                "speed."
            )
        best = np.array([self.contact_delay_s.value, np.log(self.brake_drag_per_s.value)])

        def law(numbers):
            brake = (numbers[0], np.exp(numbers[1]), self.brush_speed_rad_s)
            return late_time_and_turns(speed * RPM, *brake, self.free_drags)[place]

        value = law(best)
        # The delay may be zero, so its slope is taken to one side.
        slopes = np.stack([(law(best + step) - value) / _STEP for step in _STEP * np.eye(2)])
        spread = np.sqrt(np.einsum("i...,ij,j...->...", slopes, self.covariance, slopes))
        half_width = np.maximum(self.quantile * spread, _FINEST_SHARE * value)
        return Estimate(value[()], ((value - half_width)[()], (value + half_width)[()]))


def fit_braked(
    log, *, brush_speed_rad_s=0.0, coulomb_rad_s2, viscous_per_s=0.0, windage_per_rad=0.0, lag_s=0.0
) -> BrakedFit:
    """Fit contact delay and braking strength to a log of a braked run.

    Formula
    -------
    none: robust least squares of steady speed, free run, braked run and tail on the readings

    Parameters
    ----------
    log : object with time_s and speed_rpm
        Such as `workbook.speed_log` returns; pulse stamps and encoder counts with their marks a turn will do.
        Twenty rows a second or more tell the contact's delay; a slow display hardly can.
    brush_speed_rad_s : float [rad/s]
        Brush drop over the voltage constant at the spindle.
    coulomb_rad_s2, viscous_per_s, windage_per_rad : float [rad/s2, 1/s, 1/rad]
        The three drags over inertia of the free spindle, from a coast-down with the same chuck and belt.
    lag_s : float [s]
        Lag of the meter that was logged, from a step test; 0 for an encoder.

    Returns
    -------
    BrakedFit
        Letting go, contact delay and drag with 95 % intervals, and predictions of stop time and turns.

    Range
    -----
    At least 3 s of steady speed before the drive lets go, and 8 readings between 90 % and 10 % of it.

    Raises
    ------
    LogError
        If the log holds no such run; the message says what is missing.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> time_s = np.arange(0, 8, 0.02)
    >>> after_s = np.maximum(time_s - 4.0, 0)
    >>> speed = np.where(after_s < 0.15, 100 - 3 * after_s, 102.05 * np.exp(-1.2 * (after_s - 0.15)) - 2.5)
    >>> log = SimpleNamespace(time_s=time_s, speed_rpm=np.round(np.maximum(speed, 0) * 30 / np.pi, 1))
    >>> found = fit_braked(log, coulomb_rad_s2=3.0)
    >>> round(float(found.contact_delay_s.value), 2), round(float(found.brake_drag_per_s.value), 2)
    (0.15, 1.2)

    Source
    ------
    Derived here: the law of `machinelab.spindle.brake_law` as a meter shows it, with robust least squares.
    """
    try:
        readings = coast_readings(*speeds_of(log))
    except LogError as trouble:
        raise LogError(f"{_STEADY_FIRST} This log: {trouble}") from None
    if not readings.plateau:
        raise LogError(_STEADY_FIRST)
    drags = {
        "coulomb_rad_s2": coulomb_rad_s2,
        "viscous_per_s": viscous_per_s,
        "windage_per_rad": windage_per_rad,
    }
    problem = _Problem(readings, float(brush_speed_rad_s), drags, float(lag_s))
    tried = [problem.roughly_solved(delay_s) for delay_s in _FIRST_DELAYS_S]
    return problem.explained(problem.solved(min(tried, key=problem.misfit).parameters))


_STEADY_FIRST = (
    "A braked run needs at least 3 s of steady speed in the log before the drive is switched off, "
    "so that letting go and the brake's coming in can be told apart, and some twenty readings of the stop."
)


class _Problem:
    """The fit in numbers near one."""

    def __init__(self, readings: CoastReadings, brush_speed, drags, lag_s):
        self.readings, self.brush_speed, self.drags, self.lag_s = readings, brush_speed, drags, lag_s
        self.observed = readings.speed_rpm * RPM
        self.top = readings.top_rpm * RPM
        # Counted over a gate, a speed is off by up to a whole step either way, oftenest by little.
        self.rounding = max(readings.resolution_rpm * RPM / np.sqrt(6), _FINEST_READING * self.top)

    def misfit(self, fitted: RobustFit) -> float:
        """How far off the readings are on the whole, wild ones little."""
        return float(np.mean(np.minimum(np.abs(fitted.residuals), 5 * self.rounding)))

    def predict(self, numbers):
        if numbers[_START] <= 0 or not 0 <= numbers[_DELAY] < _LONGEST_DELAY_S or abs(numbers[_DRAG]) > 10:
            return None, None
        shown = self._shown(numbers)
        ahead = np.stack([self._shown(numbers + step) for step in _STEP * np.eye(4)])
        return shown, (ahead - shown).T / _STEP

    def _shown(self, numbers):
        brake = (numbers[_DELAY], np.exp(numbers[_DRAG]), self.brush_speed, self.drags)

        def speed(after_s):
            return late_speed(after_s, self.top * numbers[_START], *brake)

        after = self.readings.time_s - self.readings.let_go_s - numbers[_LET_GO]
        return shown_by_a_lagging_meter(after, speed, self.lag_s, first_s=min(0.0, float(after[0])))

    def roughly_solved(self, delay_s) -> RobustFit:
        """A fit from far off: few readings count as wild yet, and a lagging meter falls one lag late."""
        start = [1.0, -self.lag_s - delay_s, delay_s, np.log(self._guessed_drag())]
        return robust_fit(self.predict, start, self.observed, smallest_scale=_ROUGHLY * self.top)

    def solved(self, start) -> RobustFit:
        return robust_fit(self.predict, start, self.observed, smallest_scale=self.rounding)

    def _guessed_drag(self) -> float:
        fallen = self.observed / self.top
        inside = (fallen < 0.8) & (fallen > 0.3) & (self.readings.time_s >= self.readings.let_go_s)
        time_s, share = self.readings.time_s[inside], fallen[inside]
        if time_s.size < 2 or np.ptp(time_s) == 0:
            return 1.0
        return float(np.clip(-np.polyfit(time_s, np.log(share), 1)[0], 0.05, 50.0))

    def explained(self, fitted: RobustFit) -> BrakedFit:
        start, let_go, delay_s, log_drag = fitted.parameters
        covariance = fitted.covariance.copy()
        # When between two readings something happened cannot be told.
        covariance[[_LET_GO, _DELAY], [_LET_GO, _DELAY]] += np.median(np.diff(self.readings.time_s)) ** 2 / 12
        # A time base that runs fast by a share makes the brake look stronger by that share.
        covariance[_DRAG, _DRAG] += self.readings.time_doubt**2
        half = fitted.quantile * np.sqrt(np.diag(covariance))
        top_rpm = self.readings.top_rpm
        both = np.ix_([_DELAY, _DRAG], [_DELAY, _DRAG])
        return BrakedFit(
            start_speed_rpm=Estimate.symmetric(start * top_rpm, half[_START] * top_rpm),
            start_s=Estimate.symmetric(self.readings.let_go_s + let_go, half[_LET_GO]),
            contact_delay_s=Estimate(delay_s, (max(delay_s - half[_DELAY], 0.0), delay_s + half[_DELAY])),
            brake_drag_per_s=of_logarithm(log_drag, half[_DRAG]),
            brush_speed_rad_s=self.brush_speed,
            free_drags=self.drags,
            lag_s=self.lag_s,
            readings=self.readings,
            residuals_rpm=-fitted.residuals / RPM,
            weights=fitted.weights,
            notes=self.readings.notes,
            warnings=tuple(_doubts(fitted, delay_s, half[_DELAY])),
            covariance=covariance[both],
            quantile=fitted.quantile,
        )


def _doubts(fitted: RobustFit, delay_s, half_width_s):
    wild = float(np.mean(fitted.weights < 0.05))
    if wild > 0.1:
        yield f"{wild:.0%} of the readings do not follow a braked run: look at what is left over first."
    if half_width_s > max(0.5 * delay_s, 0.02):
        yield (
            f"The log hardly tells the contact's delay: {delay_s:.2g} s, give or take {half_width_s:.2g} s. "
            "Log the encoder at twenty rows a second or more, not the display."
        )
