"""Fit the run-down law to pulse stamps: the moment when each mark on the spindle passed the pickup.

Stamps say where the spindle was, so the fit works on the angle itself; a speed is differenced only for a
first guess. The marks need not stand evenly: where each one stands is found along with the drags.
"""

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import median_filter

from machinelab.errors import LogError, RangeError
from machinelab.spindle.coast_law import coast_speed_rad_s
from machinelab.spindle.coast_model import turned_angle_rad
from machinelab.spindle.coast_readings import CoastReadings, coast_readings, resolution
from machinelab.spindle.coast_speeds import RPM, START_TIME, CoastSolution, first_guess
from machinelab.spindle.robust_fit import robust_fit

# A part of the coast-down fit: what the room offers is `machinelab.spindle.coastdown`.
__all__: list[str] = []

_NAMES = ("start_speed_rad_s", "coulomb_rad_s2", "viscous_per_s", "windage_per_rad", "start_s")


@dataclass(frozen=True)
class CoastPulses:
    """Numbered pulses of one coast: which mark came when, and the speeds they amount to."""

    pulse_s: np.ndarray
    number: np.ndarray
    marks_per_turn: int
    speeds: CoastReadings


def coast_pulses(pulse_s, marks_per_turn=1) -> CoastPulses:
    """Number the pulses of a log and pick the coast out of them.

    Formula
    -------
    none: each interval is compared with its neighbours; one twice as long hides a missed pulse

    Parameters
    ----------
    pulse_s : array of shape (pulses,) [s]
        Rising moments at which marks passed.
    marks_per_turn : int [1]
        Marks on the spindle.

    Returns
    -------
    CoastPulses
        The pulses from the steady stretch, if any, to the last trusted one, missed ones counted.

    Range
    -----
    Enough turns for 8 readings between 90 % and 10 % of the start speed.

    Raises
    ------
    LogError
        If the stamps do not rise, or hold no coast, or too little of one.

    Source
    ------
    Method derived here.
    """
    stamps = np.asarray(pulse_s, float)
    if marks_per_turn < 1 or int(marks_per_turn) != marks_per_turn:
        raise RangeError(f"marks per turn: {marks_per_turn} was given; it is a whole number from 1 up.")
    if stamps.size < 4 * marks_per_turn or np.any(np.diff(stamps) <= 0):
        raise LogError(
            f"Pulse stamps must rise and cover at least 4 turns; here are {stamps.size} stamps. "
            "Give one moment a pulse, in seconds, in the order in which they came."
        )
    stamps, number, notes = _numbered(stamps, int(marks_per_turn))
    # The same mark one turn later: a speed that uneven marks cannot spoil.
    later = np.searchsorted(number, number + marks_per_turn)
    paired = (later < number.size) & (number[np.minimum(later, number.size - 1)] == number + marks_per_turn)
    first, second = stamps[paired], stamps[later[paired]]
    speeds = coast_readings((first + second) / 2, 60 / (second - first), cutoff_rpm=0.0)
    inside = (stamps >= speeds.time_s[0]) & (stamps <= speeds.time_s[-1])
    return CoastPulses(stamps[inside], number[inside], int(marks_per_turn), _with_notes(speeds, notes))


def _numbered(stamps, marks):
    """Number the pulses; extra ones are taken out, and missed ones leave a gap in the numbers."""
    notes = []
    intervals, usual = _intervals(stamps, marks)
    together = intervals[:-1] + intervals[1:]
    split = np.abs(together - usual[:-1]) < 0.25 * usual[:-1]
    extra = np.flatnonzero(split & (np.maximum(intervals[:-1], intervals[1:]) < 0.9 * usual[:-1])) + 1
    if extra.size:
        notes.append(f"{extra.size} extra pulses between two marks were left out.")
        stamps = np.delete(stamps, extra)
        intervals, usual = _intervals(stamps, marks)
    steps = np.maximum(np.round(intervals / usual), 1).astype(int)
    if np.any(steps > 1):
        notes.append(f"{int(np.sum(steps - 1))} missed pulses were counted in.")
    return stamps, np.concatenate([[0], np.cumsum(steps)]), notes


def _intervals(stamps, marks):
    """Intervals between pulses, and what is usual around each of them."""
    intervals = np.diff(stamps)
    around = min(2 * marks + 5, intervals.size)
    return intervals, median_filter(intervals, around + 1 - around % 2, mode="nearest")


def _with_notes(speeds, notes):
    return CoastReadings(**(speeds.__dict__ | {"notes": (*notes, *speeds.notes)}))


def solve_pulses(pulses: CoastPulses, drags: tuple[int, ...]) -> CoastSolution:
    """Fit the named drags, the start and where each mark stands, to the moments of the pulses."""
    problem = _PulseProblem(pulses, drags)
    fitted = robust_fit(problem.predict, problem.start, problem.observed, smallest_scale=problem.tick_s)
    return problem.solution(fitted)


class _PulseProblem:
    """Residuals in seconds: how late each mark passed, the angle's miss over the speed."""

    def __init__(self, pulses: CoastPulses, drags):
        self.pulses = pulses
        speeds = pulses.speeds
        self.told = np.zeros(6, bool)
        self.told[[0, *(1 + drag for drag in drags)]] = True
        self.told[START_TIME] = speeds.plateau
        top = speeds.top_rpm * RPM
        powers = top ** np.arange(3)
        guess = first_guess(speeds.time_s, speeds.speed_rpm * RPM, speeds.let_go_s, top)
        total = float(guess @ powers)
        origin_s = speeds.let_go_s if speeds.plateau else float(pulses.pulse_s[0])
        self.base = np.array([0.0, 0.0, 0.0, 0.0, origin_s, 0.0])
        self.scale = np.array([top, *(total / powers), 1.0, 1.0])

        self.speed = np.interp(pulses.pulse_s, speeds.time_s, speeds.speed_rpm) * RPM
        turned = 2 * np.pi * pulses.number / pulses.marks_per_turn
        self.marks = np.equal.outer(pulses.number % pulses.marks_per_turn, np.arange(pulses.marks_per_turn))
        self.observed = turned / self.speed
        # Stamps written to whole ticks are off by anything up to half a tick.
        self.tick_s = max(resolution(pulses.pulse_s) / np.sqrt(12), 1e-7)
        law = np.array([1.0, *(guess * powers / total), 0.0, 0.0])
        where = turned - turned_angle_rad(pulses.pulse_s, **_law(self.base + law * self.scale))[0]
        offsets = [np.median(where[mark]) for mark in self.marks.T]
        self.start = np.concatenate([law[self.told], offsets])

    def values(self, parameters):
        numbers = np.zeros(6)
        numbers[self.told] = parameters[: self.told.sum()]
        return self.base + numbers * self.scale

    def predict(self, parameters):
        values = self.values(parameters)
        if values[0] <= 0:
            return None, None
        try:
            angle, derivatives, _ = turned_angle_rad(self.pulses.pulse_s, **_law(values))
        except RangeError:
            return None, None
        place = self.marks @ parameters[self.told.sum() :]
        free = derivatives[:, self.told[:5]] * self.scale[:5][self.told[:5]]
        return (angle + place) / self.speed, np.column_stack([free, self.marks]) / self.speed[:, None]

    def solution(self, fitted) -> CoastSolution:
        count = int(self.told.sum())
        covariance, scale = np.zeros((6, 6)), self.scale[self.told]
        covariance[np.ix_(self.told, self.told)] = fitted.covariance[:count, :count] * np.outer(scale, scale)
        values = self.values(fitted.parameters)
        speeds = self.pulses.speeds
        drags = dict(zip(_NAMES[:4], values[:4], strict=True))
        fitted_rpm = coast_speed_rad_s(speeds.time_s - values[START_TIME], **drags) / RPM
        weights = np.interp(speeds.time_s, self.pulses.pulse_s, fitted.weights)
        return CoastSolution(
            values, covariance, self.told, speeds.speed_rpm - fitted_rpm, weights, fitted.quantile
        )


def _law(values):
    return dict(zip(_NAMES, values[:5], strict=True))
