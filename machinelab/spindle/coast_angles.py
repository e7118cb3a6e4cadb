"""Fit the run-down law to angles: where the spindle stood at known moments.

An angle is better than a speed: nothing is differenced but for a first guess. Marks on the spindle need not
stand evenly, since where each one stands is found along with the drags.
"""

from dataclasses import dataclass, replace

import numpy as np

from machinelab.errors import RangeError
from machinelab.spindle.coast_law import coast_speed_rad_s
from machinelab.spindle.coast_model import turned_angle_rad
from machinelab.spindle.coast_readings import CoastReadings
from machinelab.spindle.coast_speeds import COULOMB, RPM, START_SPEED, START_TIME, CoastSolution, first_guess
from machinelab.spindle.robust_fit import robust_fit

# A part of the coast-down fit: what the room offers is `machinelab.spindle.coastdown`.
__all__: list[str] = []

_NAMES = ("start_speed_rad_s", "coulomb_rad_s2", "viscous_per_s", "windage_per_rad", "start_s")


@dataclass(frozen=True)
class CoastAngles:
    """Angles of one coast, which mark gave each, and the speeds they amount to.

    A miss of the angle counts divided by ``divisor``: the speed where the moments are in doubt (pulses), one
    where the angles are (counts). ``smallest_scale`` is the doubt that rounding alone leaves, so divided.
    """

    time_s: np.ndarray
    turned_rad: np.ndarray
    mark: np.ndarray
    marks: int
    divisor: np.ndarray
    smallest_scale: float
    speeds: CoastReadings

    def within_the_coast(self) -> "CoastAngles":
        """Only the angles between the first and the last speed that may be used."""
        inside = (self.time_s >= self.speeds.time_s[0]) & (self.time_s <= self.speeds.time_s[-1])
        names = ("time_s", "turned_rad", "mark", "divisor")
        return replace(self, **{name: getattr(self, name)[inside] for name in names})


def solve_angles(angles: CoastAngles, drags: tuple[int, ...]) -> CoastSolution:
    """Fit the named drags, the start and where each mark stands, to the angles."""
    problem = _AngleProblem(angles, drags)
    return problem.solution(
        robust_fit(problem.predict, problem.start, problem.observed, smallest_scale=angles.smallest_scale)
    )


class _AngleProblem:
    """The fit in numbers near one: each drag as its share of the deceleration at the start speed."""

    def __init__(self, angles: CoastAngles, drags):
        self.angles = angles
        speeds = angles.speeds
        self.told = np.zeros(6, bool)
        self.told[[START_SPEED, *(COULOMB + drag for drag in drags)]] = True
        self.told[START_TIME] = speeds.plateau
        top = speeds.top_rpm * RPM
        powers = top ** np.arange(3)
        guess = first_guess(speeds.time_s, speeds.speed_rpm * RPM, speeds.let_go_s, top)
        total = float(guess @ powers)
        origin_s = speeds.let_go_s if speeds.plateau else float(angles.time_s[0])
        self.base = np.array([0.0, 0.0, 0.0, 0.0, origin_s, 0.0])
        self.scale = np.array([top, *(total / powers), 1.0, 1.0])
        self.marks = np.equal.outer(angles.mark, np.arange(angles.marks))
        self.observed = angles.turned_rad / angles.divisor
        law = np.array([1.0, *(guess * powers / total), 0.0, 0.0])
        stands = angles.turned_rad - turned_angle_rad(angles.time_s, **_law(self.base + law * self.scale))[0]
        self.start = np.concatenate([law[self.told], [np.median(stands[mark]) for mark in self.marks.T]])

    def values(self, parameters):
        numbers = np.zeros(6)
        numbers[self.told] = parameters[: self.told.sum()]
        return self.base + numbers * self.scale

    def predict(self, parameters):
        values = self.values(parameters)
        if values[START_SPEED] <= 0:
            return None, None
        try:
            angle, derivatives, _ = turned_angle_rad(self.angles.time_s, **_law(values))
        except RangeError:
            return None, None
        stands = self.marks @ parameters[self.told.sum() :]
        free = derivatives[:, self.told[:5]] * self.scale[:5][self.told[:5]]
        divisor = self.angles.divisor
        return (angle + stands) / divisor, np.column_stack([free, self.marks]) / divisor[:, None]

    def solution(self, fitted) -> CoastSolution:
        count = int(self.told.sum())
        covariance, scale = np.zeros((6, 6)), self.scale[self.told]
        covariance[np.ix_(self.told, self.told)] = fitted.covariance[:count, :count] * np.outer(scale, scale)
        values = self.values(fitted.parameters)
        speeds = self.angles.speeds
        law = dict(zip(_NAMES[:4], values[:4], strict=True))
        fitted_rpm = coast_speed_rad_s(speeds.time_s - values[START_TIME], **law) / RPM
        weights = np.interp(speeds.time_s, self.angles.time_s, fitted.weights)
        residuals_rpm = speeds.speed_rpm - fitted_rpm
        return CoastSolution(values, covariance, self.told, residuals_rpm, weights, fitted.quantile)


def _law(values):
    return dict(zip(_NAMES, values[:5], strict=True))
