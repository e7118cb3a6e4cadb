"""Fit a coast-down: what the spindle's own friction is, and how long and how far it runs on.

One free run tells the drags only as ratios to the moment of inertia. Newton metres need a second source
(a disc of known inertia, or a braked run); asked for without one, they are refused.
"""

from dataclasses import dataclass, field, replace

import numpy as np

from machinelab.errors import LogError, RangeError
from machinelab.estimate import Estimate
from machinelab.spindle.coast_angles import solve_angles
from machinelab.spindle.coast_counts import angles_of_counts
from machinelab.spindle.coast_inertia import inertia_from_disc
from machinelab.spindle.coast_law import (
    coast_deceleration_rad_s2,
    coast_speed_rad_s,
    coast_stop_time_s,
    coast_turns,
)
from machinelab.spindle.coast_model import shown_speed_rad_s
from machinelab.spindle.coast_pulses import angles_of_pulses
from machinelab.spindle.coast_readings import CoastReadings, coast_readings
from machinelab.spindle.coast_speeds import (
    DRAGS,
    LAG,
    RPM,
    START_SPEED,
    START_TIME,
    CoastSolution,
    solve_speeds,
)

__all__ = ["CoastdownFit", "fit"]

MODELS = {"a": (0,), "ab": (0, 1), "ac": (0, 2), "abc": (0, 1, 2)}

# The run-to-run repeatability of any real spindle; no prediction is quoted finer than this share.
_FINEST_SHARE = 1e-3
_FURTHEST_EXTRAPOLATION = 1.5
_ENOUGH_READINGS = 25
_TOO_OPEN = 0.2
_FEWEST_FOR_WINDAGE = 10


@dataclass(frozen=True)
class CoastdownFit:
    """A fitted coast-down that explains itself.

    Predictions use all the fitted drags, because intervals taken after a choice among models are too narrow.

    Parameters
    ----------
    coulomb_rad_s2, viscous_per_s, windage_per_rad : Estimate [rad/s2, 1/s, 1/rad]
        Dry friction, viscous drag and windage over inertia, with their 95 % intervals.
    start_speed_rpm : Estimate [rpm]
        Speed at which the drive let go, or of the first reading used.
    start_s : Estimate or None [s]
        When the drive let go; None where the log does not hold it.
    lag_s : Estimate or None [s]
        The meter's lag, found or given; None where there is none to be told.
    model : str
        The drags that the readings can tell from none: "a" dry, "b" viscous, "c" windage.
    fitted : str
        The drags that were fitted.
    readings : CoastReadings
        The readings that were used.
    residuals_rpm : array of shape (readings,) [rpm]
        Reading less fit.
    weights : array of shape (readings,) [1]
        1 for a reading that fits, 0 for a wild one that was set aside.
    notes : tuple of str
        What was gathered, repaired or left out.
    warnings : tuple of str
        What to know before the figures are used.
    drag_covariance : array of shape (3, 3)
        Covariance of the three drags.
    quantile : float [1]
        Student's t for a 95 % interval.
    inertia_kg_m2 : Estimate or None [kg m2]
        Moment of inertia, where a second run with a disc has told it.

    Source
    ------
    See `fit`.
    """

    coulomb_rad_s2: Estimate
    viscous_per_s: Estimate
    windage_per_rad: Estimate
    start_speed_rpm: Estimate
    start_s: Estimate | None
    lag_s: Estimate | None
    model: str
    fitted: str
    readings: CoastReadings
    residuals_rpm: np.ndarray
    weights: np.ndarray
    notes: tuple[str, ...]
    warnings: tuple[str, ...]
    drag_covariance: np.ndarray = field(repr=False)
    quantile: float = field(repr=False)
    inertia_kg_m2: Estimate | None = None

    @property
    def drags(self) -> dict[str, float]:
        """Best values of the three drags, named as the coast law takes them."""
        return {
            "coulomb_rad_s2": self.coulomb_rad_s2.value,
            "viscous_per_s": self.viscous_per_s.value,
            "windage_per_rad": self.windage_per_rad.value,
        }

    @property
    def tested_rpm(self) -> float:
        """Highest speed that the run covers."""
        return self.start_speed_rpm.value

    def stop_time_s(self, speed_rpm) -> Estimate:
        """Time from a speed to standstill, without brake, in seconds."""
        return self._prediction(coast_stop_time_s, speed_rpm)

    def turns_to_stop(self, speed_rpm) -> Estimate:
        """Turns from a speed to standstill, without brake."""
        return self._prediction(coast_turns, speed_rpm)

    def speed_rpm(self, time_s) -> np.ndarray:
        """Speed of the spindle itself (not of the lagging meter) at times on the log's clock."""
        start = self.start_s.value if self.start_s else self.readings.time_s[0]
        after = np.asarray(time_s) - start
        return coast_speed_rad_s(after, start_speed_rad_s=self.tested_rpm * RPM, **self.drags) / RPM

    def shown_rpm(self, time_s) -> np.ndarray:
        """What the lagging meter shows at times on the log's clock."""
        start = self.start_s.value if self.start_s else self.readings.time_s[0]
        lag_s = self.lag_s.value if self.lag_s else 0.0
        shown, _ = shown_speed_rad_s(
            np.asarray(time_s, float),
            start_s=start,
            start_speed_rad_s=self.tested_rpm * RPM,
            lag_s=lag_s,
            **self.drags,
        )
        return shown / RPM

    def friction_torque_nm(self, speed_rpm, *, inertia_kg_m2=None):
        """Friction torque at a speed, for a moment of inertia that another test has told.

        Raises
        ------
        RangeError
            If no moment of inertia is known: one free run cannot tell newton metres.
        """
        if inertia_kg_m2 is None and self.inertia_kg_m2 is None:
            raise RangeError(_NO_NEWTON_METRES)
        inertia_kg_m2 = self.inertia_kg_m2.value if inertia_kg_m2 is None else inertia_kg_m2
        return inertia_kg_m2 * coast_deceleration_rad_s2(np.asarray(speed_rpm) * RPM, **self.drags)

    def _prediction(self, law, speed_rpm) -> Estimate:
        speed = np.asarray(speed_rpm, float)
        if np.any(speed < 0) or np.any(speed > _FURTHEST_EXTRAPOLATION * self.tested_rpm):
            raise RangeError(
                f"coast-down: {np.max(speed):.4g} rpm is asked for, but the run was logged from "
                f"{self.tested_rpm:.4g} rpm; ask for 0 to {_FURTHEST_EXTRAPOLATION * self.tested_rpm:.4g} "
                "rpm, or log a run from a higher speed."
            )
        drags = np.array(list(self.drags.values()))
        step = 1e-5 * np.max(np.abs(drags) * self._speed_powers(), initial=1e-12) / self._speed_powers()
        # The best drags, then each a little more, then each a little less, all in one call.
        trials = np.concatenate([drags[None], drags + np.diag(step), drags - np.diag(step)])
        value, more, less = np.split(_law(law, speed[..., None], trials), [1, 4], axis=-1)
        slopes = (more - less) / (2 * step)
        spread = np.sqrt(np.einsum("...i,ij,...j->...", slopes, self.drag_covariance, slopes))
        value = value[..., 0]
        half_width = np.maximum(self.quantile * spread, _FINEST_SHARE * value)
        return Estimate(value[()], ((value - half_width)[()], (value + half_width)[()]))

    def _speed_powers(self):
        return (self.tested_rpm * RPM) ** np.arange(3)


_NO_NEWTON_METRES = (
    "coast-down: one free run tells how quickly the spindle slows, not how strong the friction is: "
    "twice the friction on twice the inertia looks the same. For newton metres give the moment of inertia "
    "(inertia_kg_m2), from a second run with a disc of known inertia or from a braked run."
)


def fit(log, *, model="auto", meter=None, added_inertia_kg_m2=None) -> CoastdownFit:
    """Fit the drags of a free run to a log of speeds.

    Formula
    -------
    none: robust least squares of the run-down, as the lagging meter shows it, on the readings

    Parameters
    ----------
    log : SpeedLog or the like
        Rising times with readings of speed or with an encoder's count, or pulse stamps; for counts
        ``marks_per_turn`` is the counts of a spindle turn. With an added inertia: a pair of logs, the free
        run first.
    model : str
        "auto" fits dry friction, viscous drag and windage together; "a", "ab" or "ac" leaves drags out.
    meter : Meter or None
        What is known of the meter: its lag and the speed below which it shows zero.
    added_inertia_kg_m2 : float or None [kg m2]
        Moment of inertia of the disc in the second run; with one log it is refused.

    Returns
    -------
    CoastdownFit
        Drags over inertia with 95 % intervals, and predictions of stop time and turns.

    Range
    -----
    At least 8 readings between 90 % and 10 % of the start speed; stop times up to 1.5 times that speed.

    Raises
    ------
    LogError
        If the log holds no coast or too little of one.
    RangeError
        If newton metres are asked of a single run, or the model has an unknown name.

    Examples
    --------
    A plain run-down of 3 rad/s2 from 955 rpm, logged four times a second by a meter without lag:

    >>> from types import SimpleNamespace
    >>> time_s = np.arange(0, 34, 0.25)
    >>> log = SimpleNamespace(time_s=time_s, speed_rpm=(100 - 3 * time_s) * 60 / (2 * np.pi))
    >>> round(float(fit(log).stop_time_s(600).value), 2)
    20.94

    Source
    ------
    Fitting the integrated law to speed and time instead of differentiating is the choice of a US EPA
    coast-down report (read as an excerpt); the observation model and its derivatives are derived here.
    """
    if added_inertia_kg_m2 is not None:
        return _with_inertia(log, model, meter, added_inertia_kg_m2)
    if model != "auto" and model not in MODELS:
        raise RangeError(f"coast-down: model '{model}' is not known; choose auto, {', '.join(MODELS)}.")
    warnings = []
    angles = _angles(log)
    if angles is not None:
        fitted = _model_for(angles.speeds, model, warnings)
        return _explained(solve_angles(angles, MODELS[fitted]), angles.speeds, fitted, warnings)
    readings = coast_readings(log.time_s, log.speed_rpm, cutoff_rpm=meter.cutoff_rpm if meter else None)
    fitted = _model_for(readings, model, warnings)
    lag_s = _known_lag(meter, readings, warnings)
    return _explained(solve_speeds(readings, MODELS[fitted], lag_s), readings, fitted, warnings)


def _with_inertia(logs, model, meter, added_inertia_kg_m2) -> CoastdownFit:
    if not isinstance(logs, tuple | list) or len(logs) != 2:
        raise RangeError(_NO_NEWTON_METRES)
    free, with_disc = (fit(log, model=model, meter=meter) for log in logs)
    told = inertia_from_disc([free], [with_disc], added_inertia_kg_m2=added_inertia_kg_m2)
    return replace(free, inertia_kg_m2=told.inertia_kg_m2, warnings=(*free.warnings, *told.warnings))


def _angles(log):
    """The log as angles, where it holds pulse stamps or encoder counts; None for a log of speeds."""
    if getattr(log, "pulse_s", None) is not None:
        return angles_of_pulses(log.pulse_s, log.marks_per_turn or 1)
    if getattr(log, "count", None) is not None:
        return angles_of_counts(log.time_s, log.count, log.marks_per_turn)
    return None


def _model_for(readings, model, warnings):
    if model != "auto":
        return model
    count = readings.time_s.size
    if count >= _ENOUGH_READINGS:
        return "abc"
    warnings.append(
        f"Only {count} readings: the intervals are wide. Some {_ENOUGH_READINGS} or more are better."
    )
    if count >= _FEWEST_FOR_WINDAGE:
        return "abc"
    warnings.append(f"Windage was left out: below {_FEWEST_FOR_WINDAGE} readings it looks like viscous drag.")
    return "ab"


def _known_lag(meter, readings, warnings):
    """Lag to hold fixed, or None where the log itself can tell it."""
    if meter is not None and meter.lag_s is not None:
        return meter.lag_s
    if readings.plateau:
        return None
    warnings.append(
        "The log does not hold 3 s of steady speed before the drive let go, so the meter's lag cannot be "
        "told: the readings were taken as the speed itself. Log 5 s of steady speed first, or give "
        "the meter's lag."
    )
    return 0.0


def _explained(solution: CoastSolution, readings, fitted, warnings) -> CoastdownFit:
    half_widths = solution.quantile * np.sqrt(np.diag(solution.covariance))
    estimates = [
        Estimate.symmetric(float(v), float(h)) for v, h in zip(solution.values, half_widths, strict=True)
    ]
    start_rpm = Estimate.symmetric(solution.values[START_SPEED] / RPM, half_widths[START_SPEED] / RPM)
    fit_ = CoastdownFit(
        *estimates[DRAGS],
        start_speed_rpm=start_rpm,
        start_s=estimates[START_TIME] if solution.told[START_TIME] else None,
        lag_s=estimates[LAG] if solution.values[LAG] > 0 else None,
        model=_telling_drags(solution, readings.time_s.size, fitted),
        fitted=fitted,
        readings=readings,
        residuals_rpm=solution.residuals_rpm,
        weights=solution.weights,
        notes=readings.notes,
        warnings=(),
        drag_covariance=solution.covariance[DRAGS, DRAGS],
        quantile=solution.quantile,
    )
    try:
        return replace(fit_, warnings=(*warnings, *_doubts(fit_, solution)))
    except RangeError:
        raise LogError(_NO_RUN_DOWN) from None


_NO_RUN_DOWN = (
    "These readings do not follow a free run-down: fitted to them, friction would drive the spindle on "
    "instead of stopping it. Either too little of the run is in the log, or the drive was on in some part "
    "of it. Log from a steady speed, with the drive off, until the chuck stands."
)


def _telling_drags(solution, count, fitted):
    """The drags that the readings can tell from none, by the corrected Akaike criterion.

    Leaving drags out raises the sum of squares, near the best fit, by a quadratic form of their values; so
    the smaller models need no fit of their own.
    """
    drags, spread = solution.values[DRAGS], solution.covariance[DRAGS, DRAGS]
    others = int(solution.told.sum()) - len(MODELS[fitted]) + 1

    def criterion(name):
        left_out = [drag for drag in MODELS[fitted] if drag not in MODELS[name]]
        chosen = np.ix_(left_out, left_out)
        rise = drags[left_out] @ np.linalg.pinv(spread[chosen], hermitian=True) @ drags[left_out]
        parameters = others + len(MODELS[name])
        return rise + 2 * parameters * count / max(count - parameters - 1, 1)

    return min((name for name in MODELS if set(MODELS[name]) <= set(MODELS[fitted])), key=criterion)


def _doubts(fit_, solution):
    """What the person should know before trusting the numbers."""
    wild = float(np.mean(solution.weights < 0.05))
    if wild > 0.1:
        yield f"{wild:.0%} of the readings do not follow the run-down: look at the residuals first."
    stop = fit_.stop_time_s(fit_.tested_rpm)
    stop_s, share = stop.value, stop.expanded_uncertainty / stop.value
    if share > _TOO_OPEN:
        yield (
            f"The readings leave the time to standstill open by {share:.0%} either way: too little of the "
            "run-down is in the log to predict from. Log until the chuck stands."
        )
    if fit_.lag_s and fit_.lag_s.value > stop_s / 3:
        yield (
            f"The meter lags by {fit_.lag_s.value:.2g} s, more than a third of the {stop_s:.3g} s to "
            "standstill: it is too slow for this run. Log the encoder or pulses instead."
        )
    last = float(fit_.readings.speed_rpm[-1])
    if last > 0.3 * fit_.tested_rpm:
        yield (
            f"The log ends at {last:.0f} rpm, before the spindle stood still: the time to standstill leans "
            "on the law below that speed. Log until the chuck stands."
        )


def _law(law, speed_rpm, drags):
    a, b, c = drags.T
    return law(speed_rpm * RPM, coulomb_rad_s2=a, viscous_per_s=b, windage_per_rad=c)
