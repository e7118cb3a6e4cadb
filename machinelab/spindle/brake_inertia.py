"""The moment of inertia from a free run and a braked one, fitted together.

A free run tells every drag over inertia and never the inertia itself. A resistor of known ohms across a
motor of known volts pulls with known newton metres: how much quicker the spindle stops tells the inertia.
"""

from dataclasses import dataclass

import numpy as np

from machinelab.estimate import Estimate
from machinelab.ranges import not_negative
from machinelab.spindle.brake_circuit import RPM, inertia_from_braking_kg_m2
from machinelab.spindle.brake_fit import BrakedFit, fit_braked
from machinelab.spindle.brake_law import late_speed
from machinelab.spindle.meter_lag import shown_by_a_lagging_meter
from machinelab.spindle.meter_readings import of_logarithm
from machinelab.spindle.robust_fit import RobustFit, robust_fit

__all__ = ["BrakedInertia", "inertia_from_braked_run"]

_START, _LET_GO, _DELAY, _DRAG = range(4)
_BRAKE, _DRAGS, _LAG = slice(0, 4), slice(4, 7), 7
_KNOWN = 4
# Start, moments and drag in small steps; free drags and lag in steps of a share of their own doubt.
_STEPS = np.array([1e-5] * 4 + [1e-3] * _KNOWN)
_LONGEST_DELAY_S = 10.0
_FURTHEST_DOUBTS = 30.0
# No real spindle repeats itself more finely, whatever one pair of runs says.
_FINEST_SHARE = 1e-3
# No display or counter is taken for finer than this share of the start speed.
_FINEST_READING = 1e-4
_MOVED_FAR = 3.0


@dataclass(frozen=True)
class BrakedInertia:
    """What a free and a braked run together say about the inertia.

    Parameters
    ----------
    inertia_kg_m2 : Estimate [kg m2]
        Moment of inertia of everything that turns; the doubt of volts and ohms is not in its interval.
    brake_drag_per_s : Estimate [1/s]
        What the resistor adds to the viscous drag over inertia.
    braked : BrakedFit
        The braked run by itself, with the free run's drags taken for certain.
    warnings : tuple of str
        What to know before the figure is used.

    Source
    ------
    See `inertia_from_braked_run`.
    """

    inertia_kg_m2: Estimate
    brake_drag_per_s: Estimate
    braked: BrakedFit
    warnings: tuple[str, ...]


def inertia_from_braked_run(
    free_run,
    log,
    *,
    spindle_emf_v_s_per_rad,
    armature_resistance_ohm,
    resistor_ohm,
    brush_drop_v=0.0,
    lag_s=0.0,
    lag_doubt_s=0.0,
    friction_scatter_share=0.0,
) -> BrakedInertia:
    """Moment of inertia of the spindle from a free run and a run with the resistor brake.

    Both runs are fitted together: the free run's drags, and the meter's lag, may move within their own doubt
    while the braked run is fitted, so that what they leave open is not mistaken for inertia.

    Formula
    -------
    none: inertia = emf**2 / (ohms * drag), the drag by robust least squares of both runs together

    Parameters
    ----------
    free_run : CoastdownFit
        The free run, with the same chuck, belt and oil.
    log : object with time_s and speed_rpm
        The braked run, as `fit_braked` takes it.
    spindle_emf_v_s_per_rad : float [V s/rad]
        Voltage constant at the spindle.
    armature_resistance_ohm, resistor_ohm : float [ohm]
        Armature and brake resistor with its leads, as warm as they were during the run.
    brush_drop_v : float [V]
        Voltage lost at both brushes together.
    lag_s, lag_doubt_s : float [s]
        Lag of the meter that was logged, 0 for an encoder, and its 95 % doubt.
    friction_scatter_share : float [1]
        Standard deviation of the friction from run to run, over itself; 0 for two runs of one warm spindle.

    Returns
    -------
    BrakedInertia
        The inertia with its interval.

    Range
    -----
    See `fit_braked`; the interval is never narrower than a thousandth.

    Raises
    ------
    LogError
        If the log holds no braked run.
    RangeError
        If a number is out of range.

    Examples
    --------
    A spindle of 0.05 kg m2 that friction slows at 3 rad/s2, and a brake of 12 ohm and 0.9 V s/rad:

    >>> from types import SimpleNamespace
    >>> from machinelab.spindle.coastdown import fit
    >>> def log(time_s, speed_rad_s):
    ...     return SimpleNamespace(time_s=time_s, speed_rpm=np.maximum(speed_rad_s, 0) * 30 / np.pi)
    >>> time_s = np.arange(0, 38, 0.1)
    >>> free_run = fit(log(time_s, 100 - 3 * np.maximum(time_s - 4, 0)))
    >>> time_s = np.arange(0, 8, 0.02)
    >>> drag = 0.9**2 / (12 * 0.05)
    >>> braked = log(time_s, (100 + 3 / drag) * np.exp(-drag * np.maximum(time_s - 4, 0)) - 3 / drag)
    >>> circuit = {"spindle_emf_v_s_per_rad": 0.9, "armature_resistance_ohm": 1.5, "resistor_ohm": 10.5}
    >>> round(float(inertia_from_braked_run(free_run, braked, **circuit).inertia_kg_m2.value), 4)
    0.05

    Source
    ------
    Derived here: least squares of both runs, the free run standing in it by its drags and their covariance.
    """
    brush_speed = float(not_negative("brush_drop_v", brush_drop_v)) / spindle_emf_v_s_per_rad
    alone = fit_braked(log, brush_speed_rad_s=brush_speed, lag_s=lag_s, **free_run.drags)
    lag_spread_s = float(not_negative("lag_doubt_s", lag_doubt_s)) / free_run.quantile
    scatter = float(not_negative("friction_scatter_share", friction_scatter_share))
    both = _BothRuns(alone, free_run, lag_spread_s, scatter)
    drag = both.drag(both.solved())
    circuit = {
        "spindle_emf_v_s_per_rad": spindle_emf_v_s_per_rad,
        "armature_resistance_ohm": armature_resistance_ohm,
        "resistor_ohm": resistor_ohm,
    }
    best, *ends = (
        float(inertia_from_braking_kg_m2(one, **circuit)) for one in (drag.value, *drag.interval[::-1])
    )
    return BrakedInertia(Estimate(best, tuple(ends)), drag, alone, (*alone.warnings, *both.warnings()))


class _BothRuns:
    """The braked run's readings beside the free run's drags and the lag, each in units of its own doubt."""

    def __init__(self, alone: BrakedFit, free_run, lag_spread_s: float, scatter: float):
        self.alone, self.readings = alone, alone.readings
        self.top = self.readings.top_rpm * RPM
        self.best_drags = np.array(list(free_run.drags.values()))
        repeated = scatter**2 * np.outer(self.best_drags, self.best_drags)
        values, vectors = np.linalg.eigh(free_run.drag_covariance + repeated)
        self.spread = vectors * np.sqrt(np.maximum(values, 0.0))
        self.lag_spread_s = lag_spread_s
        # Counted over a gate, a speed is off by up to a whole step either way, oftenest by little.
        self.noise = max(self.readings.resolution_rpm * RPM / np.sqrt(6), _FINEST_READING * self.top)
        self.found: RobustFit | None = None

    def solved(self) -> RobustFit:
        alone = self.alone
        start = [
            alone.start_speed_rpm.value / self.readings.top_rpm,
            alone.start_s.value - self.readings.let_go_s,
            alone.contact_delay_s.value,
            np.log(alone.brake_drag_per_s.value),
            *np.zeros(_KNOWN),
        ]
        observed = np.concatenate([self.readings.speed_rpm * RPM / self.noise, np.zeros(_KNOWN)])
        self.found = robust_fit(self._predict, start, observed, smallest_scale=1.0)
        return self.found

    def drag(self, found: RobustFit) -> Estimate:
        # A time base that runs fast by a share makes the brake look stronger by that share.
        variance = found.covariance[_DRAG, _DRAG] + self.readings.time_doubt**2
        half_width = max(found.quantile * float(np.sqrt(variance)), _FINEST_SHARE)
        return of_logarithm(found.parameters[_DRAG], half_width)

    def warnings(self):
        if np.max(np.abs(self.found.parameters[_DRAGS])) > _MOVED_FAR:
            yield (
                "The free run's friction does not suit the braked run: the spindle was warmer or colder, or "
                "another belt or chuck was on. Take both runs one after the other."
            )

    def _predict(self, numbers):
        start, _, delay_s, log_drag = numbers[_BRAKE]
        far = np.max(np.abs(numbers[_DRAGS])) > _FURTHEST_DOUBTS or self._lag_s(numbers) < 0
        if start <= 0 or not 0 <= delay_s < _LONGEST_DELAY_S or abs(log_drag) > 10 or far:
            return None, None
        shown = self._shown(numbers)
        ahead = np.stack([self._shown(numbers + step) for step in np.diag(_STEPS)])
        return shown, (ahead - shown).T / _STEPS

    def _lag_s(self, numbers) -> float:
        return self.alone.lag_s + self.lag_spread_s * numbers[_LAG]

    def _shown(self, numbers):
        start, let_go, delay_s, log_drag = numbers[_BRAKE]
        values = self.best_drags + self.spread @ numbers[_DRAGS]
        drags = dict(zip(self.alone.free_drags, values, strict=True))
        brake = (delay_s, np.exp(log_drag), self.alone.brush_speed_rad_s, drags)
        after = self.readings.time_s - self.readings.let_go_s - let_go

        def speed(after_s):
            return late_speed(after_s, self.top * start, *brake)

        first_s = min(0.0, float(after[0]))
        shown = shown_by_a_lagging_meter(after, speed, self._lag_s(numbers), first_s=first_s)
        return np.concatenate([shown / self.noise, numbers[_BRAKE.stop :]])
