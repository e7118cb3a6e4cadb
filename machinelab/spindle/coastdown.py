"""Fit a coast-down: what the spindle's own friction is, and how long and how far it runs on.

One free run tells the drags only as ratios to the moment of inertia. Newton metres need a second source
(a disc of known inertia, or a braked run); asked for without one, they are refused.
"""

from dataclasses import dataclass, field

import numpy as np

from machinelab.errors import RangeError
from machinelab.estimate import Estimate
from machinelab.spindle.coast_law import coast_speed_rad_s, coast_stop_time_s, coast_turns
from machinelab.spindle.coast_model import shown_speed_rad_s
from machinelab.spindle.coast_readings import CoastReadings, coast_readings
from machinelab.spindle.robust_fit import RobustFit, robust_fit

RPM = 2 * np.pi / 60
MODELS = {"a": (0,), "ab": (0, 1), "ac": (0, 2), "abc": (0, 1, 2)}

# The run-to-run repeatability of any real spindle; no prediction is quoted finer than this share.
_FINEST_SHARE = 1e-3
_FURTHEST_EXTRAPOLATION = 1.5
_ENOUGH_READINGS = 25
_LAG_GUESS_S = 0.4


@dataclass(frozen=True)
class CoastdownFit:
    """A fitted coast-down that explains itself.

    ``coulomb_rad_s2``, ``viscous_per_s`` and ``windage_per_rad`` are the drags over inertia, each with its
    95 % interval. ``model`` names the drags that the readings can tell from zero; predictions use all of the
    fitted ones, because intervals taken after a choice are too narrow. ``start_s`` is when the drive let go,
    ``lag_s`` the meter's lag; either is None where the log cannot tell it.
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
            If no moment of inertia is given: one free run cannot tell newton metres.
        """
        if inertia_kg_m2 is None:
            raise RangeError(_NO_NEWTON_METRES)
        speed = np.asarray(speed_rpm) * RPM
        a, b, c = self.drags.values()
        return inertia_kg_m2 * (a + (b + c * speed) * speed)

    def _prediction(self, law, speed_rpm) -> Estimate:
        speed = np.asarray(speed_rpm, float)
        if np.any(speed < 0) or np.any(speed > _FURTHEST_EXTRAPOLATION * self.tested_rpm):
            raise RangeError(
                f"coast-down: {np.max(speed):.4g} rpm is asked for, but the run was logged from "
                f"{self.tested_rpm:.4g} rpm; ask for 0 to {_FURTHEST_EXTRAPOLATION * self.tested_rpm:.4g} "
                "rpm, or log a run from a higher speed."
            )
        drags = np.array(list(self.drags.values()))
        value = _law(law, speed, drags)
        step = 1e-5 * np.max(np.abs(drags) * self._speed_powers(), initial=1e-12) / self._speed_powers()
        slopes = [
            (_law(law, speed, drags + d) - _law(law, speed, drags - d)) / (2 * d.sum()) for d in np.diag(step)
        ]
        slopes = np.stack(slopes)
        spread = np.sqrt(np.einsum("i...,ij,j...->...", slopes, self.drag_covariance, slopes))
        half_width = np.maximum(self.quantile * spread, _FINEST_SHARE * value)
        return Estimate((value)[()], ((value - half_width)[()], (value + half_width)[()]))

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
    log : object with time_s and speed_rpm
        Rising times [s] and readings [rpm], such as `workbook.speed_log` returns.
    model : str
        "auto" fits dry friction, viscous drag and windage together; "a", "ab" or "ac" leaves drags out.
    meter : Meter or None
        What is known of the meter: its lag and the speed below which it shows zero.
    added_inertia_kg_m2 : float or None [kg m2]
        Needs a second run; with one log it is refused.

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

    Source
    ------
    Fitting the integrated law to speed and time instead of differentiating is the choice of a US EPA
    coast-down report (read as an excerpt); the observation model and its derivatives are derived here.
    """
    if added_inertia_kg_m2 is not None:
        raise RangeError(_NO_NEWTON_METRES)
    if model != "auto" and model not in MODELS:
        raise RangeError(f"coast-down: model '{model}' is not known; choose auto, {', '.join(MODELS)}.")
    readings = coast_readings(log.time_s, log.speed_rpm, cutoff_rpm=meter.cutoff_rpm if meter else None)
    warnings = []
    fitted = _model_for(readings, model, warnings)
    problem = _Problem(readings, MODELS[fitted], _known_lag(meter, readings, warnings))
    solution = problem.solve()
    if problem.frees_lag and not problem.tells_lag(solution):
        problem = _Problem(readings, MODELS[fitted], 0.0)
        solution = problem.solve()
    return problem.explain(solution, fitted, warnings)


def _model_for(readings, model, warnings):
    if model != "auto":
        return model
    if readings.time_s.size >= _ENOUGH_READINGS:
        return "abc"
    warnings.append(
        f"Only {readings.time_s.size} readings: windage was left out, since fewer than {_ENOUGH_READINGS} "
        "cannot tell it from viscous drag. More readings give a narrower answer."
    )
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


class _Problem:
    """The fit in numbers near one: each drag as its share of the deceleration at the start speed."""

    def __init__(self, readings: CoastReadings, drags: tuple[int, ...], lag_s: float | None):
        self.readings = readings
        self.drag_index = np.array(drags)
        self.fixed_lag_s = lag_s
        self.frees_start = readings.plateau
        self.frees_lag = lag_s is None
        self.observed = readings.speed_rpm * RPM
        self.top = readings.top_rpm * RPM
        guess = _first_guess(readings.time_s, self.observed, readings.let_go_s, self.top)
        self.unit = float(guess @ self.top ** np.arange(3))
        free = [1.0, *(guess * self.top ** np.arange(3) / self.unit)[self.drag_index]]
        lag = _LAG_GUESS_S if self.frees_lag else lag_s
        self.start = np.array(
            [*free, *([0.0 - lag] if self.frees_start else []), *([lag] if self.frees_lag else [])]
        )
        # Columns of the model's derivatives (start speed, a, b, c, start time, lag) that are free here.
        self.columns = np.array(
            [0, *(1 + self.drag_index), *([4] if self.frees_start else []), *([5] if self.frees_lag else [])]
        )
        scale = np.concatenate([[self.top], self.unit / self.top ** np.arange(3), [1.0, 1.0]])
        self.scale = scale[self.columns]

    def full(self, parameters):
        """All six parameters in physical units, fixed ones included."""
        values = np.array([0.0, 0.0, 0.0, 0.0, self.origin_s, self.fixed_lag_s or 0.0])
        values[self.columns] = parameters * self.scale
        if self.frees_start:
            values[4] += self.origin_s
        if self.frees_lag:
            values[5] = np.exp(parameters[-1])
        return values

    def stretch(self, values):
        """Change of each free physical parameter with its fitted number."""
        stretch = self.scale.copy()
        if self.frees_lag:
            stretch[-1] = values[5]
        return stretch

    @property
    def origin_s(self):
        return self.readings.let_go_s if self.frees_start else float(self.readings.time_s[0])

    def predict(self, parameters):
        values = self.full(parameters)
        w0, a, b, c, start_s, lag_s = values
        if a <= 0 or w0 <= 0 or (self.frees_lag and not 1e-5 < lag_s < 1e3):
            return None, None
        try:
            shown, derivatives = shown_speed_rad_s(
                self.readings.time_s,
                start_s=start_s,
                start_speed_rad_s=w0,
                coulomb_rad_s2=a,
                viscous_per_s=b,
                windage_per_rad=c,
                lag_s=lag_s,
            )
        except RangeError:
            return None, None
        return shown, derivatives[:, self.columns] * self.stretch(values)

    def solve(self) -> RobustFit:
        # A rounded reading is anywhere within one step, evenly: its standard deviation is step/sqrt(12).
        rounding = max(self.readings.resolution_rpm * RPM / np.sqrt(12), 1e-9 * self.top)
        return robust_fit(self.predict, self.start, self.observed, smallest_scale=rounding)

    def tells_lag(self, solution) -> bool:
        share = np.sqrt(solution.covariance[-1, -1])
        return share < 0.5 and np.exp(solution.parameters[-1]) > 0.1 * np.median(
            np.diff(self.readings.time_s)
        )

    def explain(self, solution: RobustFit, fitted, warnings) -> CoastdownFit:
        values = self.full(solution.parameters)
        spread, stretch = np.zeros((6, 6)), self.stretch(values)
        spread[np.ix_(self.columns, self.columns)] = solution.covariance * np.outer(stretch, stretch)
        # A time base that runs fast by a share makes every drag look stronger by that share.
        spread[1:4, 1:4] += np.outer(values[1:4], values[1:4]) * self.readings.time_doubt**2
        estimates = [
            Estimate.symmetric(float(value), float(solution.quantile * np.sqrt(variance)))
            for value, variance in zip(values, np.diag(spread), strict=True)
        ]
        return CoastdownFit(
            coulomb_rad_s2=estimates[1],
            viscous_per_s=estimates[2],
            windage_per_rad=estimates[3],
            start_speed_rpm=Estimate.symmetric(values[0] / RPM, estimates[0].expanded_uncertainty / RPM),
            start_s=estimates[4] if self.frees_start else None,
            lag_s=estimates[5] if self.frees_lag else None,
            model=fitted,
            fitted=fitted,
            readings=self.readings,
            residuals_rpm=-solution.residuals / RPM,
            weights=solution.weights,
            notes=self.readings.notes,
            warnings=tuple(warnings),
            drag_covariance=spread[1:4, 1:4],
            quantile=solution.quantile,
        )


def _first_guess(time, speed, let_go_s, top):
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
    from scipy.optimize import nnls

    shares, _ = nnls(design * weights[:, None], fall * weights)
    shares[0] = max(shares[0], 0.05 * shares.sum())
    return shares, design @ shares - fall


def _law(law, speed_rpm, drags):
    a, b, c = drags
    return law(speed_rpm * RPM, coulomb_rad_s2=a, viscous_per_s=b, windage_per_rad=c)
