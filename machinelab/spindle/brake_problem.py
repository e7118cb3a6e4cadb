"""A braked run as least squares: two kinks and a curve, and what a free run had told before.

What was told before may move within its own doubt while the braked run is fitted: it stands beside the
readings as further readings, each in units of its doubt. So neither run's doubt is lost in the other.
"""

from dataclasses import dataclass, replace

import numpy as np

from machinelab.spindle.brake_circuit import RPM
from machinelab.spindle.brake_law import late_speed
from machinelab.spindle.coast_readings import CoastReadings
from machinelab.spindle.meter_lag import shown_by_a_lagging_meter
from machinelab.spindle.robust_fit import RobustFit, robust_fit

# A part of the braked fit: what the room offers is `machinelab.spindle.brake_fit`.
__all__: list[str] = []

# In the order of the fit's numbers; the drag goes by its logarithm, and what was known before comes last.
START, LET_GO, DELAY, DRAG = range(4)
BRAKE = 4
_FIRST_DELAYS_S = (0.02, 0.1, 0.3)
# The brake in small steps, what was known before in steps of a share of its own doubt.
_STEP, _STEP_OF_A_DOUBT = 1e-5, 1e-3
# No display or counter is taken for finer than this share of the start speed.
_FINEST_READING = 1e-4
_ROUGHLY = 0.02
_LONGEST_DELAY_S = 10.0
_FURTHEST_DOUBTS = 30.0


def independent_ways(covariance) -> np.ndarray:
    """The independent ways, one a column, in which numbers with a covariance are off by one deviation."""
    own = np.sqrt(np.diag(covariance))
    # Drags differ by orders of size, so that each is measured by its own doubt first.
    unit = np.where(own > 0, own, 1.0)
    values, vectors = np.linalg.eigh(covariance / np.outer(unit, unit))
    told = values > 1e-12
    return own[:, None] * vectors[:, told] * np.sqrt(values[told])


@dataclass(frozen=True)
class KnownBefore:
    """What other tests told of the free spindle and of the meter, and how far each may move.

    ``drags`` are named as the coast law takes them; each column of ``spread`` moves the three of them and the
    lag by one standard deviation, so that the doubts are independent numbers.
    """

    drags: dict[str, float]
    lag_s: float
    spread: np.ndarray

    @classmethod
    def of(cls, drags, drag_covariance, lag_s, lag_doubt_s) -> "KnownBefore":
        """Gather drags with their covariance (None: certain) and the lag with its 95 % doubt."""
        covariance = np.zeros((4, 4))
        covariance[:3, :3] = 0.0 if drag_covariance is None else drag_covariance
        # A doubt of 95 % is two standard deviations.
        covariance[3, 3] = (lag_doubt_s / 2) ** 2
        return cls(drags, lag_s, independent_ways(covariance))

    @property
    def count(self) -> int:
        """How many numbers are in doubt."""
        return self.spread.shape[1]

    @property
    def for_certain(self) -> "KnownBefore":
        """The same, taken for certain."""
        return replace(self, spread=np.zeros((4, 0)))

    def moved(self, doubts) -> "KnownBefore":
        """The same, each doubt moved by so many standard deviations."""
        *change, lag_change = self.spread @ doubts
        moved = {name: drag + one for (name, drag), one in zip(self.drags.items(), change, strict=True)}
        return replace(self, drags=moved, lag_s=self.lag_s + lag_change)


class BrakedProblem:
    """The fit in numbers near one, the readings in units of ``noise``."""

    def __init__(self, readings: CoastReadings, brush_speed: float, known: KnownBefore):
        self.readings, self.brush_speed, self.known = readings, brush_speed, known
        self.top = readings.top_rpm * RPM
        # Counted over a gate, a speed is off by up to a whole step either way, oftenest by little.
        self.noise = max(readings.resolution_rpm * RPM / np.sqrt(6), _FINEST_READING * self.top)
        self.observed = np.concatenate([readings.speed_rpm * RPM / self.noise, np.zeros(known.count)])
        self.steps = np.repeat([_STEP, _STEP_OF_A_DOUBT], [BRAKE, known.count])

    def solved(self) -> RobustFit:
        """The best fit: first from several delays and as if all were certain, then with every doubt."""
        certain = BrakedProblem(self.readings, self.brush_speed, self.known.for_certain)
        tried = [certain._roughly_solved(delay_s) for delay_s in _FIRST_DELAYS_S]
        near = certain._solved_from(min(tried, key=certain._misfit).parameters)
        if not self.known.count:
            return near
        return self._solved_from(np.concatenate([near.parameters, np.zeros(self.known.count)]))

    def _solved_from(self, start) -> RobustFit:
        return robust_fit(self._predict, start, self.observed, smallest_scale=1.0)

    def _roughly_solved(self, delay_s) -> RobustFit:
        """A fit from far off: few readings count as wild yet, and a lagging meter falls one lag late."""
        start = [1.0, -self.known.lag_s - delay_s, delay_s, np.log(self._guessed_drag())]
        return robust_fit(
            self._predict, start, self.observed, smallest_scale=_ROUGHLY * self.top / self.noise
        )

    def _misfit(self, fitted: RobustFit) -> float:
        """How far off the readings are on the whole, wild ones little."""
        return float(np.mean(np.minimum(np.abs(fitted.residuals), 5.0)))

    def _predict(self, numbers):
        start, _, delay_s, log_drag = numbers[:BRAKE]
        doubts = numbers[BRAKE:]
        known = self.known.moved(doubts)
        if start <= 0 or not 0 <= delay_s < _LONGEST_DELAY_S or abs(log_drag) > 10 or known.lag_s < 0:
            return None, None
        if np.max(np.abs(doubts), initial=0.0) > _FURTHEST_DOUBTS or known.drags["coulomb_rad_s2"] <= 0:
            return None, None
        shown = self._shown(numbers)
        ahead = np.stack([self._shown(numbers + step) for step in np.diag(self.steps)])
        return shown, (ahead - shown).T / self.steps

    def _shown(self, numbers):
        start, let_go, delay_s, log_drag = numbers[:BRAKE]
        known = self.known.moved(numbers[BRAKE:])
        brake = (delay_s, np.exp(log_drag), self.brush_speed, known.drags)

        def speed(after_s):
            return late_speed(after_s, self.top * start, *brake)

        after = self.readings.time_s - self.readings.let_go_s - let_go
        shown = shown_by_a_lagging_meter(after, speed, known.lag_s, first_s=min(0.0, float(after[0])))
        return np.concatenate([shown / self.noise, numbers[BRAKE:]])

    def _guessed_drag(self) -> float:
        fallen = self.readings.speed_rpm * RPM / self.top
        inside = (fallen < 0.8) & (fallen > 0.3) & (self.readings.time_s >= self.readings.let_go_s)
        time_s, share = self.readings.time_s[inside], fallen[inside]
        if time_s.size < 2 or np.ptp(time_s) == 0:
            return 1.0
        return float(np.clip(-np.polyfit(time_s, np.log(share), 1)[0], 0.05, 50.0))
