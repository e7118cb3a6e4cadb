"""Fit a braked run: when the drive let go, how late the brake came in, and how hard it bites.

The free spindle's drags are known from a coast-down, within their doubt; left to find are two kinks and a
curve. Both runs stand in one fit.
"""

from dataclasses import dataclass, field

import numpy as np

from machinelab.errors import LogError, RangeError
from machinelab.estimate import Estimate
from machinelab.ranges import not_negative, positive
from machinelab.spindle.brake_circuit import RPM
from machinelab.spindle.brake_law import late_speed, late_time_and_turns
from machinelab.spindle.brake_problem import (
    BRAKE,
    DELAY,
    DRAG,
    LET_GO,
    START,
    BrakedProblem,
    KnownBefore,
    independent_ways,
)
from machinelab.spindle.coast_readings import CoastReadings, coast_readings
from machinelab.spindle.log_speeds import speeds_of
from machinelab.spindle.meter_lag import shown_by_a_lagging_meter
from machinelab.spindle.meter_readings import of_logarithm
from machinelab.spindle.robust_fit import RobustFit

__all__ = ["BrakedFit", "fit_braked"]

# No stop of a real machine repeats more closely than this share.
_FINEST_SHARE = 1e-3
_SHARE_OF_A_DOUBT = 1e-3
_FURTHEST_EXTRAPOLATION = 1.5
_MOVED_FAR = 3.0


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
    brush_speed_rad_s : float [rad/s]
        Brush speed, as it was given.
    lag_s : float [s]
        The meter's lag, as both runs together have it.
    free_drags : dict
        The free spindle's drags, as both runs together have them.
    readings : CoastReadings
        The readings that were used.
    residuals_rpm : array of shape (readings,) [rpm]
        Reading less fit.
    weights : array of shape (readings,) [1]
        1 for a reading that fits, 0 for a wild one that was set aside.
    notes, warnings : tuple of str
        What was gathered, repaired or left out; what to know before the figures are used.
    covariance : array of shape (5, 5)
        Covariance of the contact's delay, of the logarithm of the brake's drag, and of the three free drags.
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
        best = np.array(
            [
                self.contact_delay_s.value,
                np.log(self.brake_drag_per_s.value),
                *self.free_drags.values(),
            ]
        )

        def law(numbers):
            delay_s, log_drag, *drags = numbers
            brake = (delay_s, np.exp(log_drag), self.brush_speed_rad_s)
            named = dict(zip(self.free_drags, drags, strict=True))
            return late_time_and_turns(speed * RPM, *brake, named)[place]

        value = law(best)
        # Along each independent doubt a little way, so that the covariance needs no further product.
        ways = _SHARE_OF_A_DOUBT * independent_ways(self.covariance).T
        changes = [(law(best + way) - value) / _SHARE_OF_A_DOUBT for way in ways]
        spread = np.sqrt(np.sum(np.square(changes), axis=0))
        half_width = np.maximum(self.quantile * spread, _FINEST_SHARE * value)
        return Estimate(value[()], ((value - half_width)[()], (value + half_width)[()]))


def fit_braked(
    log,
    *,
    brush_speed_rad_s=0.0,
    coulomb_rad_s2,
    viscous_per_s=0.0,
    windage_per_rad=0.0,
    drag_covariance=None,
    lag_s=0.0,
    lag_doubt_s=0.0,
) -> BrakedFit:
    """Fit contact delay and braking strength to a log of a braked run.

    With the covariance of the free run's drags both runs are fitted together: the drags, and the meter's lag,
    may move within their own doubt, so that what they leave open is neither lost nor taken for the brake's.

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
    drag_covariance : array of shape (3, 3) or None
        Covariance of these three from the same fit; None takes them for certain.
    lag_s, lag_doubt_s : float [s]
        Lag of the meter that was logged, from a step test or the free run, and its 95 % doubt; 0 for an
        encoder.

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
    RangeError
        If a lag or its doubt is negative, or the drags would not slow the spindle at every speed.

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
        "coulomb_rad_s2": positive("coulomb_rad_s2", coulomb_rad_s2),
        "viscous_per_s": viscous_per_s,
        "windage_per_rad": windage_per_rad,
    }
    lag, doubt = float(not_negative("lag_s", lag_s)), float(not_negative("lag_doubt_s", lag_doubt_s))
    known = KnownBefore.of(drags, drag_covariance, lag, doubt)
    problem = BrakedProblem(readings, float(brush_speed_rad_s), known)
    return _explained(problem, problem.solved())


_STEADY_FIRST = (
    "A braked run needs at least 3 s of steady speed in the log before the drive is switched off, "
    "so that letting go and the brake's coming in can be told apart, and some twenty readings of the stop."
)


def _explained(problem: BrakedProblem, fitted: RobustFit) -> BrakedFit:
    readings, count = problem.readings, problem.readings.time_s.size
    start, let_go, delay_s, log_drag = fitted.parameters[:BRAKE]
    known = problem.known.moved(fitted.parameters[BRAKE:])
    covariance = fitted.covariance.copy()
    # When between two readings something happened cannot be told.
    covariance[[LET_GO, DELAY], [LET_GO, DELAY]] += np.median(np.diff(readings.time_s)) ** 2 / 12
    # A time base that runs fast by a share makes the brake look stronger by that share.
    covariance[DRAG, DRAG] += readings.time_doubt**2
    half = fitted.quantile * np.sqrt(np.diag(covariance))
    return BrakedFit(
        start_speed_rpm=Estimate.symmetric(start * readings.top_rpm, half[START] * readings.top_rpm),
        start_s=Estimate.symmetric(readings.let_go_s + let_go, half[LET_GO]),
        contact_delay_s=Estimate(delay_s, (max(delay_s - half[DELAY], 0.0), delay_s + half[DELAY])),
        brake_drag_per_s=of_logarithm(log_drag, half[DRAG]),
        brush_speed_rad_s=problem.brush_speed,
        free_drags=known.drags,
        lag_s=float(known.lag_s),
        readings=readings,
        residuals_rpm=-fitted.residuals[:count] * problem.noise / RPM,
        weights=fitted.weights[:count],
        notes=readings.notes,
        warnings=tuple(_doubts(fitted, half[DELAY])),
        covariance=_of_predictions(problem.known, covariance),
        quantile=fitted.quantile,
    )


def _of_predictions(known: KnownBefore, covariance) -> np.ndarray:
    """From the fit's numbers to what a prediction needs: delay, drag, and the three free drags."""
    needed = np.zeros((5, covariance.shape[0]))
    needed[[0, 1], [DELAY, DRAG]] = 1.0
    needed[2:, BRAKE:] = known.spread[:3]
    return needed @ covariance @ needed.T


def _doubts(fitted: RobustFit, half_width_s):
    delay_s, doubts = fitted.parameters[DELAY], fitted.parameters[BRAKE:]
    wild = float(np.mean(fitted.weights < 0.05))
    if wild > 0.1:
        yield f"{wild:.0%} of the readings do not follow a braked run: look at what is left over first."
    if half_width_s > max(0.5 * delay_s, 0.02):
        yield (
            f"The log hardly tells the contact's delay: {delay_s:.2g} s, give or take {half_width_s:.2g} s. "
            "Log the encoder at twenty rows a second or more, not the display."
        )
    if np.max(np.abs(doubts), initial=0.0) > _MOVED_FAR:
        yield (
            "The free run's friction does not suit the braked run: the spindle was warmer or colder, or "
            "another belt or chuck was on. Take both runs one after the other."
        )
